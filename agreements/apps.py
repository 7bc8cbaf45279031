"""App configuration."""

from importlib import import_module

from django.apps import AppConfig


class AgreementsConfig(AppConfig):
    """Drafts, revisions, negotiation and the signing of terms."""

    name = "agreements"

    def ready(self) -> None:
        """Register the tasks."""
        import_module("agreements.tasks")
