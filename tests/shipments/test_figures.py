"""Figures of verdicts and lots: drawn from what was measured and judged, the same on paper."""

from __future__ import annotations

from math import comb

import pytest
from django.urls import reverse

from jobs import queue
from jobs.figures.drawing import for_page
from ledger import blobs
from ledger.canonical import parse
from method.behind import behind as found_behind
from method.submission import parse_submission
from shipments import behind, transitions
from shipments.behind import behind_of
from shipments.figures import drawn
from shipments.lots_figure import over_time
from shipments.paper import context_of
from shipments.wording import _instrument, _visual, shown
from tests.method.cases import Case, clauses, tolerance
from tests.world import curve

LIGHTS = ["A", "D65", "F11"]


@pytest.fixture
def verdict(world):
    """Of a lot whose pieces lie a little off the master."""
    return world.last_submission(world.judged_lot(shift=0.01)).verdict


def values(verdict) -> dict[str, list[str]]:
    items = parse(bytes(verdict.bytes))["instrument"]["items"]
    return {item["illuminant"]: [one["value"] for one in item["values"]] for item in items}


def test_spectra_are_those_measured(world, verdict):
    view = drawn(shown(verdict), behind_of(verdict, page=True))
    [figure] = view["instrument"]["spectra"]
    columns = list(zip(*figure.table.rows, strict=True))
    assert columns[0] == tuple(str(nm) for nm in range(400, 701, 10))
    # the target is the mean of the approved first article's three pieces
    asked = [curve(0.0001), *(curve(0.01 + 0.0001 * n) for n in range(3))]
    for column, row in zip(columns[1:], asked, strict=True):
        # printed to two decimals of a percent
        assert [float(text) for text in column] == pytest.approx([100 * v for v in row], abs=0.0051)
    assert "di:8" in figure.description


def test_each_light_has_its_plane_and_all_stand_in_one_figure(verdict):
    view = drawn(shown(verdict), behind_of(verdict, page=True))
    known = values(verdict)
    assert sorted(item["illuminant"] for item in view["instrument"]["items"]) == LIGHTS
    for item in view["instrument"]["items"]:
        [plane] = item["planes"]
        light = item["illuminant"]
        findings = [row[4].partition(",")[0] for row in plane.table.rows[1:]]
        assert findings == [f"ΔE00 {value}" for value in known[light]]
        for said in ("CIEDE2000", light, "10°", "di:8"):
            assert said in plane.description
    [together] = view["instrument"]["differences"]
    assert [row[0] for row in together.table.rows] == [light for light in LIGHTS for _ in range(3)]
    assert [row[2] for row in together.table.rows] == [v for light in LIGHTS for v in known[light]]


def test_the_sample_passes_as_often_as_counting_says(verdict):
    """3 of 100 pieces, none of which may be nonconforming."""
    figure = drawn(shown(verdict), behind_of(verdict, page=True))["sampling"]
    for percent, chance, _words in figure.table.rows:
        bad = round(float(percent))
        assert float(chance) == pytest.approx(comb(100 - bad, 3) / comb(100, 3), abs=0.00051)
    named = [row[2] for row in figure.table.rows if row[2]]
    assert named == [f"{bad} of 100 nonconforming" for bad in (2, 21, 54)]


def test_page_and_paper_have_the_same_figures(world, sign_in, verdict):
    submission = verdict.submission
    page = sign_in(world.cast.customer_lead).get(submission.get_absolute_url()).context["view"]
    paper = context_of(verdict, "", "en")["view"]

    def told(view):
        instrument = view["instrument"]
        drawings = [*instrument["spectra"], *instrument["differences"], view["sampling"]]
        for item in instrument["items"]:
            drawings += [item["figure"], *item["planes"]]
        return [(one.title, one.description, one.table) for one in drawings]

    assert told(page) == told(paper) and len(told(page)) == 9


def test_without_its_files_a_verdict_is_shown_and_its_paper_is_not_made(world, sign_in, verdict):
    submission = verdict.submission
    document = parse_submission(bytes(submission.bytes))
    blobs.path_of(submission.dossier.chain, document.measured[0].packed).unlink()
    answer = sign_in(world.cast.customer_lead).get(submission.get_absolute_url())
    assert answer.status_code == 200
    assert answer.context["view"]["instrument"]["spectra"] == []
    assert answer.context["view"]["instrument"]["items"][0]["figure"] is not None
    with pytest.raises(blobs.BlobMissing):
        context_of(verdict, "", "en")


