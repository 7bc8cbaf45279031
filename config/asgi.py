"""The server entry point (ASGI)."""

import os

from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_asgi_application()

from parties.mode import check_mode  # noqa: E402 - the apps must be loaded first

check_mode()
