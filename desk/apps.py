"""App configuration."""

from importlib import import_module

from django.apps import AppConfig


class DeskConfig(AppConfig):
    """What awaits me, the auditor's pages, the signed record."""

    name = "desk"

    def ready(self) -> None:
        """Register the tasks."""
        import_module("desk.tasks")
