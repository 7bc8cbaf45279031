"""Two rules for `test_mutation.py`: one is checked at its border, one is not."""

from __future__ import annotations


def watched(count: int, most: int = 2) -> bool:
    """Whether the count is allowed; `check_tiny.py` asks at the border."""
    return count <= most


def unwatched(share: float) -> bool:
    """Whether the share is large; `check_tiny.py` asks far from the border only."""
    return share > 0.5


def endless(rounds: int) -> int:
    """Counts down; with another step or border it would never end."""
    while rounds != 0:
        rounds -= 1
    return rounds
