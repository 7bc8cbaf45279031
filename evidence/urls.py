"""Pages under /d/<dossier>/."""

from django.urls import path

from evidence import views
from evidence.acts import ACTS
from parties.acts import act_pages

app_name = "evidence"
urlpatterns = [
    path("evidence/", views.index, name="index"),
    path("files/<uuid:pk>/", views.file, name="file"),
    path("files/<uuid:pk>/download/", views.download, name="file-download"),
    path("sets/<uuid:pk>/", views.measured, name="set"),
    path("sittings/<uuid:pk>/", views.sitting, name="sitting"),
    path("documents/<uuid:pk>/", views.document, name="document"),
    path("pieces/<uuid:pk>/", views.piece, name="piece"),
    *act_pages(ACTS),
]
