"""Figures of pages as they were drawn before: what does not change is not drawn twice.

Kept in the process, by the digest of all that is drawn, its words and the language. Who may see a
figure is decided before: only who has the data can ask for what was drawn of them.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable
from threading import Lock

from django.utils.translation import get_language

from jobs.figures import drawing
from jobs.figures.drawing import Data, Drawing, Setting

MOST = 200  # figures; some 40 kB each
_drawn: OrderedDict[tuple[str, ...], Drawing] = OrderedDict()
_lock = Lock()


def for_page(draw: Callable[[Data, Setting], Drawing], data: Data, key: str) -> Drawing:
    """As `drawing.for_page`; the same data under the same key are drawn once a process."""
    # a dataclass shows every field, and numbers in the one form that reads back the same
    digest = hashlib.sha256(repr(data).encode()).hexdigest()
    name = (draw.__module__, digest, key, get_language() or "")
    with _lock:
        found = _drawn.get(name)
        if found is not None:
            _drawn.move_to_end(name)
            return found
    made = drawing.for_page(draw, data, key)
    with _lock:
        _drawn[name] = made
        while len(_drawn) > MOST:
            _drawn.popitem(last=False)
    return made
