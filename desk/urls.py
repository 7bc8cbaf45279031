"""The desk's own page, and its pages under /d/<dossier>/ (see config/urls.py)."""

from django.urls import include, path

from desk import views
from desk.acts import ACTS
from parties.acts import act_pages

app_name = "desk"
in_dossier = [
    path("timeline/", views.timeline, name="timeline"),
    path("timeline/<int:number>/", views.entry, name="entry"),
    path("record/", views.record, name="record"),
    path("record/<uuid:pk>/", views.copy, name="copy"),
    path("record/<uuid:pk>/download/", views.download, name="copy-download"),
    *act_pages(ACTS),
]
urlpatterns = [
    path("", views.home, name="home"),
    path("d/<uuid:dossier>/", include(in_dossier)),
]
