"""The server entry point (ASGI)."""

import os

from django.conf import settings
from django.core.asgi import get_asgi_application
from django.utils.module_loading import import_string

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_asgi_application()
for check in settings.START_CHECKS:
    import_string(check)()
