"""The planted application."""

from django.apps import AppConfig


class PlantedConfig(AppConfig):
    """Registers the slow task, as every app does with its tasks."""

    name = "tests.jobs.planted"
    label = "planted"

    def ready(self) -> None:
        """Import the task."""
        from tests.jobs.planted import tasks  # noqa: F401
