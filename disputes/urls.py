"""Pages under /d/<dossier>/."""

from django.urls import path

from disputes import views
from disputes.acts import ACTS
from parties.acts import act_pages

app_name = "disputes"
urlpatterns = [
    path("disputes/", views.index, name="disputes"),
    path("disputes/<uuid:pk>/", views.thread, name="dispute"),
    path("disputes/<uuid:pk>/beside/", views.beside, name="beside"),
    path("posts/<uuid:pk>/files/<int:number>/", views.file, name="post-file"),
    path("offers/<uuid:pk>/", views.offer, name="offer"),
    *act_pages(ACTS),
]
