"""The addresses with the gallery, as COUNTERSHADE_GALLERY=1 adds it."""

from django.urls import include, path

from config.urls import urlpatterns as without

urlpatterns = [*without, path("", include("parties.urls_gallery"))]
