"""All addresses: pages under /d/<dossier>/, JSON calls under /api/d/<dossier>/, others at the top."""

from importlib.util import find_spec

from django.urls import include, path

OF_DOSSIER = ("agreements", "evidence", "shipments", "disputes")


def present(module: str) -> bool:
    """Whether an app has this module."""
    return find_spec(module) is not None


urlpatterns = [
    path("", include("parties.urls_account")),
    path("", include("parties.urls")),
    path("api/d/<uuid:dossier>/", include("parties.api_urls")),
    *(
        path("d/<uuid:dossier>/", include(f"{app}.urls"))
        for app in OF_DOSSIER
        if present(f"{app}.urls")
    ),
    *(
        path("api/d/<uuid:dossier>/", include(f"{app}.api_urls"))
        for app in OF_DOSSIER
        if present(f"{app}.api_urls")
    ),
    *(
        path("", include(f"desk.{name}"))
        for name in ("urls", "api_urls")
        if present(f"desk.{name}")
    ),
]
