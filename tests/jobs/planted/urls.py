"""One address, to see that the server answers."""

from django.http import HttpRequest, HttpResponse
from django.urls import path


def here(request: HttpRequest) -> HttpResponse:
    """Say that the application runs."""
    return HttpResponse("here")


urlpatterns = [path("", here)]
