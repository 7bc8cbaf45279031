"""A revision that awaits both signatures, under terms that want the signatories' own keys.

Run by `House.run`; prints the addresses of its page, the registers and the dossier as JSON.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from agreements import transitions
from agreements.models import Draft
from method.terms.document import terms_bytes
from method.terms.edit import with_values
from parties.keys import installation
from parties.models import Dossier
from parties.signing import write_record
from tests.cast import make_cast
from tests.world import terms


def main() -> None:
    """Draft, propose, agree."""
    cast = make_cast()
    wanted = with_values(terms("visual"), "changes", {"signing_keys": "own_key"})
    customer, supplier = cast.capacity(cast.customer_lead), cast.capacity(cast.supplier_lead)
    draft = Draft.objects.create(
        dossier=cast.agreement, side_only="customer", terms=terms_bytes(wanted)
    )
    revision = transitions.propose(draft, by=customer)
    revision = transitions.agree(revision, by=supplier, digest=revision.digest)
    where = {
        "revision": revision.get_absolute_url(),
        "agreement": str(cast.agreement.pk),
        "cust": str(cast.registers["cust"].pk),
        "supp": str(cast.registers["supp"].pk),
    }
    json.dump(where, sys.stdout)


def record(pk: str, target: str) -> None:
    """The signed record of a dossier, into a file; prints the root's fingerprint."""
    with Path(target).open("wb") as out:
        write_record(Dossier.objects.get(pk=pk).chain, out)
    print(installation().fingerprint)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        record(*sys.argv[1:])
    else:
        main()
