"""The server entry point (WSGI)."""

import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.utils.module_loading import import_string

from jobs.figures import library

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()
for check in settings.START_CHECKS:
    import_string(check)()
# A third of a second here, once: else the first reader of a figure would wait for it.
library.load()
