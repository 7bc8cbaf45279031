"""The installation's root: a public fact, by which records are checked offline."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from parties.access import open_to_all
from parties.downloads import attachment
from parties.models import Installation


@open_to_all("the root's fingerprint is what an auditor checks a record against")
def installation(request: HttpRequest) -> HttpResponse:
    """The fingerprint of the root, and how to use it."""
    return render(request, "parties/installation.html", {"root": Installation.objects.first()})


@open_to_all("the root's certificate stands in every record")
def certificate(request: HttpRequest) -> HttpResponse:
    """The root's certificate (DER)."""
    root = Installation.objects.first()
    if root is None:
        raise Http404
    return attachment(bytes(root.certificate), "countershade-root.der", "application/pkix-cert")
