"""Which observers judge, and who may know what of them."""

from __future__ import annotations

from parties.codes import code_for
from parties.models import Dossier, Observer, Role, Sitter


def observer_code(dossier: Dossier, observer: Observer) -> str:
    """The code under which an observer judges; a person who sits in the dossier keeps theirs."""
    if observer.person_id is not None:
        sitter = Sitter.objects.filter(dossier=dossier, person=observer.person_id).first()
        if sitter is not None:
            return sitter.code
    return code_for(dossier, f"observer:{observer.key}", "B")


def sees_private(sitter: Sitter, observer: Observer) -> bool:
    """The quality lead of the observer's own firm and the observer: nobody else.

    The row stands in the firm's register, where only that firm sits.
    """
    if sitter.dossier_id != observer.dossier_id:
        return False
    return sitter.role == Role.QUALITY_LEAD or observer.person_id == sitter.person_id
