"""All addresses: pages under /d/<dossier>/, JSON calls under /api/d/<dossier>/, and the rest."""

from django.conf import settings
from django.urls import include, path

pages = [
    path("", include("agreements.urls")),
    path("", include("evidence.urls")),
    path("", include("shipments.urls")),
    path("", include("disputes.urls")),
]
calls = [
    path("", include("parties.api_urls")),
    path("", include("agreements.api_urls")),
    path("", include("evidence.api_urls")),
    path("", include("shipments.api_urls")),
    path("", include("disputes.api_urls")),
    path("", include("desk.api_urls")),
]
urlpatterns = [
    path("", include("parties.urls_account")),
    path("", include("parties.urls")),
    path("", include("desk.urls")),
    path("d/<uuid:dossier>/", include(pages)),
    path("api/d/<uuid:dossier>/", include(calls)),
]
if settings.GALLERY:
    urlpatterns.append(path("", include("parties.urls_gallery")))
