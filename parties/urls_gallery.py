"""The gallery of components: part of the addresses only where COUNTERSHADE_GALLERY asks for it."""

from django.urls import path

from parties.views import gallery

app_name = "gallery"
urlpatterns = [
    path("gallery/", gallery.components, name="components"),
    path("gallery/paper/", gallery.paper, name="paper"),
    path("gallery/paper.css", gallery.paper_style, name="paper-style"),
]
