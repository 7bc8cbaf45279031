"""Moment analysis of arrangements against the published norms of Vingrys & King-Smith (1988)."""

from __future__ import annotations

import pathlib

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from colorimetry import DomainError
from colorimetry.observers import make_hue_caps
from colorimetry.observers.arrangement import TRAYS, ArrangementError, from_trays
from colorimetry.observers.moments import (
    PERFECT_MAJOR,
    cap_coordinates,
    moment_analysis,
    moments,
)

PERFECT = np.concatenate(TRAYS)
# u*, v* of pilot and caps 1 to 15 of the 15-cap test: Vingrys & King-Smith, Invest. Ophthalmol.
# Vis. Sci. 29:50-63 (1988), as transcribed in the CRAN package CVD; norm 9.234669 from there.
FIFTEEN = np.array(
    [
        (-21.54, -38.39),
        (-23.26, -25.56),
        (-22.41, -15.53),
        (-23.11, -7.45),
        (-22.45, 1.10),
        (-21.67, 7.35),
        (-14.08, 18.74),
        (-2.72, 28.13),
        (14.84, 31.13),
        (23.87, 26.35),
        (31.82, 14.76),
        (31.42, 6.99),
        (29.79, 0.10),
        (26.64, -9.38),
        (22.92, -18.65),
        (11.20, -24.61),
    ]
)
FIFTEEN_MAJOR = 9.234669


def fifteen(order: list[int]) -> tuple[float, float, float, float, float, float]:
    """Angle, S, C, major, minor, total of a 15-cap order."""
    found = moments(np.diff(FIFTEEN[[0, *order]], axis=0)[np.newaxis], perfect_major=FIFTEEN_MAJOR)
    angle, major, minor, total, selectivity, confusion = (float(part[0]) for part in found)
    return angle, selectivity, confusion, major, minor, total


def test_the_formulas_give_the_printed_row_of_the_15_cap_test() -> None:
    # Vingrys & King-Smith (1988), table 2, normal row: 62.0, 1.38, 1.00, 9.2, 6.7, 11.4
    angle, selectivity, confusion, major, minor, total = fifteen(list(range(1, 16)))
    assert angle == pytest.approx(61.97, abs=0.01)
    assert selectivity == pytest.approx(1.376, abs=0.0005)
    assert confusion == pytest.approx(1.0, abs=1e-6)
    assert (major, minor, total) == pytest.approx((9.235, 6.711, 11.416), abs=0.0005)


def test_a_folded_15_cap_order_has_its_known_axis() -> None:
    order = [15, 1, 14, 2, 13, 3, 12, 4, 11, 5, 10, 6, 9, 7, 8]
    angle, selectivity, confusion, *_ = fifteen(order)
    assert angle == pytest.approx(3.90, abs=0.005)
    assert (selectivity, confusion) == pytest.approx((8.840, 4.854), abs=0.0005)


def test_the_perfect_order_of_85_caps_gives_the_published_norm() -> None:
    # published norm 2.525249: validates the table of coordinates
    found = moment_analysis(PERFECT)
    assert found.major[0] == pytest.approx(PERFECT_MAJOR, abs=2e-6)
    assert found.angle[0] == pytest.approx(54.150, abs=0.001)
    assert found.minor[0] == pytest.approx(1.966265, abs=1e-6)
    assert found.total[0] == pytest.approx(3.200481, abs=1e-6)
    assert found.selectivity[0] == pytest.approx(1.284287, abs=1e-6)
    assert found.confusion[0] == pytest.approx(1.0, abs=1e-6)


