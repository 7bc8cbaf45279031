"""App configuration."""

from importlib import import_module

from django.apps import AppConfig


class ShipmentsConfig(AppConfig):
    """First articles, lots, submissions, verdicts and their PDFs."""

    name = "shipments"

    def ready(self) -> None:
        """Register the tasks."""
        import_module("shipments.tasks")
