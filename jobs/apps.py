"""The application of background work."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Job rows, outbox and idempotency keys; other apps register their tasks with it."""

    name = "jobs"

    def ready(self) -> None:
        """Register the one task of this app: sending mail."""
        from jobs import mail  # noqa: F401  (models are loadable only from here on)
