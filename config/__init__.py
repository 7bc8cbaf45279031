"""Settings, URLs, the Celery application and the server entry points."""
