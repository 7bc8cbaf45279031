"""Every reason id: declared, emitted, and reached by one change in otherwise good evidence."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from method.facts import Approval, Lab, TargetFacts
from method.qualification import HueTest, ObserverFacts, qualified
from method.reasons import REASONS, because, words
from method.routing_measurement import span
from method.submission import By, Comparator, Judgement, Retained
from method.terms.models import CLAUSES, Observers
from tests.method.cases import (
    BOOTH,
    CONDITION,
    DAY,
    INSTRUMENT,
    MASTER,
    NOT_QUALIFIED,
    Case,
    due,
    reason_ids,
    spectrum,
    tolerance,
    visual_case,
    votes,
)

METHOD = Path(__file__).parents[2] / "method"
FAR = {"1": [spectrum(0.50)] * 2, "2": [spectrum(0.40)] * 2}
BETWEEN = {"1": [spectrum(0.418)] * 2, "2": [spectrum(0.40)] * 2}


def _with(part: Any, **changes: Any) -> Any:
    """A part of a document with fields replaced and its id made anew."""
    return type(part).model_validate({**part.plain(), "id": "", **changes})


def _lamp(**changes: Any) -> Case:
    lights = tuple(
        light.model_copy(update=changes) if light.illuminant == "D65" else light
        for light in BOOTH.lights
    )
    return Case(booth=_with(BOOTH, lights=lights))


def _booth(**changes: Any) -> Case:
    kept = {key: value for key, value in BOOTH.plain().items() if key not in (*changes, "id")}
    said = {key: value for key, value in changes.items() if value is not None}
    return Case(booth=type(BOOTH).model_validate({**kept, **said}))


def _reference(**changes: Any) -> Case:
    return Case(reference=_with(MASTER, **changes))


def _instrument(**changes: Any) -> Case:
    kept = {key: value for key, value in INSTRUMENT.plain().items() if key not in (*changes, "id")}
    said = {key: value for key, value in changes.items() if value is not None}
    return Case(instrument=type(INSTRUMENT).model_validate({**kept, **said}))


def _condition(**changes: Any) -> Case:
    return Case(condition=CONDITION.model_copy(update=changes))


def _item(what: str, **changes: Any) -> Case:
    case = Case()
    items = [*case.terms["evidence"]["items"], due(7, what, **changes)]
    return case.with_terms("evidence", items=items)


def _tolerance(**changes: Any) -> Case:
    item = {key: value for key, value in {**tolerance(1), **changes}.items() if value is not None}
    return Case().with_terms("tolerances", items=[item])


def _lead() -> Case:
    case = Case()
    items = [due(1, "spectral", signed_by_lead=True), due(2, "visual")]
    staff = By(code="S-2", organisation="ORG-2", side="supplier", role="quality_staff")
    return case.with_terms("evidence", items=items).but(fields={"by": staff})


def _uncounted() -> Case:
    other = Judgement(
        observer="O-9", specimen="1", outcome="reject", qualified=False, reasons=NOT_QUALIFIED
    )
    return visual_case(judgements=(*votes(), other))


def _contradicting() -> Case:
    case = visual_case(judgements=votes({f"O-{n}": "accept" for n in range(1, 5)}))
    first = case.submission().sittings[0]
    again = type(first).model_validate(
        {**first.plain(), "id": "", "day": "2026-03-04", "judgements": votes({"O-4": "reject"})}
    )
    return case.but(fields={"sittings": (first, again)})


def _approval(outcome: str, **limits: Any) -> Case:
    return Case(approval=Approval.model_validate({"outcome": outcome, **limits}))


def _duplicate(**changes: Any) -> Case:
    reference = _with(MASTER, role="duplicate", **changes)
    case = Case(reference=reference, target_facts={"source": "duplicate"})
    return case.with_terms("references", target="duplicate")


def _under(illuminant: str) -> Case:
    given = [one.model_copy(update={"illuminant": illuminant}) for one in votes()]
    return Case(judgements=tuple(given))


FINE = tuple(range(400, 701, 5))
LATE = DAY - timedelta(days=31)
TIED = {"O-1": "accept", "O-2": "reject", "O-3": "accept", "O-4": "reject"}
AGAINST = {"O-1": "reject", "O-2": "reject", "O-3": "accept"}
NUMBERS = TargetFacts(source="numbers")

CASES: dict[str, Callable[[], Case]] = {
    "judgement_not_counted": _uncounted,
    "staff_entry_not_counted": lambda: Case(sitting={"entered_by": "staff"}),
    "judgements_contradict": _contradicting,
    "panel_too_small": lambda: Case(judgements=votes({"O-1": "accept", "O-2": "accept"})),
    "adaptation_short": lambda: Case(sitting={"adaptation_minutes": 1}).with_terms(
        "observers", adaptation_minutes=3
    ),
    "sitting_without_light": lambda: Case(sitting={"illuminants": ("A",)}),
    "light_not_judged": lambda: _under("D65"),
    "warm_up_short": lambda: Case(sitting={"warm_up_minutes": 14}),
    "booth_light_unknown": lambda: Case(sitting={"illuminants": ("A", "D65", "F11")}),
    "booth_hours_unknown": lambda: _lamp(lamp_hours=None),
    "booth_hours_over": lambda: _lamp(lamp_hours=2001),
    "booth_check_missing": lambda: _booth(checked_on=None),
    "booth_check_overdue": lambda: _booth(checked_on=str(LATE)),
    "booth_illuminance_unknown": lambda: _lamp(illuminance_lux=None),
    "booth_illuminance_outside": lambda: _lamp(illuminance_lux=Decimal("999.9")),
    "booth_category_unknown": lambda: _lamp(category=None),
    "booth_category_below": lambda: _lamp(category="C"),
    "booth_category_uv_unknown": lambda: _lamp(category_uv=None),
    "booth_category_uv_below": lambda: _lamp(category_uv="D"),
    "booth_interior_unknown": lambda: _booth(interior=None),
    "booth_interior_outside": lambda: _booth(
        interior=Lab(L=Decimal(50), a=Decimal("-2.1"), b=Decimal(0))
    ),
    "comparator_missing": lambda: Case(sitting={"comparator": Comparator(role="master")}),
    "reference_expired": lambda: _reference(expires_on=str(DAY - timedelta(days=1))),
    "reference_expiry_unknown": lambda: Case(
        reference=type(MASTER)(
            code="M-1", role="master", kind="approved_part", like_part=("finish", "substrate")
        )
    ),
    "reference_kind_unlike": lambda: _reference(kind="reference_chip"),
    "reference_unlike_part": lambda: _reference(like_part=("finish",)),
    "reference_drifted": lambda: _reference(drift="0.31"),
    "reference_apart": lambda: _duplicate(difference="0.21"),
    "target_offset_missing": lambda: _duplicate().with_terms(
        "references", target="duplicate", offset_applied=True
    ),
    "target_missing": lambda: Case(targets=()),
    "target_unlike": lambda: Case(target_facts={"source": "duplicate"}),
    "article_not_approved": lambda: _approval("returned"),
    "article_approval_lapsed": lambda: _approval("approved_with_limits", until="2026-03-03"),
    "article_quantity_passed": lambda: _approval(
        "approved_with_limits", quantity=999, taken_up=500
    ),
    "calibration_unknown": lambda: _instrument(calibrated_on=None),
    "calibration_overdue": lambda: _instrument(calibrated_on="2025-03-02"),
    "repeatability_unknown": lambda: _instrument(repeatability=None),
    "repeatability_over": lambda: _instrument(repeatability="0.11"),
    "grid_not_computable": lambda: Case(
        grid=tuple(range(420, 721, 10)), targets=(NUMBERS,)
    ).with_terms("measurement", grid_start_nm=420),
    "condition_unsaid": lambda: _condition(backing=None),
    "condition_unlike": lambda: _condition(geometry="45:0"),
    "grid_unlike": lambda: Case(grid=tuple(range(420, 721, 10))),
    "target_grid_unlike": lambda: Case(
        grid=FINE, rows={label: [[0.4] * len(FINE)] * 2 for label in ("1", "2")}
    ).with_terms("measurement", grid_step_nm=5),
    "readings_too_few": lambda: Case().with_terms("measurement", readings=3),
    "readings_missing": lambda: Case(measured=False),
    "sitting_missing": lambda: Case(sat=False),
    "file_missing": lambda: _item("photograph"),
    "chip_missing": lambda: _item("reference_chip"),
    "limit_samples_missing": lambda: _item("limit_samples"),
    "retained_missing": lambda: _item("physical_piece", pieces=2).but(
        fields={"retained": (Retained(seal="S-1"),)}
    ),
    "lead_missing": _lead,
    "specimens_measured_too_few": lambda: Case(judgements=votes(specimens=("1", "2", "3")))
    .with_terms("decision", sample_size=3),
    "specimens_judged_too_few": lambda: Case(judgements=votes(specimens=("1",))),
    "value_beyond": lambda: Case(rows=FAR),
    "value_between": lambda: Case(rows=BETWEEN),
    "tolerance_unsaid": lambda: _tolerance(limit=None),
    "tolerances_unsaid": lambda: Case().with_terms("tolerances", items=[]),
    "no_value": lambda: Case(targets=(NUMBERS,)).with_terms("references", target="numbers"),
    "zone_to_supplier": lambda: Case(rows=BETWEEN).rejection(),
    "zone_to_customer": lambda: Case(rows=BETWEEN)
    .rejection()
    .with_terms("decision", zone_at_rejection="customer"),
    "panel_rule_unsaid": lambda: Case().with_terms("decision", panel_rule=None),
    "panel_rejects": lambda: Case(judgements=votes(AGAINST)),
    "panel_undecided": lambda: Case(judgements=votes(TIED)),
    "instrument_conforming": Case,
    "instrument_nonconforming": lambda: Case(rows=FAR),
    "instrument_inconclusive": lambda: Case(rows=BETWEEN),
    "visual_conforming": Case,
    "visual_nonconforming": lambda: Case(judgements=votes(AGAINST)),
    "visual_inconclusive": lambda: Case(judgements=votes(TIED)),
    "combined": Case,
}  # fmt: skip
QUALIFICATION = {
    "observer_not_qualified": ObserverFacts(code="O-1"),
    "observer_not_borrowable": ObserverFacts(
        code="O-1", tests=(HueTest(DAY, 4),), borrowed=True
    ),
    "observer_grant_missing": ObserverFacts(
        code="O-1", tests=(HueTest(DAY, 4),), borrowed=True
    ),
}  # fmt: skip
# These do not make a verdict incomplete: they are findings, not faults of required evidence.
FINDINGS = {
    id for id, template in REASONS.items() if template.clause in ("decision", "tolerances")
} | {"judgement_not_counted", "judgements_contradict"}


@pytest.mark.parametrize("id", sorted(CASES))
def test_one_change_makes_the_reason_appear_in_the_verdict(id: str) -> None:
    verdict = CASES[id]().judged()
    assert id in reason_ids(verdict)
    found = [one for one in verdict["evidence"] if id in {r["id"] for r in one["reasons"]}]
    assert all(one["state"] in ("missing", "invalid") for one in found)
    if id not in FINDINGS or id == "no_value":
        assert verdict["outcome"] == "incomplete"


@pytest.mark.parametrize("id", sorted(set(CASES) - FINDINGS - {"staff_entry_not_counted"}))
def test_the_unchanged_case_has_none_of_the_faults(id: str) -> None:
    assert id not in reason_ids(Case().judged())


@pytest.mark.parametrize("id", sorted(QUALIFICATION))
def test_one_register_row_makes_the_public_reason_appear(id: str) -> None:
    clause = Observers(greatest_score_panel=12, borrowed=id != "observer_not_borrowable")
    assert [one.id for one in qualified(clause, QUALIFICATION[id], DAY).public] == [id]


def test_every_declared_id_is_reached_by_a_test() -> None:
    assert set(CASES) | set(QUALIFICATION) == set(REASONS)


def _emitted() -> set[str]:
    """Ids in the code: first arguments of `because`, and strings in the maps that feed it."""
    found: set[str] = set()
    for path in METHOD.rglob("*.py"):
        if path.name == "reason_words.py" or "terms" in path.parts:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "because":
                found |= {
                    one.value
                    for one in ast.walk(node.args[0])
                    if isinstance(one, ast.Constant) and isinstance(one.value, str)
                }
    return found


def test_every_id_that_the_code_names_is_declared() -> None:
    emitted = {id for id in _emitted() if re.fullmatch("[a-z]+(_[a-z]+)*", id)} - {"beyond"}
    assert emitted - set(REASONS) == set()
    assert len(emitted) > 50
    dynamic = {f"{part}_{word}" for part in ("visual", "instrument")
               for word in ("conforming", "nonconforming", "inconclusive")}  # fmt: skip
    mapped = set(QUALIFICATION)
    assert set(REASONS) - emitted - dynamic - mapped == set()


def test_templates_stand_under_a_clause_and_name_all_their_parameters() -> None:
    assert {template.clause for template in REASONS.values()} <= set(CLAUSES)
    with pytest.raises(KeyError):
        because("booth_hours_over", booth="B-1")
    with pytest.raises(KeyError):
        because("no_such_reason")


def test_words_are_rendered_by_the_readers_translation() -> None:
    reason = because("combined", by_eye="not_asked", by_instrument="conforming")
    assert words(reason) == "by the agreed table: by eye not asked, by instrument conforming"
    catalogue = {"not asked": "nicht gefragt", "conforming": "konform"}
    assert words(reason.plain(), lambda text: catalogue.get(text, text)) == (
        "by the agreed table: by eye nicht gefragt, by instrument konform"
    )


def test_a_specimen_called_like_a_word_of_the_terms_is_not_translated() -> None:
    reason = because("panel_rejects", specimen="black", rejects=2, votes=3)
    assert words(reason, lambda text: "?" if text == "black" else text).startswith("specimen black")


@pytest.mark.parametrize(
    ("wavelengths", "text"),
    [((400, 410, 420), "400–420/10"), ((400, 410, 430), "400–430"), ((400,), "400–400")],
)
def test_wavelengths_are_named_by_range_and_step(wavelengths: tuple[int, ...], text: str) -> None:
    assert span(wavelengths) == text


@pytest.mark.parametrize(
    ("last_good", "case"),
    [
        ("lamp", lambda: _lamp(lamp_hours=2000)),
        ("check", lambda: _booth(checked_on=str(DAY - timedelta(days=30)))),
        ("lux", lambda: _lamp(illuminance_lux=Decimal("1000"))),
        ("expiry", lambda: _reference(expires_on=str(DAY))),
        ("calibration", lambda: _instrument(calibrated_on=str(date(2025, 3, 3)))),
        ("quantity", lambda: _approval("approved_with_limits", quantity=1000, taken_up=500)),
        ("until", lambda: _approval("approved_with_limits", until="2026-03-04")),
        ("category", lambda: _lamp(category="A")),
        ("warm-up", lambda: Case(sitting={"warm_up_minutes": None})),
    ],
)
def test_the_last_good_value_of_a_limit_is_met(last_good: str, case: Callable[[], Case]) -> None:
    assert case().judged()["outcome"] == "conforming", last_good


def test_what_the_terms_do_not_ask_is_not_checked() -> None:
    bare = Case(
        booth=type(BOOTH)(code="B-1", lights=BOOTH.lights),
        instrument=type(INSTRUMENT)(code="SP-1"),
        condition=type(CONDITION)(),
        reference=type(MASTER)(code="M-1", role="master"),
    )
    assert bare.judged()["outcome"] == "incomplete"
    for clause in ("viewing", "references", "measurement"):
        kept = {"instrument", "observer", "target"}
        terms = {key: value for key, value in bare.terms[clause].items() if key in kept}
        bare = bare.but(terms={**bare.terms, clause: terms})
    assert bare.judged()["outcome"] == "conforming"
