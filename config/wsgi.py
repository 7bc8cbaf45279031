"""The server entry point (WSGI)."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()

from parties.mode import check_mode  # noqa: E402 - the apps must be loaded first

check_mode()
