"""Settings for processes of the worker tests: `jobs` alone, as it imports nothing else of ours."""

from config.settings import *  # noqa: F403

INSTALLED_APPS = ["django.contrib.staticfiles", "jobs", "tests.jobs.planted"]
MIDDLEWARE = ["whitenoise.middleware.WhiteNoiseMiddleware"]
TEMPLATES = []
START_CHECKS = []
ROOT_URLCONF = "tests.jobs.planted.urls"
EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
