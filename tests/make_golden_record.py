"""Make the golden signed record anew: `python -m tests.make_golden_record`.

The invented story of tests/golden_story.py is played in a temporary installation under a fixed
clock; its record, root fingerprint and digest are written to tests/data. The installation, with
every private key and the secret that seals them, exists only in a temporary folder and is removed:
nobody can sign for these people again. Salts and keys are drawn anew, so the digest changes each
time: write the new one into tests/ledger/test_golden.py, and do so only while the form of records
is not yet fixed. Once it is, the committed record must verify for good.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from pathlib import Path
from unittest.mock import patch

DATA = Path(__file__).parent / "data"
RECORD = DATA / "golden-record-v1.zip"
NOTE = DATA / "golden-record-v1.txt"


def main() -> int:
    """Play, write, check; the exit status tells."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("DATABASE_URL", "REDIS_URL", "COUNTERSHADE_DEMO", "COUNTERSHADE_KEY_SECRET"):
            os.environ.pop(name, None)
        os.environ["COUNTERSHADE_VAR_DIR"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
        data, root = _made()
    RECORD.write_bytes(data)
    digest = hashlib.sha256(data).hexdigest()
    NOTE.write_text(
        "The golden signed record: invented people, firms and colours (tests/golden_story.py).\n"
        "Its private keys are destroyed.\n"
        f"root {root}\nsha256 {digest}\n",
        encoding="ascii",
    )
    print(f"{RECORD}: {len(data)} bytes\nroot {root}\nsha256 {digest}")
    return 0


def _made() -> tuple[bytes, str]:
    """The record's bytes and its root's fingerprint, of an installation made for it."""
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from tests import golden_story

    # Papers are no part of a record: their typesetting is left out.
    with patch("jobs.pdf.render", lambda *_args, **_more: b"%PDF- (not typeset)"):
        world = golden_story.tell()
    return golden_story.record(world)


if __name__ == "__main__":
    sys.exit(main())
