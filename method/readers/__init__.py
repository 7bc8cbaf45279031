"""File readers: bytes in, a packed set out; what is unclear is asked, faults name their place."""

from method.readers.errors import ReadError
from method.readers.front import read, replay, resolve
from method.readers.questions import Choice, Question
from method.readers.reading import Hints, Oddity, Reading, TableShown

__all__ = [
    "Choice",
    "Hints",
    "Oddity",
    "Question",
    "ReadError",
    "Reading",
    "TableShown",
    "read",
    "replay",
    "resolve",
]
