"""Settings. Everything that differs between installations comes from the environment."""

from __future__ import annotations

from pathlib import Path

import django
from django.core.exceptions import ImproperlyConfigured
from django.utils.translation import gettext_lazy as _

from config import env

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(env.text("COUNTERSHADE_VAR_DIR", str(BASE_DIR / "var"))).resolve()
VAR_DIR.mkdir(parents=True, exist_ok=True)

DEBUG = env.flag("COUNTERSHADE_DEBUG", default=False)
# Demo mode: invented accounts, keys that say "demo". Only on loopback and on the demo database.
DEMO = env.flag("COUNTERSHADE_DEMO", default=False)
# The gallery of components at /gallery/, for those who build the pages: off, and then no address.
GALLERY = env.flag("COUNTERSHADE_GALLERY", default=False)
SECRET_KEY = env.secret("COUNTERSHADE_SECRET_KEY", VAR_DIR / "secret-key")
# Encrypts the private parts of service-held signing keys; kept apart from the session secret.
KEY_SECRET = env.secret("COUNTERSHADE_KEY_SECRET", VAR_DIR / "key-secret")
ALLOWED_HOSTS = env.names("COUNTERSHADE_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
PUBLIC_URL = env.base_url("COUNTERSHADE_PUBLIC_URL", "http://localhost:8000")
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL]
REDIS_URL = env.text("REDIS_URL")
REDIS_PREFIX = env.text("COUNTERSHADE_REDIS_PREFIX", "countershade")

# Background work. A job whose worker has not been heard of for a lease is run again.
CELERY_APP = "config.celery"
JOBS_LEASE_SECONDS = env.whole("COUNTERSHADE_JOBS_LEASE", 120, least=1)
JOBS_SWEEP_SECONDS = env.whole("COUNTERSHADE_JOBS_SWEEP", 10, least=1)
JOBS_TIME_LIMIT = env.whole("COUNTERSHADE_JOBS_TIME_LIMIT", 300, least=10)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "django_htmx",
    "axes",
    "ledger",
    "jobs",
    "parties",
    "evidence",
    "agreements",
    "shipments",
    "disputes",
    "desk",
    "fixtures",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "parties.middleware.PageCompressionMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "parties.middleware.DenyByDefaultMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "parties.middleware.ReaderMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "parties.middleware.StorageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]

# Asked once when a server starts; each raises ImproperlyConfigured where it must not serve.
START_CHECKS = ["parties.mode.check_mode"]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
# Forms render with the engine of the pages: our field template and our builtins, Django's widgets.
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
FORM_TEMPLATES = Path(django.__file__).parent / "forms" / "templates"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates", FORM_TEMPLATES],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "parties.context.reader",
            ],
            "builtins": ["parties.templatetags.countershade"],
        },
    }
]

DATABASES = {"default": env.database("DATABASE_URL", VAR_DIR / "countershade.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = (
    {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": REDIS_URL,
            "KEY_PREFIX": REDIS_PREFIX,
        }
    }
    if REDIS_URL
    else {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
)

AUTH_USER_MODEL = "parties.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "desk:home"
LOGOUT_REDIRECT_URL = "login"

# Failed logins: ten for one address and account within an hour close that pair for an hour.
AXES_FAILURE_LIMIT = env.whole("COUNTERSHADE_LOGIN_FAILURES", 10, least=1)
AXES_COOLOFF_TIME = 1
# The name of the form's field, not of the model's: without it attempts are counted under nobody.
AXES_USERNAME_FORM_FIELD = "username"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "parties/locked.html"
AXES_RESET_ON_SUCCESS = True
AXES_ENABLE_ACCESS_FAILURE_LOG = False
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": [
        "parties.api.JSONParser",
        "rest_framework.parsers.FormParser",
        "rest_framework.parsers.MultiPartParser",
    ],
    "EXCEPTION_HANDLER": "parties.api.refusals",
    "DEFAULT_THROTTLE_CLASSES": ["rest_framework.throttling.UserRateThrottle"],
    "DEFAULT_THROTTLE_RATES": {"user": env.text("COUNTERSHADE_API_RATE", "600/min")},
}

LANGUAGE_CODE = "en"
LANGUAGES = [("en", _("English")), ("zh-hans", _("Simplified Chinese"))]
LOCALE_PATHS = [BASE_DIR / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "jobs.static_files.GatheredFiles"},
}

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = PUBLIC_URL.startswith("https://")
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 20 * 2**20
FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 2**20

EMAIL_BACKEND = env.text(
    "COUNTERSHADE_EMAIL_BACKEND", "django.core.mail.backends.filebased.EmailBackend"
)
EMAIL_FILE_PATH = VAR_DIR / "mail"
EMAIL_HOST = env.text("COUNTERSHADE_EMAIL_HOST", "localhost")
EMAIL_PORT = env.whole("COUNTERSHADE_EMAIL_PORT", 25, least=1)
EMAIL_TIMEOUT = 20  # well below the lease of the job that sends
# Is told what the self-check finds, beside the leads of the dossiers concerned.
OPERATOR_EMAIL = env.address("COUNTERSHADE_OPERATOR_EMAIL")
DEFAULT_FROM_EMAIL = env.text("COUNTERSHADE_EMAIL_FROM", "countershade@localhost")

# Files that entries refer to: below this folder, or in a bucket where COUNTERSHADE_BLOBS names one.
BLOB_DIR = VAR_DIR / "blobs"
BLOB_BUCKET = env.bucket("COUNTERSHADE_BLOBS")

# A time stamp authority (RFC 3161) whose tokens go into the seals of PDFs; without one they carry
# none. Roots (PEM): what its tokens must lead to.
TIMESTAMP_URL = env.web_address("COUNTERSHADE_TIMESTAMP_URL")
TIMESTAMP_ROOTS = env.certificates("COUNTERSHADE_TIMESTAMP_ROOTS")

if DEMO and any(host not in {"localhost", "127.0.0.1", "[::1]"} for host in ALLOWED_HOSTS):
    raise ImproperlyConfigured("COUNTERSHADE_DEMO runs on loopback only: unset COUNTERSHADE_HOSTS")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.text("COUNTERSHADE_LOG_LEVEL", "WARNING")},
    # These write whole requests, with what is sent and signed, into a log that asks for details.
    "loggers": {name: {"level": "WARNING"} for name in ("boto3", "botocore", "urllib3")},
}
