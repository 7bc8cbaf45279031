"""Pages under /d/<dossier>/."""

from django.urls import path

from parties.acts import act_pages
from shipments import views
from shipments.acts import ACTS

app_name = "shipments"
urlpatterns = [
    path("lots/", views.lots, name="lots"),
    path("lots/<uuid:pk>/", views.lot, name="lot"),
    path("articles/<uuid:pk>/", views.article, name="article"),
    path("submissions/<uuid:pk>/", views.submission, name="submission"),
    path("submissions/<uuid:pk>/document/", views.document, name="submission-document"),
    path("submissions/<uuid:pk>/files/<str:digest>/", views.evidence_file, name="evidence-file"),
    path("verdicts/<uuid:pk>/document/", views.verdict_document, name="verdict-document"),
    path("papers/<uuid:pk>/", views.paper, name="paper"),
    path("lists/", views.lists, name="lists"),
    path("lists/<uuid:pk>/", views.list_page, name="list"),
    path("lists/<uuid:pk>/document/", views.list_document, name="list-document"),
    *act_pages(ACTS),
]
