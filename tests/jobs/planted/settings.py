"""The ordinary settings and the planted application."""

from config.settings import *  # noqa: F403
from config.settings import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.jobs.planted"]
EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