def test_the_published_example_of_85_caps() -> None:
    # arrangement: Hidayat (2008); figures: colour.md section 6
    example = from_trays(
        [
            [85, 1, 2, 3, 4, 6, 5, 7, 9, 8, 10, 11, 12, 13, 15, 14, 17, 16, 19, 18, 21, 20],
            [*range(22, 29), 30, 29, *range(31, 39), 40, 39, 42, 41],
            [43, 44, 45, 47, 46, 48, 49, 51, 50, 53, 56, 55, 52, 54, 57, 59, 58, 62, 61, 63, 60],
            [66, 64, 67, 69, 71, 68, 70, 65, 72, 73, 74, 75, 77, 76, 78, 79, 80, 82, 81, 84, 83],
        ]
    )
    found = moment_analysis(example)
    assert found.angle[0] == pytest.approx(27.631, abs=0.001)
    assert found.major[0] == pytest.approx(4.563577, abs=1e-6)
    assert found.minor[0] == pytest.approx(3.435121, abs=1e-6)
    assert found.selectivity[0] == pytest.approx(1.328506, abs=1e-6)
    assert found.confusion[0] == pytest.approx(1.807179, abs=1e-6)


def test_one_exchange_raises_the_confusion_index_a_little() -> None:
    caps = PERFECT.copy()
    caps[[10, 11]] = caps[[11, 10]]
    assert moment_analysis(caps).confusion[0] == pytest.approx(1.019444, abs=1e-6)


def test_a_table_shifted_by_one_row_would_be_noticed() -> None:
    # another copy in the same package is shifted so and gives C = 1.0154 for the perfect order
    shifted = np.roll(cap_coordinates(), 1, axis=0)[PERFECT - 1]
    shifted[0] = shifted[1]
    steps = shifted - np.roll(shifted, 1, axis=0)
    assert moments(steps[np.newaxis], perfect_major=PERFECT_MAJOR).major[0] != pytest.approx(
        PERFECT_MAJOR, abs=2e-6
    )


@settings(deadline=None)
@given(st.tuples(*(st.permutations(tray) for tray in TRAYS)).map(np.concatenate))
def test_moments_are_the_eigenvalues_of_the_sum_of_squares(caps: npt.NDArray[np.int64]) -> None:
    found = moment_analysis(caps)
    path = cap_coordinates()[caps - 1]
    steps = path - np.roll(path, 1, axis=0)
    values, vectors = np.linalg.eigh(steps.T @ steps / 85)
    assert (found.minor[0] ** 2, found.major[0] ** 2) == pytest.approx(tuple(values), rel=1e-9)
    # the stated axis is the direction about which the moment is least: that of the longest steps
    axis = np.array([np.cos(np.radians(found.angle[0])), np.sin(np.radians(found.angle[0]))])
    assert abs(axis @ vectors[:, 1]) == pytest.approx(1.0, abs=1e-6)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=9),
    st.floats(-80, 80),
)
def test_turning_the_diagram_turns_the_angle_alone(
    steps: list[tuple[float, float]], turn: float
) -> None:
    first = np.array(steps)
    values = np.linalg.eigvalsh(first.T @ first)
    if values[1] < 1e-3 or values[1] - values[0] < 1e-3 * values[1]:
        return
    angle = np.radians(turn)
    rotation = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    before, after = (moments(v[np.newaxis], perfect_major=1.0) for v in (first, first @ rotation))
    assert after.major[0] == pytest.approx(before.major[0], rel=1e-9)
    turned = (after.angle[0] - before.angle[0] - turn + 90) % 180 - 90
    assert turned == pytest.approx(0.0, abs=1e-3)


def test_steps_on_one_line_have_no_minor_radius() -> None:
    lines = [[[3.0, 0.0], [-3.0, 0.0]], [[0.0, 3.0], [0.0, -3.0]], [[1.0, 0.3], [2.0, 0.6]]]
    found = moments(lines, perfect_major=1.0)
    assert found.minor.tolist() == [0.0, 0.0, 0.0]
    assert found.selectivity.tolist() == [np.inf] * 3
    assert found.major[:2].tolist() == pytest.approx([3.0, 3.0])
    assert np.array_equal(found.total, found.major)
    assert found.angle[0] == pytest.approx(0.0)
    assert abs(found.angle[1]) == pytest.approx(90.0)
    assert found.angle[2] == pytest.approx(np.degrees(np.arctan(0.3)))


