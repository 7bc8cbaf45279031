"""What one side writes, or another dossier holds, is read nowhere else.

Two ways: words planted through the transitions are looked for in everything that a persona can
read; and everything is read before and after every table got rows of another dossier and of the
other sides, and must be the same to the letter: no count, choice or link may tell of them.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from agreements.models import Draft
from desk import parts_of_record
from desk.filters import subjects_of
from desk.proof import blob_links
from disputes.models import Dispute
from ledger import chain
from ledger.kinds import Kind
from method.terms.document import terms_bytes
from parties.models import Dossier, Sitter
from shipments.models import (
    FirstArticle,
    ListedSubmission,
    Lot,
    Submission,
    SubmissionList,
)
from tests.access.checks import case_of, check_success
from tests.access.reading import body, cases, read
from tests.access.stage import Stage, undone
from tests.access.table import RULES
from tests.access.twins import all_rows, plant, twin
from tests.world import terms

pytestmark = pytest.mark.django_db

CUSTOMERS = ("customer_lead", "customer_reader", "customer_observer", "customer_admin")
SUPPLIERS = ("supplier_lead", "supplier_staff", "supplier_observer")
AUDITORS = ("auditor", "auditor_lead")
IN_REGISTER = (*SUPPLIERS, "supplier_reader", "supplier_admin")
GROUPS = {"customer": CUSTOMERS, "supplier": SUPPLIERS, "auditor": AUDITORS}
# Every table of an agreement's rows; registers hold booths, instruments and observers beside these.
TABLES = """submission invitation signature reference chip evidencefile measuredset document
retainedpiece sitting judgement draft revision naming remark standing firstarticle lot verdict
verdictpaper submissionlist termspaper documentseal dispute post note offer recordcopy comparison"""


UNSIGNED = {"signed_at": None, "first_signer": ""}
Texts = dict[tuple[str, str], bytes]  # (who, address) → what they read there


def differing(before: Texts, after: Texts) -> list[str]:
    """Who reads something else now, and where."""
    return [
        f"{who} at {url}: {first_difference(text, after[who, url])}"
        for (who, url), text in before.items()
        if after[who, url] != text
    ]


def first_difference(one: bytes, other: bytes) -> str:
    """Both from where they part, a little of each."""
    at = next((n for n, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), 0)
    near = slice(max(0, at - 60), at + 100)
    return f"{one[near].decode(errors='replace')!r}, then {other[near].decode(errors='replace')!r}"


def read_in_agreement(stage: Stage, side: str) -> Texts:
    """What a side reads in the agreement and on its own desk."""
    return read(stage, GROUPS[side], cases(stage), ("agreement", "person", "all"))


def read_in_register(stage: Stage) -> Texts:
    """What the firm's people read, in their register and elsewhere."""
    return read(stage, IN_REGISTER, cases(stage), ("agreement", "register", "person"))


def check_agreement(stage: Stage, side: str, before: Texts | None = None) -> None:
    """Rows of another agreement, and private rows of the other sides, of every table."""
    before = before or read_in_agreement(stage, side)
    assert len(before) > 40
    with undone():
        rows = all_rows(stage.agreement)
        assert {row._meta.model_name for row in rows} == set(TABLES.split())
        # Nobody of the cast sits there: nothing of it may show, not even on one's own desk.
        elsewhere = Dossier.objects.create(purpose="agreement", title="Elsewhere")
        plant(rows, dossier=elsewhere)
        # The same terms would offer the same parts: these name another.
        twin(stage.get("revision"), dossier=elsewhere, terms=terms_bytes(terms("visual")))
        private = [row for row in rows if row.side_only and not row.released_at]
        for other in sorted({"customer", "supplier"} - {side}):
            plant(private, side_only=other)
        plant_hidden(stage, "customer" if side == "supplier" else "supplier")
        parted = differing(before, read_in_agreement(stage, side))
        assert not parted, "\n".join(parted)


