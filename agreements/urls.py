"""Pages under `/d/<dossier>/`."""

from django.urls import path

from agreements import acts, views
from parties.acts import act_pages

app_name = "agreements"
urlpatterns = [
    path("", views.overview, name="overview"),
    path("draft/<uuid:pk>/", views.draft, name="draft"),
    path("draft/<uuid:pk>/check/", views.draft_findings, name="draft-check"),
    path("draft/<uuid:pk>/redline/", views.draft_redline, name="draft-redline"),
    path("revision/<uuid:pk>/", views.revision, name="revision"),
    path("revision/<uuid:pk>/check/", views.revision_findings, name="revision-check"),
    path("revision/<uuid:pk>/redline/", views.revision_redline, name="revision-redline"),
    path("revision/<uuid:pk>/terms.json", views.terms_json, name="terms-json"),
    path("terms-paper/<uuid:pk>/", views.paper, name="paper"),
    *act_pages(acts.ALL),
]
