"""App configuration."""

from django.apps import AppConfig


class EvidenceConfig(AppConfig):
    """Files and confirmed mappings, packed sets, booth sittings. Knows no lot."""

    name = "evidence"
