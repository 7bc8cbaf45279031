"""File readers: bytes in, a packed set out; what is unclear is asked, faults name their place."""

from method.readers.csv import Oddity, Reading, read, replay, resolve
from method.readers.errors import ReadError
from method.readers.questions import Choice, Question

__all__ = ["Choice", "Oddity", "Question", "ReadError", "Reading", "read", "replay", "resolve"]
