"""Viewing conditions of standards: the numbers, their marks, and what may decide."""

import pytest

from colorimetry import DomainError
from colorimetry.light.viewing_conditions import LIMITS, REPLACED, WORDS, limits


def only(standard, quantity, use=None):
    """The one limit of this standard, quantity and use."""
    (found,) = (x for x in limits(standard, quantity) if use in (None, x.use))
    return found


@pytest.mark.parametrize(
    ("quantity", "use", "low", "high"),
    [
        # ISO 3668:2017, 5.2, excerpt
        ("illuminance", "booth", 1000, 4000),
        ("category, visible", "booth", None, "B"),
        ("category, ultraviolet", "booth", None, "C"),
        ("interior L*", "booth", 45, 55),
        ("interior L*", "booth, light and near-white colours", 65, None),
        ("interior |a*| or |b*|", "booth", None, 10),
    ],
)
def test_limits_of_iso_3668(quantity, use, low, high):
    limit = only("ISO 3668", quantity, use)
    assert (limit.low, limit.high, limit.mark) == (low, high, "seen")
    assert limit.may_decide and limit.edition == "2017, 5.2"


@pytest.mark.parametrize(
    ("standard", "quantity", "low", "high"),
    [
        # summaries by others of ASTM D1729, ISO 3664:2009 (P1) and a textile page on ISO 105-A01
        ("ASTM D1729", "category, visible", None, "B"),
        ("ASTM D1729", "category, ultraviolet", None, "C"),
        ("ISO 3664", "index, visible", None, 1.0),
        ("ISO 3664", "index, ultraviolet", None, 1.5),
        ("ISO 105-A01", "illuminance", 600, None),
    ],
)
def test_limits_from_secondary_sources_are_marked_and_decide_nothing(standard, quantity, low, high):
    limit = only(standard, quantity)
    assert (limit.low, limit.high, limit.mark) == (low, high, "secondary")
    assert not limit.may_decide and "check your copy" in WORDS[limit.mark]


def test_what_is_remembered_never_decides():
    remembered = [limit for limit in LIMITS if limit.mark == "memory"]
    assert remembered and not any(limit.may_decide for limit in remembered)
    assert all(limit.edition for limit in LIMITS)
    assert not limits("ISO 3668", "chromaticity distance u'10 v'10")
    assert REPLACED["ISO 3664", "2009"].startswith("ISO 3664:2025")


def test_a_value_at_an_end_is_inside_and_the_better_category_too():
    light, category = only("ISO 3668", "illuminance"), only("ISO 3668", "category, visible")
    assert light.holds(1000.0) and light.holds(4000.0)
    assert not light.holds(999.9) and not light.holds(4000.1)
    assert category.holds("A") and category.holds("B") and not category.holds("C")
    for limit, wrong in ((light, "B"), (category, 0.5), (light, float("nan"))):
        with pytest.raises(DomainError):
            limit.holds(wrong)


@pytest.mark.parametrize("wrong", ["", "AE", "BA", "F", "b", -0.1, float("inf"), None, [1], True])
@pytest.mark.parametrize("quantity", ["category, visible", "interior |a*| or |b*|"])
def test_only_one_letter_or_a_finite_amount_is_compared_with_a_limit(quantity, wrong):
    with pytest.raises(DomainError) as caught:
        only("ISO 3668", quantity).holds(wrong)
    assert caught.value.what == quantity
