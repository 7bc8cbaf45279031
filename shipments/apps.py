"""App configuration."""

from django.apps import AppConfig


class ShipmentsConfig(AppConfig):
    """First articles, lots, submissions, verdicts and their PDFs."""

    name = "shipments"