def test_nearly_equal_moments_still_have_a_finite_selectivity() -> None:
    found = moments([[[2.0, 0.0], [0.0, 0.5]]], perfect_major=4.0)
    assert found.selectivity[0] == pytest.approx(4.0)
    assert found.confusion[0] == pytest.approx(np.sqrt(2.0) / 4.0)


def test_the_table_of_coordinates_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        cap_coordinates()[0, 0] = 0.0
    assert cap_coordinates().shape == (85, 2)


def test_the_place_of_a_faulty_step_is_named() -> None:
    steps = np.ones((3, 4, 2))
    steps[1, 2, 1] = np.nan
    steps[2, 0, 0] = np.nan
    with pytest.raises(DomainError) as caught:
        moments(steps, perfect_major=1.0)
    assert (caught.value.row, caught.value.band) == (1, 2)
    still = np.ones((4, 4, 2))
    still[[1, 3]] = 0.0
    with pytest.raises(DomainError, match="all steps are zero") as caught:
        moments(still, perfect_major=1.0)
    assert caught.value.row == 1


def test_angles_stay_within_a_half_turn() -> None:
    turns = np.radians(np.arange(0, 360, 7.5))
    long = np.stack([np.cos(turns), np.sin(turns)], axis=-1)
    found = moments(np.stack([long, 0.2 * long[:, ::-1] * [-1, 1]], axis=1), perfect_major=1.0)
    assert (np.abs(found.angle) <= 90.0).all()
    apart = (found.angle - np.degrees(turns) + 90) % 180 - 90
    assert apart == pytest.approx(np.zeros(turns.size), abs=1e-9)


def test_equal_sums_of_squares_take_the_diagonal() -> None:
    found = moments([[[2.0, 2.0], [1.0, -1.0]]], perfect_major=1.0)
    assert found.angle[0] == pytest.approx(45.0)
    assert (found.major[0], found.minor[0]) == pytest.approx((2.0, 1.0))


@pytest.mark.parametrize(
    ("steps", "problem"),
    [
        ([[1.0, 2.0]], "shape"),
        ([[[1.0, 2.0, 3.0]]], "shape"),
        (np.empty((1, 0, 2)), "shape"),
        ([[[1.0, np.nan]]], "nan"),
        ([[[1.0, np.inf]]], "inf"),
        ([[[0.0, 0.0]]], "range"),
    ],
)
def test_steps_without_moments_are_refused(steps: npt.ArrayLike, problem: str) -> None:
    with pytest.raises(DomainError) as caught:
        moments(steps, perfect_major=1.0)
    assert caught.value.problem == problem


def test_a_norm_that_is_no_radius_is_refused() -> None:
    for norm in (0.0, -1.0, np.nan, np.inf):
        with pytest.raises(DomainError, match="positive"):
            moments([[[1.0, 2.0]]], perfect_major=norm)


def test_what_is_no_permutation_has_no_moments() -> None:
    with pytest.raises(ArrangementError):
        moment_analysis(np.roll(PERFECT, 1))


def test_the_committed_table_is_what_the_script_writes() -> None:
    text = pathlib.Path(make_hue_caps.TARGET).read_text(encoding="ascii")
    assert make_hue_caps.document(cap_coordinates()) == text


def test_the_script_reads_the_matrix_and_refuses_a_shifted_one() -> None:
    def source(rows: npt.NDArray[np.float64]) -> str:
        numbers = ",".join(str(value) for value in rows.ravel())
        return f"Color.Vision.VingrysAndKingSmith <-function(){{M=matrix(c({numbers}),86,2,byrow=T)"

    table = cap_coordinates()
    assert np.array_equal(make_hue_caps.transcribed(source(table[[84, *range(85)]])), table)
    shifted = np.vstack([table[[0]], table[:-1], table[[0]]])
    with pytest.raises(ValueError, match="perfect order gives"):
        make_hue_caps.transcribed(source(shifted))
    with pytest.raises(ValueError, match="cap 85"):
        make_hue_caps.transcribed(source(table[[0, *range(85)]]))
    with pytest.raises(ValueError, match="86 rows"):
        make_hue_caps.transcribed("nothing of the kind")
