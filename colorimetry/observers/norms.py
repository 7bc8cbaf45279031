"""Classes, scale and norms of total error scores. A class is a word about a score, not a person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real
from typing import Literal

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number, real_array, within
from colorimetry.errors import DomainError

ScoreClass = Literal["superior", "between", "average", "low"]
# The manual's classes as quoted by a public page (0-16, 20-100, above 100): a secondary source.
SUPERIOR_TO, AVERAGE_FROM, AVERAGE_TO = 16, 20, 100
GREATEST_AGE = 130


def _totals(value: npt.ArrayLike) -> Floats:
    """Return total error scores as a checked (n,) array."""
    table = real_array(value, "total error scores")
    if table.ndim > 1:
        raise DomainError("total error scores", "shape", detail="one score per test expected")
    checked = finite_table(table.reshape(-1, 1), "total error scores")
    totals: Floats = within(checked, "total error scores", 0.0, np.inf)[:, 0]
    return totals


def score_classes(totals: npt.ArrayLike) -> list[ScoreClass]:
    """Return the class of each total error score (n,), means of two tests included.

    "superior" 0 to 16, "average" 20 to 100, "low" above 100. The manual leaves a gap from 17 to 19;
    a score above 16 and below 20 is not classed there and is named "between" (superior and
    average). "low" speaks of the score: a hue arrangement is a screening, and no score says
    anything about the cause. About 16, 68 and 16 % of people on a first test, by the same source.
    Raises DomainError for NaN, infinity, negative scores and shapes.
    Source: the test's manual as quoted by a public page (secondary).
    """
    classes: list[ScoreClass] = []
    for total in _totals(totals):
        if total <= SUPERIOR_TO:
            classes.append("superior")
        elif total < AVERAGE_FROM:
            classes.append("between")
        else:
            classes.append("average" if total <= AVERAGE_TO else "low")
    return classes


def root_scores(totals: npt.ArrayLike) -> Floats:
    """Return square roots (n,) of total error scores, which are nearer to normal than the scores.

    Raises DomainError for NaN, infinity, negative scores and shapes. Common practice, no published
    source.
    """
    roots: Floats = np.sqrt(_totals(totals))
    return roots


def mean_of_two(first: npt.ArrayLike, second: npt.ArrayLike) -> Floats:
    """Return the mean (n,) of the total error scores of two tests of the same n people.

    Both tests in one convention. Raises DomainError for NaN, infinity, negative scores, and unlike
    lengths. Common practice, no published source.
    """
    one, other = _totals(first), _totals(second)
    if one.shape != other.shape:
        detail = f"{one.size} first tests and {other.size} second tests"
        raise DomainError("total error scores", "shape", detail=detail)
    return (one + other) / 2.0


@dataclass(frozen=True)
class AgeNorm:
    """A norm entered by the user for one range of ages, on the square-root scale.

    No norm comes with this package: the published tables by decade were not found. ``source`` says
    where the figures were copied from and must not be empty.
    """

    youngest: int
    oldest: int
    mean_root: float
    percentile_95_root: float
    source: str

    def __post_init__(self) -> None:
        """Refuse figures that cannot be a norm."""
        for value in (self.youngest, self.oldest, self.mean_root, self.percentile_95_root):
            if isinstance(value, bool) or not isinstance(value, Real):
                raise DomainError("age norm", "type", detail="numbers expected")
        if not 0 <= self.youngest <= self.oldest <= GREATEST_AGE:
            raise DomainError("age norm", "range", detail=f"ages 0 to {GREATEST_AGE}, in order")
        if not np.isfinite([self.mean_root, self.percentile_95_root]).all():
            raise DomainError("age norm", "nan", detail="finite figures expected")
        if not 0.0 <= self.mean_root <= self.percentile_95_root:
            raise DomainError("age norm", "range", detail="0 <= mean <= 95th percentile expected")
        if not isinstance(self.source, str) or not self.source.strip():
            raise DomainError("age norm", "type", detail="say where the figures come from")


@dataclass(frozen=True)
class AgeComparison:
    """One total error score beside a norm: root score, distance from the mean, which norm."""

    root_score: float
    above_mean: float
    above_percentile_95: bool
    norm: AgeNorm


def compared_with_age(total: float, age: int, norms: Sequence[AgeNorm]) -> AgeComparison:
    """Return a total error score beside the one entered norm for this age.

    Raises DomainError if no norm or more than one covers the age, and for scores as
    ``root_scores`` does.
    """
    number(age, "age")
    covering = [norm for norm in norms if norm.youngest <= age <= norm.oldest]
    if len(covering) != 1:
        raise DomainError("age", "range", detail=f"{len(covering)} norms cover the age {age}")
    norm, root = covering[0], float(root_scores([total])[0])
    return AgeComparison(root, root - norm.mean_root, root > norm.percentile_95_root, norm)
