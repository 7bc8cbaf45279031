"""App configuration."""

from importlib import import_module

from django.apps import AppConfig


class PartiesConfig(AppConfig):
    """Organisations, people, registers, seats and signing: who may see and do what."""

    name = "parties"

    def ready(self) -> None:
        """Register the tasks."""
        import_module("parties.tasks")
