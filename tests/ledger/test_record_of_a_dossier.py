"""What `parties.signing` writes is what the verifier asks for, from certificate to checkpoint."""

from __future__ import annotations

from django.db import transaction

from ledger import blobs, chain, export
from ledger.kinds import Kind
from ledger.selfcheck import findings
from ledger.verify import verify
from parties import signing
from parties.keys import installation
from parties.transitions.seats import open_dossier_chain

TERMS = b'{"schema":1,"title":"Grey housings"}'


def test_a_dossier_signed_by_both_leads_gives_a_record_that_verifies(cast, tmp_path):
    leads = [cast.capacity(cast.supplier_lead), cast.capacity(cast.customer_lead)]
    name = cast.agreement.chain
    with transaction.atomic():
        open_dossier_chain(cast.agreement, leads[0])
        digest = blobs.put(name, TERMS, "application/json")
        chain.append(
            name,
            by=leads[0].actor(),
            kind=Kind.REVISION_PROPOSED,
            subject="revision-1",
            act=chain.new_act(),
            payload={"number": 1, "digest": digest, "side": "supplier"},
            blobs=[digest],
        )
        for lead in leads:
            signing.sign(
                lead,
                what="terms",
                subject="revision-1",
                revision=1,
                digest=digest,
                intent="I agree to these terms.",
                act=chain.new_act(),
                blobs=[digest],
            )
    point, jws = signing.root_checkpoint(name)
    root = installation()
    with (tmp_path / "record.zip").open("wb") as out:
        export.write_record(
            name, out, checkpoint=point, checkpoint_jws=jws, root_der=bytes(root.certificate)
        )
    report = verify(tmp_path / "record.zip", root.fingerprint)
    assert report.findings == []
    assert report.outcome == "verified"
    assert [made["name"] for made in report.signatures] == ["Sanna Quarrow", "Ines Vellmar"]
    assert findings() == []
