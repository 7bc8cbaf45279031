"""The figure of a set of readings: their spectra, as the packed values have them."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping

from django.utils.translation import gettext

from evidence.models import MeasuredSet
from jobs.figures import spectra
from jobs.figures.drawing import Conditions, Drawing
from ledger import blobs
from ledger.blobs import BlobError
from method.packed import PackedError, unpack

log = logging.getLogger(__name__)

MOST_READINGS = 2000  # beyond, a page would wait too long for a figure that shows nothing more


def reflectance(
    measured: MeasuredSet, words: Mapping[str, str], draw: Callable[..., Drawing]
) -> Drawing | None:
    """Each specimen's mean over the wavelengths; `words` say geometry, ultraviolet and backing.
    None for very many readings, for one wavelength, and while the file cannot be had."""
    if measured.rows > MOST_READINGS:
        return None
    try:
        packed = unpack(blobs.get(measured.dossier.chain, measured.packed))
    except (BlobError, PackedError) as error:
        log.error("no figure of set %s: %s", measured.pk, error)
        return None
    if len(packed.wavelengths) < 2:
        return None
    labels = dict.fromkeys(packed.labels)
    data = spectra.Spectra(
        title=gettext("Reflectance of the reference")
        if measured.reference
        else gettext("Reflectance of the specimens"),
        quantity=gettext("Reflectance factor, %"),
        conditions=Conditions(
            geometry=words.get("geometry", ""),
            other=", ".join(
                filter(
                    None,
                    (
                        words.get("uv") and gettext("ultraviolet: %(uv)s") % {"uv": words["uv"]},
                        words.get("backing")
                        and gettext("backing: %(backing)s") % {"backing": words["backing"]},
                        gettext("mean of all readings of each"),
                    ),
                )
            ),
        ),
        wavelengths=packed.wavelengths,
        reference=None,
        specimens=[
            spectra.Curve(label, (100 * packed.values[packed.rows_of(label)].mean(axis=0)).tolist())
            for label in labels
        ],
    )
    return draw(spectra.draw, data, "spectra")
