"""The draft check: each rule speaks where it should, and is silent where it should be."""

from __future__ import annotations

import re
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings

import method.terms.draft as draft
from method.terms import FINDINGS, Terms, document, draft_check, from_document, starter
from method.terms.models.base import new_id
from method.terms.starter import Starter
from tests.method.terms_cases import documents


def sound(name: Starter) -> dict[str, Any]:
    """Starter terms with what only people can say; nothing is left to find."""
    dice = Random(5)
    raw = document(starter(name, dice))
    shared = raw["shared"]
    shared["disputes"]["zone"] = "Europe/Berlin"
    shared["changes"]["language"] = "en"
    shared["changes"]["signatories"] = [
        {"id": new_id("sgn", dice), "side": side, "role": role, "label": "office"}
        for side in ("customer", "supplier")
        for role in ("quality_lead", "deputy")
    ]
    shared["measurement"]["places"] = [{"id": "plc-000000", "name": "A", "where": "centre"}]
    shared["measurement"]["orientation"] = "gate up"
    raw["parts"] = [{"id": "prt-000000", "number": "1", "name": "cap", "colour": "grey"}]
    return raw


def found(raw: dict[str, Any]) -> set[tuple[str, str, str, str]]:
    """(id, severity, clause, item) of every finding; each has words that take its params."""
    findings = draft_check(from_document(raw))
    for finding in findings:
        assert FINDINGS[finding.id].text % finding.params
    return {(one.id, one.severity, one.clause, one.item) for one in findings}


@pytest.mark.parametrize("name", ["spectral", "visual"])
def test_sound_terms_have_no_finding(name: Starter) -> None:
    assert found(sound(name)) == set()


