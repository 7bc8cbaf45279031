"""App configuration."""

from django.apps import AppConfig


class PartiesConfig(AppConfig):
    """Organisations, people, registers, seats and signing: who may see and do what."""

    name = "parties"
