"""Stated colours against computed ones, as remarks for whoever confirms the file."""

from __future__ import annotations

from method.readers.found import Found
from method.readers.spectra import factors
from method.readers.stated import Comparison, compare
from method.readers.values import Note, Scale


def compared(found: Found, scale: Scale) -> tuple[list[Comparison], list[Note]]:
    """Return the comparisons of a table and the oddities that follow from them.

    Nothing is compared while the scale is open, and nothing for light.
    """
    if scale.scale is None or not found.stated:
        return [], []
    comparisons = compare(found, factors(found.values, scale.scale))
    notes = [note for one in comparisons for note in _notes(one)]
    left = len(found.stated) - len(comparisons)
    if comparisons and left:
        notes.append(("stated-left", {"count": str(left)}))
    return comparisons, notes


def _notes(one: Comparison) -> list[Note]:
    """Return what a comparison shows: disagreement, and which condition fits instead."""
    notes: list[Note] = []
    fields = ", ".join(one.fields)[:80]
    if one.agrees:
        return notes
    if one.mean is not None and one.largest is not None:
        params = {
            "fields": fields,
            "condition": f"{one.illuminant}/{one.observer}°",
            "mean": f"{one.mean:.3f}",
            "largest": f"{one.largest:.3f}",
        }
        notes.append(("stated-unlike", params))
    if one.best is None or one.best_mean is None or one.best_largest is None:
        return notes
    params = {
        "fields": fields,
        "best": one.best,
        "mean": f"{one.best_mean:.3f}",
        "largest": f"{one.best_largest:.3f}",
    }
    if one.best_agrees:
        notes.append(("stated-fits", params))
    elif one.best != f"{one.illuminant}/{one.observer}°":
        better = one.mean is None or one.best_mean < 0.8 * one.mean
        notes += [("stated-unlike-any", params)] if better else []
    return notes