def test_very_many_readings_are_not_read_for_a_page(verdict, monkeypatch):
    monkeypatch.setattr(behind, "MOST_READINGS", 3)
    assert behind_of(verdict, page=True) is not None
    monkeypatch.setattr(behind, "MOST_READINGS", 2)
    assert behind_of(verdict, page=True) is None


def test_of_very_many_tolerances_the_first_have_their_colours_drawn_and_it_is_said():
    items = [tolerance(n, illuminant=LIGHTS[n % 3], limit=f"1.{n}0") for n in range(8)]
    case = Case(terms={**clauses(), "tolerances": {"items": items}})
    verdict = case.judged()
    view = {"visual": _visual(verdict["visual"]), "instrument": _instrument(verdict["instrument"])}
    instrument = drawn(view, found_behind(*case.inputs))["instrument"]
    assert [len(item["planes"]) for item in instrument["items"]] == [1] * 6 + [0] * 2
    assert all(item["figure"] for item in instrument["items"])
    assert "first 6 of 8 tolerances" in instrument["left_out"]


def test_factors_other_than_one_are_among_the_conditions():
    items = [tolerance(1, k_l="2", k_c="1.5")]
    case = Case(terms={**clauses(), "tolerances": {"items": items}})
    verdict = case.judged()
    view = {"visual": _visual(verdict["visual"]), "instrument": _instrument(verdict["instrument"])}
    [item] = drawn(view, found_behind(*case.inputs))["instrument"]["items"]
    assert "CIEDE2000 (2:1.5:1)" in item["planes"][0].description


def test_lots_stand_over_time_with_their_highest_value(world, sign_in):
    highest = {}
    for number, shift in (("L-1", 0.0), ("L-2", 0.02), ("L-3", 0.08)):
        lot = world.judged_lot(number, shift)
        verdict = world.last_submission(lot).verdict
        highest[number] = {
            light: max(found, key=float) for light, found in values(verdict).items()
        } | {"outcome": verdict.get_outcome_display()}
    place = reverse("shipments:lots", kwargs={"dossier": world.cast.agreement.pk})
    drawings = sign_in(world.cast.customer_lead).get(place).context["drawings"]
    assert [
        light for one in drawings for light in LIGHTS if f"{light}, 10°" in one.description
    ] == (LIGHTS)
    for light, drawing in zip(LIGHTS, drawings, strict=True):
        rows = {row[0]: row for row in drawing.table.rows}
        assert {number: row[2] for number, row in rows.items()} == {
            number: found[light] for number, found in highest.items()
        }
        assert {row[4] for row in rows.values()} == {"1.00"}
        assert {n: row[5] for n, row in rows.items()} == {
            n: found["outcome"] for n, found in highest.items()
        }
    assert {found["outcome"] for found in highest.values()} == {"conforming", "nonconforming"}


def test_one_lot_is_no_course_of_time_and_of_several_verdicts_on_it_the_last_counts(world):
    sitter = world.customer.sitter
    lot = world.judged_lot("L-1", 0.08)
    first = world.last_submission(lot).verdict
    world.measure(world.staff, lot.subject, [("4", curve(0.12))])
    transitions.submit_lot(lot, by=world.staff)
    queue.drain()
    last = world.last_submission(lot).verdict
    assert first != last and over_time(sitter, for_page) == []
    world.judged_lot("L-2")
    for drawing, light in zip(over_time(sitter, for_page), LIGHTS, strict=True):
        rows = {row[0]: row[2] for row in drawing.table.rows}
        assert set(rows) == {"L-1", "L-2"}
        assert rows["L-1"] == max(values(last)[light], key=float) != values(first)[light][0]


def test_an_agreement_by_eye_has_the_panel_and_the_sample_alone(seen):
    verdict = seen.last_submission(seen.judged_lot()).verdict
    view = drawn(shown(verdict), behind_of(verdict, page=True))
    assert view["instrument"]["spectra"] == [] == view["instrument"]["differences"]
    assert view["visual"]["figure"] is not None and view["sampling"] is not None


def test_nobody_draws_lots_of_another_agreement(world):
    world.judged_lot("L-1")
    world.judged_lot("L-2", 0.02)
    assert len(over_time(world.customer.sitter, for_page)) == 3
    for sitter in world.cast.stranger.sitters.all():
        assert over_time(sitter, for_page) == []
