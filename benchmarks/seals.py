"""Sealing the PDF of terms: certifying, one side's seal, and judging what came of it.

Set beside setting the very same pages once, in the same run: that is what a reader waits for.
Keys are made here; no time stamp is asked for. The first call, which loads the libraries, is not
counted.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import partial

from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from django.conf import settings

from benchmarks.row import Row, seconds
from jobs import fonts, pdf
from jobs.pdfseal import Said, Signer, certify, countersign, inspect
from ledger.certificates import issue_leaf, make_root, new_key

SENTENCES = 300  # about five pages, as terms have
PLACES = ("Customer", "Supplier")


def pages(now: datetime) -> bytes:
    """Invented terms, set once."""
    said = "".join(f"<li>Sentence {one} of invented terms.</li>" for one in range(SENTENCES))
    html = f"<html lang='en'><h1>Invented terms</h1><ul>{said}</ul></html>"
    return pdf.render(
        html, attachments=[("terms.json", b"{}" * 10_000, "terms")], created=now, title="Invented"
    )


def rows() -> Iterator[Row]:
    """Figures in seconds."""
    with tempfile.TemporaryDirectory() as folder:
        if not settings.configured:  # no other benchmark asks for settings in this process
            settings.configure(VAR_DIR=folder)
        fonts.set_up()
        yield from measured()


def measured() -> Iterator[Row]:
    """The figures, the fonts being there."""
    now = datetime.now(UTC)
    root_key, root = make_root()

    def signer(name: str) -> Signer:
        key = new_key()
        private = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
        leaf = issue_leaf(root_key, root, key.public_key(), name=name, organisation=name)
        return Signer(private, leaf)

    service, side = signer("Service"), signer("Customer")
    set_once = seconds(partial(pages, now), repeat=2)
    plain = pages(now)
    said = Said("Service", "Service", "invented", datetime.now(UTC))
    certified = certify(plain, service, said, places=PLACES).pdf
    figure = seconds(lambda: certify(plain, service, said, places=PLACES))
    yield Row("seal a PDF for the service", figure, "s", set_once, "ratio <= 0.5")
    said = Said("Customer", "Customer", "invented", datetime.now(UTC))
    sealed = countersign(certified, side, said).pdf
    figure = seconds(lambda: countersign(certified, side, said))
    yield Row("seal it for one side", figure, "s", set_once, "ratio <= 0.5")
    figure = seconds(lambda: inspect(sealed, [root]), repeat=1)
    yield Row("judge its two seals and what came later", figure, "s", set_once)
