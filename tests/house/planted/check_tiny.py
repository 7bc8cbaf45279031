"""Tests of `tiny.py` that leave a gap; not collected with the others, on account of the name."""

from tests.house.planted.tiny import endless, unwatched, watched


def test_the_border_is_checked():
    assert (watched(2), watched(3)) == (True, False)
    assert (watched(3, most=3), watched(4, most=3)) == (True, False)


def test_the_border_is_not_checked():
    assert (unwatched(0.9), unwatched(0.1)) == (True, False)


def test_it_ends():
    assert endless(3) == 0
