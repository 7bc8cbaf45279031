"""App configuration."""

from django.apps import AppConfig


class DisputesConfig(AppConfig):
    """Rejections, the shared thread, offers and settlements."""

    name = "disputes"
