"""The desk's own page, and its pages under /d/<dossier>/ (see config/urls.py)."""

from django.urls import include, path

from desk.acts import ACTS
from desk.views import checkpoints, held, home, records, timeline
from parties.acts import act_pages

app_name = "desk"
in_dossier = [
    path("timeline/", timeline.timeline, name="timeline"),
    path("timeline/<int:number>/", timeline.entry, name="entry"),
    path("timeline/<int:number>/header.json", timeline.header, name="entry-header"),
    path("record/", records.record, name="record"),
    path("record/<uuid:pk>/", records.copy, name="copy"),
    path("record/<uuid:pk>/download/", records.download, name="copy-download"),
    path("record/<uuid:pk>/checkpoint.txt", records.copy_checkpoint, name="copy-checkpoint"),
    path("checkpoint.txt", checkpoints.checkpoint, name="checkpoint"),
    path("comparison/<uuid:pk>/", checkpoints.comparison, name="comparison"),
    path("reading/", checkpoints.reading_log, name="reading"),
    *act_pages(ACTS),
]
urlpatterns = [
    path("", home.home, name="home"),
    path("checkpoint/", held.held, name="held-checkpoint"),
    path("d/<uuid:dossier>/", include(in_dossier)),
]