def plant_hidden(stage: Stage, side: str) -> None:
    """What would ask for an answer, or show as a draft, if it were taken for one's own."""
    twin(stage.get("revision"), side_only=side, status="proposed", proposed_by=side, **UNSIGNED)
    if not Draft.objects.filter(dossier=stage.agreement, side_only=side).exists():
        twin(stage.get("draft"), side_only=side)


def check_acts(stage: Stage) -> None:
    """Acts that ask for the latest revision are not misled by one of another dossier."""
    with undone():
        rows = [row for row in all_rows(stage.agreement) if row._meta.model_name == "revision"]
        plant(rows, dossier=Dossier.objects.create(purpose="agreement", title="Elsewhere"))
        for name in ("draft-rebase", "draft-propose", "draft-counter", "revision-take-up"):
            rule = next(rule for rule in RULES if rule.name == f"agreements:{name}")
            with undone():
                check_success(stage, rule, case_of(stage, rule))


def check_hidden_verdict(stage: Stage) -> None:
    """A verdict that only one side sees stands on nobody else's page of what was handed in."""
    for side, other in (("customer", "supplier"), ("supplier", "customer")):
        client = stage.client(f"{side}_lead")
        with undone():
            seen = twin(stage.get("submission"))
            before = body(client.get(seen.get_absolute_url()))
            twin(stage.get("verdict"), submission=seen, side_only=other)
            assert body(client.get(seen.get_absolute_url())) == before, f"verdict shown to {side}"


def check_named_in_entries(stage: Stage) -> None:
    """An entry is never explained by a thing that its reader may not see."""
    with undone():
        elsewhere = Dossier.objects.create(purpose="agreement", title="Elsewhere")
        foreign = twin(stage.get("lot_judged"), dossier=elsewhere)
        payload: dict[str, Any] = {"number": "L-77", "order": "PO-77", "part": foreign.part}
        payload |= {"accepted_on": "2026-01-05", "revision": 1, "quantity": 10}
        chain.append(
            stage.agreement.chain,
            by=stage.world.staff.actor(),
            kind=Kind.LOT_OPENED,
            subject=foreign.subject,
            act=chain.new_act(),
            payload=payload,
        )
        page = stage.client("auditor").get(
            reverse("desk:timeline", kwargs={"dossier": stage.agreement.pk})
        )
        assert foreign.number not in page.content.decode(), "a foreign lot on the timeline"


def check_filter(stage: Stage) -> None:
    """The timeline's filter by number, of equal numbers too, and a part of the record, about a lot
    or dispute, know this agreement's things alone."""
    sitter = Sitter.objects.get(dossier=stage.agreement, person=stage.cast.people["auditor"])
    rows = all_rows(stage.agreement)
    numbered = [row for row in rows if isinstance(row, Lot | FirstArticle)]
    with undone():
        before = {row.number: subjects_of(row.number, sitter) for row in numbered}
        abouts = [row.subject for row in rows if isinstance(row, Lot | Dispute)]
        parts = {about: parts_of_record.subjects_of(sitter, about) for about in abouts}
        elsewhere = Dossier.objects.create(purpose="agreement", title="Elsewhere")
        plant([row for row in rows if row not in numbered], dossier=elsewhere)
        for row in numbered:
            twin(row, dossier=elsewhere, number=row.number)
        for found in SubmissionList.objects.filter(dossier=elsewhere):
            for one in Submission.objects.filter(dossier=stage.agreement):
                ListedSubmission.objects.create(list=found, submission=one)
        for number, subjects in before.items():
            assert sorted(subjects_of(number, sitter)) == sorted(subjects), f"filter by {number}"
        for about, subjects in parts.items():
            assert parts_of_record.subjects_of(sitter, about) == subjects, f"part about {about}"
        foreign = [
            row for table in (Lot, Dispute) for row in table.objects.filter(dossier=elsewhere)
        ]
        for row in foreign:
            with pytest.raises(parts_of_record.NoPart):
                parts_of_record.subjects_of(sitter, row.subject)


