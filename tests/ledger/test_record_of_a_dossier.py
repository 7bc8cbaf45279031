"""What `parties.signing` writes is what the verifier asks for, from certificate to checkpoint."""

from __future__ import annotations

import pytest
from django.db import transaction

from agreements import transitions as agreeing
from agreements.models import Draft
from agreements.transitions.signing import to_sign
from jobs import fonts, queue
from ledger import blobs, chain, export
from ledger.kinds import Kind
from ledger.selfcheck import findings
from ledger.verify import verify
from method.terms.document import terms_bytes
from parties import signing
from parties.checkpoints import current_note
from parties.keys import installation
from parties.transitions.seats import open_dossier_chain
from tests.own_keys import in_register, passkey
from tests.world import terms

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
            wanted = signing.Wanted(
                what="terms",
                subject="revision-1",
                revision=1,
                digest=digest,
                intent="I agree to these terms.",
                blobs=[digest],
            )
            signing.sign(lead, wanted, act=chain.new_act())
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


@pytest.mark.slow
def test_sealed_terms_own_keys_and_a_note_stand_in_one_record_that_verifies(
    cast, tmp_path, settings
):
    """Terms signed with a passkey and by a service-held key, their PDFs sealed by a worker, a note
    taken after the first signature: verified offline, every check passed."""
    fonts.set_up()
    settings.LANGUAGES = settings.LANGUAGES[:1]
    revision = agreed(cast)
    customer = cast.capacity(cast.customer_lead)
    supplier = cast.capacity(cast.supplier_lead)
    held = passkey(in_register(cast, cast.customer_lead))
    with transaction.atomic():
        statement = signing.prepare(customer, _wanted(revision, customer), held.key)
    agreeing.sign(revision, by=customer, digest=revision.digest, proof=held.proof(statement))
    queue.drain()
    note = current_note(cast.agreement)
    agreeing.sign(revision, by=supplier, digest=revision.digest)
    queue.drain()
    with (tmp_path / "record.zip").open("wb") as out:
        signing.write_record(cast.agreement.chain, out)
    report = verify(tmp_path / "record.zip", installation().fingerprint, note=note.encode("ascii"))
    assert report.findings == []
    assert {check.status for check in report.checks} == {"passed"}
    assert [made["assurance"] for made in report.signatures] == ["passkey", "service-held"]
    kinds = [entry.kind for entry in chain.entries(cast.agreement.chain)]
    assert kinds.count("seal.certified") == 3 and kinds.count("document.sealed") == 2
    last = chain.entries(cast.agreement.chain).filter(kind="document.sealed").last()
    assert "continues" in last.payload and len(last.payload["seals"]) == 3


def _wanted(revision, by):
    return to_sign(revision, by=by, digest=revision.digest)


def agreed(cast):
    """Terms that both sides agreed to."""
    draft = Draft.objects.create(
        dossier=cast.agreement, side_only="customer", terms=terms_bytes(terms("spectral"))
    )
    revision = agreeing.propose(draft, by=cast.capacity(cast.customer_lead))
    by = cast.capacity(cast.supplier_lead)
    return agreeing.agree(revision, by=by, digest=revision.digest)