# (starter, clause, values, finding, severity, clause of the finding)
CASES: list[tuple[Starter, str, dict[str, Any], str, str, str]] = [
    ("visual", "decision", {"combination": []}, "no_decision_basis", "blocker", "decision"),
    ("spectral", "measurement", {"instrument": "none"}, "instrument_never_used", "blocker",
     "measurement"),
    ("visual", "observers", {"panel_size": None}, "visual_without_panel", "blocker", "observers"),
    ("visual", "decision", {"panel_rule": None}, "visual_without_panel", "blocker", "decision"),
    ("visual", "decision", {"panel_rule": "at_least"}, "visual_without_panel", "blocker",
     "decision"),
    ("visual", "decision", {"panel_rule": "at_least", "panel_number": 4},
     "panel_number_too_large", "blocker", "decision"),
    ("spectral", "tolerances", {"items": []}, "no_tolerance", "blocker", "tolerances"),
    ("spectral", "measurement", {"observer": None}, "measurement_unfinished", "blocker",
     "measurement"),
    ("spectral", "references", {"target": None}, "target_unsaid", "blocker", "references"),
    ("spectral", "decision", {"uncertainty_value": None}, "uncertainty_unsaid", "blocker",
     "decision"),
    ("spectral", "decision", {"zone_at_rejection": None}, "rule_unsaid", "blocker", "decision"),
    ("visual", "decision", {"sampling_kind": None}, "sampling_unsaid", "blocker", "decision"),
    ("visual", "decision", {"sample_size": None}, "sampling_unsaid", "blocker", "decision"),
    ("visual", "decision", {"acceptance_number": 5}, "acceptance_number_too_large", "blocker",
     "decision"),
    ("visual", "disputes", {"day_kind": None}, "days_without_calendar", "blocker", "disputes"),
    ("visual", "disputes", {"working_days": []}, "days_without_calendar", "blocker", "disputes"),
    ("visual", "disputes", {"zone": ""}, "days_without_calendar", "blocker", "disputes"),
    ("visual", "disputes", {"zone": "Mars/Base"}, "zone_unknown", "blocker", "disputes"),
    ("visual", "disputes", {"zone": "../etc"}, "zone_unknown", "blocker", "disputes"),
    ("visual", "disputes", {"window_event": None}, "window_without_event", "blocker", "disputes"),
    ("visual", "references", {"kind": "painted_panel", "must_match": []},
     "reference_unlike_part", "warning", "references"),
    ("visual", "references", {"kind": "reference_chip"}, "designation_without_edition", "warning",
     "references"),
    ("visual", "references", {"kind": "screen"}, "not_physical", "warning", "references"),
    ("visual", "references", {"replacement_months": None}, "no_replacement", "warning",
     "references"),
    ("visual", "references", {"retained_pieces": 0}, "no_retained_pieces", "advice", "references"),
    ("visual", "references", {"first_article_required": False}, "no_first_article", "warning",
     "references"),
    ("visual", "scope", {"effect_class": "metallic"}, "effect_without_angles", "warning",
     "viewing"),
    ("visual", "viewing", {"primary": None}, "light_unsaid", "warning", "viewing"),
    ("visual", "viewing", {"secondary": []}, "no_secondary_illuminant", "warning", "viewing"),
    ("visual", "viewing", {"interior_ab_max": "12"}, "interior_not_neutral", "warning", "viewing"),
    ("visual", "viewing", {"interior_ab_max": None}, "interior_unsaid", "warning", "viewing"),
    ("visual", "viewing", {"frame": None}, "frame_unsaid", "advice", "viewing"),
    ("visual", "observers", {"panel_size": 1}, "one_observer", "warning", "observers"),
    ("visual", "observers", {"greatest_score_panel": None}, "no_score", "warning", "observers"),
    ("visual", "observers", {"retest_months": None}, "no_retest", "warning", "observers"),
    ("spectral", "decision", {"rounding": None}, "rounding_unsaid", "warning", "decision"),
    ("spectral", "decision", {"zone_at_rejection": "nobody"}, "zone_is_nobodys", "advice",
     "decision"),
    ("spectral", "measurement", {"places": []}, "places_unsaid", "advice", "measurement"),
    ("visual", "decision", {"strata": []}, "no_strata", "advice", "decision"),
    ("visual", "evidence", {"items": []}, "no_evidence_due", "warning", "evidence"),
    ("visual", "disputes", {"silence": None}, "silence_unsaid", "warning", "disputes"),
    ("visual", "changes", {"notices": []}, "no_change_notice", "warning", "changes"),
    ("visual", "changes", {"language": None}, "no_language", "advice", "changes"),
    ("visual", "changes", {"signing_keys": None}, "signing_keys_unsaid", "advice", "changes"),
    ("visual", "changes", {"signing_keys": "service_held_too"}, "service_held_keys", "advice",
     "changes"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "clause", "values", "finding", "severity", "place"), CASES)
def test_one_thing_wrong_gives_one_finding(
    name: Starter, clause: str, values: dict[str, Any], finding: str, severity: str, place: str
) -> None:
    raw = sound(name)
    raw["shared"][clause].update(values)
    assert found(raw) == {(finding, severity, place, "")}


def test_effect_finishes_are_measured_and_seen_at_several_angles() -> None:
    raw = sound("spectral")
    raw["shared"]["scope"]["effect_class"] = "pearlescent"
    assert found(raw) == {
        ("effect_single_geometry", "warning", "measurement", ""),
        ("effect_without_angles", "warning", "viewing", ""),
    }
    raw["shared"]["measurement"]["geometries"] = ["45as15", "45as45"]
    angle = raw["shared"]["viewing"]["angles"][0]
    raw["shared"]["viewing"]["angles"].append({**angle, "id": "ang-000000", "eye_deg": 15})
    assert found(raw) == set()


def test_an_open_grid_is_named_beside_the_places() -> None:
    raw = sound("spectral")
    raw["shared"]["measurement"]["grid_step_nm"] = None
    (finding,) = draft_check(from_document(raw))
    assert (finding.id, finding.params["fields"]) == ("places_unsaid", ("Step",))


def test_no_parts() -> None:
    raw = sound("visual")
    raw["parts"] = []
    assert found(raw) == {("no_parts", "blocker", "scope", "")}


def test_uncertainty_that_leaves_no_acceptance_zone() -> None:
    raw = sound("spectral")
    item = raw["shared"]["tolerances"]["items"][1]
    item["limit"] = raw["shared"]["decision"]["uncertainty_value"] = "0.20"
    assert found(raw) == set()
    item["limit"] = "0.19"
    assert found(raw) == {("no_acceptance_zone", "blocker", "tolerances", item["id"])}


