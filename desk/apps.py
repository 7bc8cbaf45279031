"""App configuration."""

from django.apps import AppConfig


class DeskConfig(AppConfig):
    """What awaits me, the auditor's pages, the signed record."""

    name = "desk"
