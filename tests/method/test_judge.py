"""Verdicts of whole submissions: all four words, both parts, purposes, errors."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from ledger.canonical import canonical_bytes, digest, parse
from method.facts import Lab, Numbers, TargetFacts
from method.judge import ENGINE, JUDGE_ERRORS, JudgeError, judge
from method.reasons import words
from method.submission import Judgement, Permission, Specimen
from method.terms.combination import template_pairs
from tests.method.cases import (
    NOT_QUALIFIED,
    Case,
    clauses,
    due,
    packed,
    reason_ids,
    spectrum,
    tolerance,
    visual_case,
    votes,
)

FAR = {"1": [spectrum(0.50)] * 2, "2": [spectrum(0.40)] * 2}
NEAR_LIMIT = {"1": [spectrum(0.418)] * 2, "2": [spectrum(0.40)] * 2}
TWO_AGAINST = {"O-1": "reject", "O-2": "reject", "O-3": "accept"}


def test_all_evidence_within_gives_conforming() -> None:
    verdict = Case().judged()
    assert verdict["outcome"] == "conforming"
    assert verdict["rule"] == "release"
    assert {one["state"] for one in verdict["evidence"]} == {"met"}
    assert [reason["id"] for reason in verdict["reasons"]] == [
        "visual_conforming", "instrument_conforming", "combined",
    ]  # fmt: skip


def test_a_value_beyond_gives_nonconforming_with_its_numbers() -> None:
    verdict = Case(rows=FAR).judged()
    assert verdict["outcome"] == "nonconforming"
    beyond = [reason for reason in verdict["reasons"] if reason["id"] == "value_beyond"]
    assert [reason["item"] for reason in beyond] == ["tol-aaaaa1", "tol-aaaaa2"]
    assert beyond[0]["params"]["limit"] == "1.00"
    assert beyond[0]["params"]["specimen"] == "1"
    assert verdict["instrument"]["specimens"] == [
        {"specimen": "1", "outcome": "nonconforming"},
        {"specimen": "2", "outcome": "conforming"},
    ]


def test_a_value_between_gives_inconclusive() -> None:
    verdict = Case(rows={"1": [spectrum(0.418)] * 2, "2": [spectrum(0.40)] * 2}).judged()
    assert verdict["outcome"] == "inconclusive"
    assert "value_between" in reason_ids(verdict)


def test_missing_evidence_gives_incomplete_whatever_else_was_found() -> None:
    verdict = Case(rows=FAR, sat=False).judged()
    assert verdict["outcome"] == "incomplete"
    assert verdict["instrument"]["outcome"] == "nonconforming"
    assert [(one["what"], one["state"]) for one in verdict["evidence"]][1] == ("visual", "missing")


@pytest.mark.parametrize("rows", [FAR, NEAR_LIMIT, Case().rows])
@pytest.mark.parametrize("voted", [None, TWO_AGAINST])
def test_incomplete_overrides_every_finding(rows: Any, voted: Any) -> None:
    case = Case(rows=rows, judgements=votes(voted), approval=_no_approval())
    assert case.judged()["outcome"] == "incomplete"


def _no_approval() -> Any:
    return Case().approval.model_copy(update={"outcome": "none"})


def test_an_item_not_required_that_is_missing_does_not_make_incomplete() -> None:
    case = Case()
    items = [*case.terms["evidence"]["items"], due(7, "photograph", required=False)]
    verdict = case.with_terms("evidence", items=items).judged()
    assert verdict["outcome"] == "conforming"
    assert {"what": "photograph", "state": "missing"}.items() <= {
        key: value for one in verdict["evidence"] if one["what"] == "photograph"
        for key, value in one.items()
    }.items()  # fmt: skip


# --- by eye ---------------------------------------------------------------------------------


def test_without_an_instrument_the_panel_alone_decides() -> None:
    assert visual_case().judged()["outcome"] == "conforming"
    assert visual_case().judged()["instrument"]["outcome"] == "not_asked"
    rejected = visual_case(judgements=votes(TWO_AGAINST)).judged()
    assert rejected["outcome"] == "nonconforming"
    assert "panel_rejects" in reason_ids(rejected)
    assert visual_case(sat=False, judgements=()).judged()["outcome"] == "incomplete"


def test_a_tied_panel_is_inconclusive() -> None:
    tied = {"O-1": "accept", "O-2": "reject", "O-3": "accept", "O-4": "reject"}
    verdict = visual_case(judgements=votes(tied)).judged()
    assert verdict["outcome"] == "inconclusive"
    assert "panel_undecided" in reason_ids(verdict)


def test_readings_in_an_agreement_without_instrument_decide_nothing() -> None:
    case = Case(rows=FAR).with_terms("measurement", instrument="none")
    visual = visual_case().terms
    case = case.but(terms={**case.terms, "decision": visual["decision"], "tolerances": {}})
    verdict = case.but(terms={**case.terms, "evidence": visual["evidence"]}).judged()
    assert verdict["outcome"] == "conforming"
    assert verdict["instrument"]["outcome"] == "not_asked"


def test_a_judgement_by_someone_not_qualified_is_kept_and_does_not_count() -> None:
    stranger = Judgement(
        observer="O-9", specimen="1", outcome="reject", qualified=False, reasons=NOT_QUALIFIED
    )
    verdict = visual_case(judgements=(*votes(), stranger)).judged()
    assert verdict["outcome"] == "conforming"
    shown = [one for one in verdict["visual"]["judgements"] if one["observer"] == "O-9"]
    assert [(one["counted"], one["outcome"]) for one in shown] == [(False, "reject")]
    assert [reason["id"] for reason in shown[0]["reasons"]] == ["observer_not_qualified"]
    assert "judgement_not_counted" in {reason["id"] for reason in verdict["reasons"]}
    assert verdict["visual"]["specimens"][0]["rejects"] == 0


def test_a_panel_too_small_after_uncounted_judgements_is_incomplete() -> None:
    two = votes({"O-1": "accept", "O-2": "accept"})
    uncounted = tuple(
        Judgement(
            observer="O-3", specimen=label, outcome="accept", qualified=False, reasons=NOT_QUALIFIED
        )
        for label in ("1", "2")
    )
    verdict = visual_case(judgements=(*two, *uncounted)).judged()
    assert verdict["outcome"] == "incomplete"
    assert "panel_too_small" in reason_ids(verdict)


def test_staff_entries_count_only_where_the_terms_say_so() -> None:
    case = visual_case(sitting={"entered_by": "staff", "entered_by_code": "S-2"})
    assert case.judged()["outcome"] == "incomplete"
    assert "staff_entry_not_counted" in reason_ids(case.judged())
    assert case.with_terms("observers", staff_entry_counts=True).judged()["outcome"] == "conforming"


def test_whoever_rejects_under_one_light_rejects_the_specimen() -> None:
    split = [
        Judgement(observer=f"O-{n}", specimen="1", illuminant=light, outcome=said, qualified=True)
        for n in (1, 2, 3)
        for light, said in (("D65", "accept"), ("A", "reject" if n < 3 else "accept"))
    ]
    verdict = visual_case(judgements=(*votes(specimens=("2",)), *split)).judged()
    assert verdict["visual"]["specimens"][0]["rejects"] == 2
    assert verdict["outcome"] == "nonconforming"


@pytest.mark.parametrize(
    ("rule", "number", "accepting", "rejecting", "outcome"),
    [
        ("all", None, 3, 0, "conforming"), ("all", None, 2, 1, "nonconforming"),
        ("majority", None, 2, 1, "conforming"), ("majority", None, 1, 2, "nonconforming"),
        ("majority", None, 2, 2, "inconclusive"),
        ("at_least", 2, 2, 1, "conforming"), ("at_least", 2, 1, 2, "nonconforming"),
        ("at_least", 2, 2, 2, "nonconforming"),  # 2 of 4 is less than 2 of 3
        ("at_least", 2, 4, 2, "conforming"), ("at_least", None, 3, 0, "inconclusive"),
        (None, None, 3, 0, "inconclusive"),
    ],
)  # fmt: skip
def test_panel_rules(
    rule: str | None, number: int | None, accepting: int, rejecting: int, outcome: str
) -> None:
    said = ["accept"] * accepting + ["reject"] * rejecting
    given = votes({f"O-{n}": one for n, one in enumerate(said)})
    case = visual_case(judgements=given)
    verdict = case.with_terms("decision", panel_rule=rule, panel_number=number).judged()
    assert verdict["outcome"] == outcome


def test_the_acceptance_number_lets_a_rejected_specimen_pass() -> None:
    against = votes(TWO_AGAINST, ("1",)) + votes(None, ("2",))
    case = visual_case(judgements=against)
    assert case.judged()["outcome"] == "nonconforming"
    assert case.with_terms("decision", acceptance_number=1).judged()["outcome"] == "conforming"


# --- combination ----------------------------------------------------------------------------

ROWS = {"conforming": Case().rows, "nonconforming": FAR}
VOTED = {"conforming": None, "nonconforming": TWO_AGAINST}


@pytest.mark.parametrize("template", ["visual", "instrument", "both", "instrument_then_visual"])
@pytest.mark.parametrize("visual", ["conforming", "nonconforming"])
@pytest.mark.parametrize("instrument", ["conforming", "nonconforming"])
def test_the_agreed_table_combines_both_findings(
    template: Any, visual: str, instrument: str
) -> None:
    case = Case(clauses(template), rows=ROWS[instrument], judgements=votes(VOTED[visual]))
    verdict = case.judged()
    asked = {
        "visual": (visual, "not_asked"), "instrument": ("not_asked", instrument),
    }.get(template, (visual, instrument))  # fmt: skip
    assert (verdict["visual"]["outcome"], verdict["instrument"]["outcome"]) == asked
    assert verdict["outcome"] == template_pairs(template).get(asked, "inconclusive")


def test_the_eye_is_asked_only_where_the_instrument_cannot_decide() -> None:
    terms = clauses("instrument_then_visual")
    terms["evidence"] = {"items": [due(1, "spectral")]}
    between = {"1": [spectrum(0.418)] * 2, "2": [spectrum(0.40)] * 2}
    assert Case(terms, sat=False, judgements=()).judged()["outcome"] == "conforming"
    unseen = Case(terms, rows=between, sat=False, judgements=()).judged()
    assert unseen["outcome"] == "incomplete"
    assert [one["state"] for one in unseen["evidence"] if one["what"] == "visual"] == ["missing"]
    assert Case(terms, rows=between).judged()["outcome"] == "conforming"


# --- purposes -------------------------------------------------------------------------------


def test_a_rejection_is_judged_by_the_rejection_rule_and_its_zone() -> None:
    between = {"1": [spectrum(0.418)] * 2, "2": [spectrum(0.40)] * 2}
    case = Case(rows=between).rejection()
    outcomes = {}
    for holder in ("supplier", "customer", "nobody"):
        verdict = case.with_terms("decision", zone_at_rejection=holder).judged()
        assert verdict["rule"] == "rejection"
        outcomes[holder] = verdict["instrument"]["outcome"]
    assert outcomes == {
        "supplier": "conforming", "customer": "nonconforming", "nobody": "inconclusive",
    }  # fmt: skip


def test_a_rejection_needs_no_more_specimens_than_can_prove_it() -> None:
    case = Case(rows={"7": [spectrum(0.50)] * 2}, sat=False, judgements=()).rejection()
    assert case.judged()["outcome"] == "nonconforming"
    two = case.with_terms("decision", acceptance_number=1).judged()
    assert two["outcome"] == "incomplete"


def test_a_first_article_needs_no_approval_and_one_specimen() -> None:
    case = Case(
        rows={"1": [spectrum(0.402)] * 2}, judgements=votes(specimens=("1",)),
        approval=_no_approval(),
    )  # fmt: skip
    assert case.first_article().judged()["outcome"] == "conforming"


@pytest.mark.parametrize("purpose", ["referee", "joint_test"])
def test_a_referee_may_measure_alone(purpose: str) -> None:
    terms = clauses("instrument")
    case = Case(terms, rows=FAR, sat=False, judgements=(), fields={"purpose": purpose})
    assert case.judged()["outcome"] == "nonconforming"


def test_every_piece_of_a_lot_is_due_where_the_terms_say_so() -> None:
    case = Case().with_terms("decision", sampling_kind="every_piece")
    assert case.judged()["outcome"] == "incomplete"
    small = case.submission().lot
    assert small is not None
    two = case.but(fields={"lot": small.model_copy(update={"quantity": 2})})
    assert two.judged()["outcome"] == "conforming"


# --- what is compared -----------------------------------------------------------------------


def _only(case: Case, **changes: Any) -> Case:
    return case.with_terms("tolerances", items=[tolerance(1, **changes)])


def test_numbers_as_target_come_from_the_terms() -> None:
    numbers = {
        "id": "tgt-aaaaaa", "illuminant": "D65", "observer": "10",
        "l_star": "69.47", "a_star": "0", "b_star": "0",
    }  # fmt: skip
    case = _only(Case(targets=())).with_terms(
        "references", target="numbers", target_values=[numbers]
    )
    verdict = case.judged()
    assert verdict["outcome"] == "conforming"
    assert verdict["instrument"]["items"][0]["values"][0]["value"] == "0.17"


def test_the_offset_of_a_duplicate_is_taken_off_where_the_terms_say_so() -> None:
    offset = Numbers(
        illuminant="D65", observer="10", lab=Lab.model_validate({"L": "5", "a": "0", "b": "0"})
    )
    reference = Case().reference.model_copy(update={"role": "duplicate", "offsets": (offset,)})
    reference = type(reference).model_validate({**reference.model_dump(), "id": ""})
    case = _only(Case(reference=reference, target_facts={"source": "duplicate"}))
    case = case.with_terms("references", target="duplicate", duplicate_limit=None)
    assert case.judged()["instrument"]["outcome"] == "conforming"
    applied = case.with_terms("references", target="duplicate", offset_applied=True)
    assert applied.judged()["instrument"]["outcome"] == "nonconforming"


def test_pieces_are_compared_among_each_other() -> None:
    case = _only(Case(rows=FAR, targets=()), compared_with="among_pieces")
    values = case.judged()["instrument"]["items"][0]["values"]
    assert values[0]["value"] == values[1]["value"]
    assert values[0]["zone"] == "beyond"


def test_places_of_a_piece_are_compared_with_each_other() -> None:
    rows = {"1": [spectrum(0.40), spectrum(0.50)], "2": [spectrum(0.40), spectrum(0.40)]}
    values = _only(Case(rows=rows, targets=()), compared_with="within_piece").judged()
    zones = [one["zone"] for one in values["instrument"]["items"][0]["values"]]
    assert zones == ["beyond", "within"]


def test_a_mating_part_is_compared_by_its_own_reading() -> None:
    mating = TargetFacts(
        compared_with="mating_part", label="lid", source="stored_reading",
        packed=digest(packed({"master": [spectrum(0.40)]})), rows=(0,),
    )  # fmt: skip
    verdict = _only(Case(targets=(mating,)), compared_with="mating_part").judged()
    assert verdict["outcome"] == "conforming"
    assert verdict["instrument"]["items"][0]["values"][0]["compared_with"] == "lid"


def test_finer_readings_are_taken_at_the_agreed_wavelengths() -> None:
    fine = tuple(range(390, 711, 5))
    rows = {label: [[0.402] * len(fine)] * 2 for label in ("1", "2")}
    assert Case(rows=rows, grid=fine).judged()["outcome"] == "conforming"


def test_without_an_agreed_grid_the_shared_wavelengths_are_used() -> None:
    verdict = Case().with_terms("measurement", grid_start_nm=None).judged()
    assert verdict["conditions"]["grid"] == {"start": 400, "stop": 700, "step": 10}
    assert verdict["outcome"] == "conforming"


def test_a_value_above_the_warning_level_is_marked_and_conforms() -> None:
    verdict = _only(Case(), warning="0.10").judged()
    assert [one.get("warning") for one in verdict["instrument"]["items"][0]["values"]] == [
        True, None,
    ]  # fmt: skip
    assert verdict["outcome"] == "conforming"


def test_decimals_unsaid_are_those_of_the_limit() -> None:
    item = {key: value for key, value in tolerance(1).items() if key != "decimals"}
    verdict = Case().with_terms("tolerances", items=[{**item, "limit": "1.000"}]).judged()
    assert verdict["instrument"]["items"][0]["decimals"] == 3
    assert verdict["instrument"]["items"][0]["values"][0]["value"] == "0.166"


# --- errors ---------------------------------------------------------------------------------


def _judge_error(terms: bytes, submission: bytes, blobs: dict[str, bytes]) -> str:
    with pytest.raises(JudgeError) as caught:
        judge(terms, submission, blobs)
    return caught.value.id


def _edited(**changes: Any) -> bytes:
    return canonical_bytes({**json.loads(Case().inputs[1]), **changes})


def _errors() -> dict[str, Any]:
    terms, submission, blobs = Case().inputs
    name = next(iter(blobs))
    permission = Permission(kind="waiver", document=digest(b"w"))
    missing_row = Case(target_facts={"rows": (9,)})
    bad_terms = canonical_bytes({"schema": 1})
    steep = {"1": [[1e150] * 31] * 2, "2": [[1e150] * 31] * 2}
    return {
        "submission_unreadable": (terms, b"{", blobs),
        "terms_unreadable": (bad_terms, _edited(terms=digest(bad_terms)), blobs),
        "terms_unlike": (b"{}", submission, blobs),
        "part_unknown": (terms, _edited(part="prt-bbbbbb"), blobs),
        "engine_unlike": (terms, _edited(engine="2.0.0"), blobs),
        "permission_not_carried": Case(fields={"permissions": (permission,)}).inputs,
        "blob_missing": (terms, submission, {}),
        "blob_unlike": (terms, submission, dict.fromkeys(blobs, b"x")),
        "packed_unreadable": _unpackable(name),
        "row_unknown": missing_row.inputs,
        "colour_unknown": Case(rows=steep).inputs,
    }


def _unpackable(name: str) -> tuple[bytes, bytes, dict[str, bytes]]:
    """A target whose blob hashes well and is no packed set."""
    case = Case(target_facts={"packed": digest(b"no set")})
    terms, submission, blobs = case.inputs
    return terms, submission, {**blobs, digest(b"no set"): b"no set"}


@pytest.mark.parametrize("id", sorted(JUDGE_ERRORS))
def test_inputs_that_cannot_be_judged_are_refused_by_id(id: str) -> None:
    assert _judge_error(*_errors()[id]) == id


@pytest.mark.parametrize(
    ("engine", "refused"), [("1.0.9", False), ("1.1.0", True), ("0.9.0", True), ("2.0.0", True)]
)
def test_a_submission_for_another_major_or_a_newer_minor_is_refused(
    engine: str, refused: bool
) -> None:
    assert ENGINE == "1.0.0"
    terms, _, blobs = Case().inputs
    if refused:
        assert _judge_error(terms, _edited(engine=engine), blobs) == "engine_unlike"
    else:
        assert parse(judge(terms, _edited(engine=engine), blobs))["engine"] == engine


def test_a_verdict_carries_digests_of_its_inputs_and_no_private_word() -> None:
    terms, submission, blobs = Case().inputs
    data = judge(terms, submission, blobs)
    verdict = parse(data)
    assert verdict["terms"] == digest(terms)
    assert verdict["submission"] == digest(submission)
    assert b"score" not in data
    assert all(words(reason) for reason in verdict["reasons"])


def test_specimens_drawn_and_not_examined_do_not_fill_the_sample() -> None:
    drawn = tuple(Specimen(label=label) for label in ("1", "2", "3"))
    case = Case(fields={"specimens": drawn}).with_terms("decision", sample_size=3)
    verdict = case.judged()
    assert verdict["outcome"] == "incomplete"
    assert {"specimens_measured_too_few", "specimens_judged_too_few"} <= reason_ids(verdict)


def test_a_lot_smaller_than_the_sample_is_judged_whole() -> None:
    lot = Case().submission().lot
    assert lot is not None
    assert lot.accepted_on == date(2026, 1, 9)
    small = Case(fields={"lot": lot.model_copy(update={"quantity": 2})})
    assert small.with_terms("decision", sample_size=5).judged()["outcome"] == "conforming"