def test_unfinished_tolerance_names_its_open_fields() -> None:
    raw = sound("spectral")
    item = raw["shared"]["tolerances"]["items"][0]
    item["limit"] = item["illuminant"] = item["warning"] = None
    (finding,) = draft_check(from_document(raw))
    assert (finding.id, finding.item) == ("tolerance_unfinished", item["id"])
    assert finding.params["fields"] == ("Illuminant", "Limit")


def test_calendar_days_need_no_working_days() -> None:
    raw = sound("visual")
    raw["shared"]["disputes"].update(day_kind="calendar_days", working_days=[])
    assert found(raw) == set()


def test_no_days_need_no_calendar() -> None:
    raw = sound("visual")
    raw["shared"]["disputes"].update(
        reject_window_days=None, answer_days=None, examination_days=None, zone="", day_kind=None
    )
    assert found(raw) == set()


def test_translucent_parts_need_a_backing_and_a_like_reference() -> None:
    raw = sound("spectral")
    raw["shared"]["scope"]["translucency"] = "translucent"
    assert found(raw) == set()
    raw["shared"]["viewing"]["backing"] = raw["shared"]["measurement"]["backing"] = None
    raw["shared"]["references"]["kind"] = "painted_panel"
    assert found(raw) == {
        ("translucent_without_backing", "warning", "viewing", ""),
        ("translucent_without_backing", "warning", "measurement", ""),
        ("flat_reference_for_translucent", "warning", "references", ""),
    }


def test_fluorescent_colours_and_mating_parts_name_the_tolerance() -> None:
    raw = sound("spectral")
    raw["shared"]["scope"]["effect_class"] = "fluorescent"
    ids = [item["id"] for item in raw["shared"]["tolerances"]["items"]]
    assert found(raw) == {
        ("fluorescent_other_illuminant", "warning", "tolerances", one) for one in ids
    }
    raw = sound("spectral")
    raw["shared"]["tolerances"]["items"][0]["compared_with"] = "mating_part"
    assert found(raw) == {("mating_part_unnamed", "warning", "scope", ids[0])}


def test_signatories_are_named_for_both_sides() -> None:
    raw = sound("visual")
    raw["shared"]["changes"]["signatories"] = raw["shared"]["changes"]["signatories"][:2]
    findings = draft_check(from_document(raw))
    assert [(one.id, one.severity, one.params["sides"]) for one in findings] == [
        ("no_signatory", "warning", ("the supplier",)),
        ("no_deputy", "advice", ("the supplier",)),
    ]


def test_parts_are_checked_as_they_are_bound() -> None:
    raw = sound("visual")
    raw["parts"].append({**raw["parts"][0], "id": "prt-111111"})
    assert found(raw) == set()
    raw["parts"][1]["overrides"] = {"observers": {"panel_size": None}}
    (finding,) = draft_check(from_document(raw))
    assert (finding.id, finding.part) == ("visual_without_panel", "prt-111111")
    raw["shared"]["observers"]["panel_size"] = None
    (finding,) = draft_check(from_document(raw))
    assert (finding.id, finding.part) == ("visual_without_panel", "")


def test_blockers_come_first() -> None:
    ranks = [("blocker", "warning", "advice").index(one.severity) for one in draft_check(Terms())]
    assert ranks == sorted(ranks)
    assert set(ranks) == {0, 1, 2}


@settings(max_examples=25, deadline=None)
@given(documents())
def test_any_draft_can_be_checked(raw: dict[str, Any]) -> None:
    found(raw)


def test_every_finding_with_words_is_used_and_tested() -> None:
    folder = Path(draft.__file__).parent
    source = "".join(path.read_text() for path in sorted(folder.glob("*.py")))
    tests = Path(__file__).read_text()
    for name in FINDINGS:
        assert f'"{name}"' in source
        assert f'"{name}"' in tests
    assert set(re.findall(r'Finding\("(\w+)"', source)) <= set(FINDINGS)
