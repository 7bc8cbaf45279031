"""App configuration."""

from django.apps import AppConfig


class AgreementsConfig(AppConfig):
    """Drafts, revisions, negotiation and the signing of terms."""

    name = "agreements"