def check_files_of_entries(stage: Stage) -> None:
    """An entry's page leads to files of this agreement's things alone: where others have the same
    file, and where the entry itself is about a thing of others."""
    sitter = Sitter.objects.get(dossier=stage.agreement, person=stage.cast.people["auditor"])
    entries = [entry for entry in chain.entries(stage.agreement.chain) if entry.blobs]
    with undone():
        before = {entry.number: blob_links(entry, sitter) for entry in entries}
        assert any(link.url for links in before.values() for link in links)
        elsewhere = Dossier.objects.create(purpose="agreement", title="Elsewhere")
        for row in all_rows(stage.agreement):
            same = {"digest": row.digest} if isinstance(row, Submission) else {}
            twin(row, dossier=elsewhere, **same)
        for entry in entries:
            assert blob_links(entry, sitter) == before[entry.number], f"files of {entry.number}"
        for kind, thing in ((Kind.SUBMISSION_MADE, "submission"), (Kind.POST_MADE, "post")):
            own = next(one for one in entries if one.kind == kind and before[one.number][0].url)
            foreign = twin(stage.get(thing), dossier=elsewhere)
            made = chain.append(
                stage.agreement.chain,
                by=stage.world.staff.actor(),
                kind=kind,
                subject=foreign.subject,
                act=chain.new_act(),
                payload=own.payload,
                blobs=own.blobs,
            )
            entry = chain.entries(stage.agreement.chain).get(number=made.number)
            urls = [link.url for link in blob_links(entry, sitter)]
            assert not any(str(foreign.pk) in url for url in urls), f"a foreign {thing}'s file"


def check_listed(stage: Stage) -> None:
    """A list of evidence never shows a submission of another agreement."""
    found = stage.get("list_drawn_up")
    client = stage.client("supplier_lead")
    with undone():
        before = body(client.get(found.get_absolute_url()))
        elsewhere = Dossier.objects.create(purpose="agreement", title="Elsewhere")
        foreign = twin(stage.get("submission"), dossier=elsewhere)
        ListedSubmission.objects.create(list=found, submission=foreign)
        assert body(client.get(found.get_absolute_url())) == before, "a foreign submission listed"


def check_register(stage: Stage, before: Texts | None = None) -> None:
    """Rows of another firm's register, and rows that only a guest in this one sees."""
    before = before or read_in_register(stage)
    foreign = stage.cast.registers["third"]
    with undone():
        rows = all_rows(stage.register)
        plant(rows, dossier=foreign)
        plant(rows, side_only="auditor")
        duplicate = stage.get("duplicate")
        master = stage.get("reference_register")
        twin(master, dossier=foreign, key=duplicate.master_key, name="Foreign master")
        parted = differing(before, read_in_register(stage))
        assert not parted, "\n".join(parted)


@pytest.mark.parametrize("side", GROUPS)
def test_rows_of_others_change_nothing_in_the_agreement(stage: Stage, side: str):
    """Every page, answer and download of the agreement, and one's own desk."""
    check_agreement(stage, side)


def test_rows_of_others_change_nothing_in_a_register(stage: Stage):
    """Every page of the firm's register, for everybody who sits there."""
    check_register(stage)


def test_a_verdict_of_one_side_is_not_shown_to_the_other(stage: Stage):
    check_hidden_verdict(stage)


def test_an_entry_is_not_explained_by_what_its_reader_may_not_see(stage: Stage):
    check_named_in_entries(stage)


def test_the_timeline_filters_by_things_of_this_agreement(stage: Stage):
    check_filter(stage)


def test_an_entry_leads_to_files_of_this_agreement(stage: Stage):
    check_files_of_entries(stage)


def test_a_list_does_not_show_evidence_of_another_agreement(stage: Stage):
    check_listed(stage)


def test_acts_are_not_misled_by_rows_of_others(stage: Stage):
    """Proposing, answering and beginning a draft look at this agreement's revisions alone."""
    check_acts(stage)
