"""What a file leaves open: the questions, the answers offered and what is read meanwhile."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from method.readers.layout import Layout
from method.readers.table import Column
from method.readers.values import Scale
from method.readers.words import CHOICES, QUESTIONS

# Words that speak of the scale of the values themselves; a percentage or a factor of something
# else (humidity, opacity, dilution) says nothing of it.
_VALUES = r"(?:spectral|spectr(?:um|a)|reflect\w*|remission|scale|units?|values?|data)"
_LINK = r"(?:[^\w%]|\b(?:in|as|is|are|data|values?|units?)\b){0,6}"
_PERCENT = re.compile(
    rf"\b{_VALUES}{_LINK}(?:%|per[ ]?cent\b|pct\b)"
    rf"|(?:%|\bper[ ]?cent\b|\bpct\b)[^\w%]{{0,3}}(?:reflect\w*|remission|R(?![^\W\d_]))"
    r"|(?<![^\W_])R[ \t]*[(\[]?[ \t]*%|SPECTRAL_?(?:PCT|PERCENT)",
    re.IGNORECASE,
)
_FACTOR = re.compile(
    rf"\b(?:spectral|reflect\w*|radiance)\W{{1,3}}factors?\b|\b{_VALUES}{_LINK}factors?\b"
    r"|SPECTRAL_?DEC",
    re.IGNORECASE,
)
# words of lamp and display meters
_EMISSION = re.compile(
    r"\b(lux|cct|tcp|duv|cri|irradiance|illuminance|luminance|radiance|m?w/m2)\b", re.IGNORECASE
)
# Units and quantities of which one is enough to ask; "radiance factor" is one of surfaces.
_PER = r"[ \t]*[/*·⋅.( ][ \t/(]*"
_UNIT = rf"(?<![^\W_])[munk]?W(?:att)?s?(?:{_PER}(?:[cm]?m\^?-?2|sr)\b|[ \t]*[/·⋅*][ \t(]*nm\b)"
_OTHER_QUANTITY = re.compile(
    rf"{_UNIT}|cd/m\^?2|umol\w*|(?<![^\W_])(?:irradiance|radiance(?!\W{{1,3}}factor)|SPD"
    r"|spectral[ _-]power|transmi(?:ttances?|ssions?|ssivity)|absorbances?|absorptances?"
    r"|optical densit(?:y|ies))(?![^\W\d_])|%[ \t]*T(?![^\W\d_])"
    r"|(?<![^\W_])T[ \t]*[(\[]?[ \t]*%|(?<![^\W_])K/S(?![^\W_])|\b(?:lamp|LED)[ _-]spectr",
    re.IGNORECASE,
)
_EMITTING = re.compile(r"\b(emissi(?:on|ve)|display|monitor)\b", re.IGNORECASE)
_OTHER_PREFIXES = {"T", "%T", "T%", "TRANS", "A", "ABS", "E", "L", "SPD"}
_PLAIN_SIGNS = str.maketrans({"²": "2", "−": "-", "⁻": "-", "µ": "u", "μ": "u"})


@dataclass(frozen=True)
class Choice:
    """One answer offered. word: id in words.CHOICES, or None where text is the file's own."""

    value: str
    word: str | None
    text: str = ""

    @property
    def message(self) -> str:
        """English template of the choice, or the file's own text."""
        return CHOICES[self.word] if self.word else self.text or self.value


@dataclass(frozen=True)
class Question:
    """Something the file leaves open. id: key of words.QUESTIONS; suggested: a choice or None."""

    id: str
    choices: tuple[Choice, ...]
    suggested: str | None
    params: Mapping[str, str]

    @property
    def message(self) -> str:
        """English template of the question."""
        return QUESTIONS[self.id]


def structure(found: list[Layout], chosen: Mapping[str, str]) -> tuple[Layout, list[Question]]:
    """Return the layout to read under and the questions that remain about it."""
    questions = []
    kinds = list(dict.fromkeys(layout.kind for layout in found))
    if len(kinds) > 1:
        kind = chosen.get("layout", kinds[0])
        choices = tuple(Choice(one, one) for one in kinds)
        questions.append(Question("layout", choices, kinds[0], {}))
        found = [layout for layout in found if layout.kind == kind]
    if len(found) > 1:
        prefix = chosen.get("columns", found[0].prefix or "bare")
        choices = tuple(
            Choice(one.prefix or "bare", None if one.prefix else "bare", one.bands[0].text)
            for one in found
        )
        questions.append(Question("columns", choices, None, {}))
        picked = [layout for layout in found if (layout.prefix or "bare") == prefix]
        found = picked or found  # an answer that fits nothing is refused by who checks answers
    return found[0], questions


def label_column(
    others: list[Column], label: Column | None, chosen: Mapping[str, str]
) -> tuple[Column | None, list[Question]]:
    """Return the label column to read under, and the question where several are possible."""
    if label is not None or not others:
        return label, []
    choices = (
        *(Choice(str(column.number), None, column.text) for column in others),
        Choice("none", "row-number"),
    )
    question = Question("label_column", choices, choices[0].value, {})
    answer = chosen.get("label_column", choices[0].value)
    picked = [column for column in others if str(column.number) == answer]
    return (picked[0] if picked else None), [question]


def declared(said: str) -> str | None:
    """Return the scale that the lines before the readings declare, if they declare exactly one."""
    percent, factor = bool(_PERCENT.search(said)), bool(_FACTOR.search(said))
    if percent == factor:
        return None
    return "percent" if percent else "factor"


def scale_question(scale: Scale) -> list[Question]:
    """Return the question of the scale where values and words do not settle it."""
    if scale.scale is not None:
        return []
    choices = (Choice("percent", "percent"), Choice("factor", "factor"))
    params = {"smallest": f"{scale.smallest:g}", "largest": f"{scale.largest:g}"}
    return [Question("scale", choices, None, params)]


def surface_question(said: str) -> list[Question]:
    """Return the question whether this is a surface at all, where the file speaks of lamps."""
    if len({word.lower() for word in _EMISSION.findall(said)}) < 2:
        return []
    choices = (Choice("surface", "surface"), Choice("emission", "emission"))
    return [Question("surface", choices, None, {})]


def emission_question(said: str) -> list[Question]:
    """Return the question whether this is a surface at all, where words name emission.

    One plain word asks, such as "emission", a unit or another quantity; of words that reports on
    surfaces may hold as well, two do.
    """
    if _EMITTING.search(said) or other_quantity(said):
        choices = (Choice("surface", "surface"), Choice("emission", "emission"))
        return [Question("surface", choices, None, {})]
    return surface_question(said)


def other_quantity(said: str, prefix: str = "") -> bool:
    """Tell whether words name a unit of light or a quantity that is no reflectance.

    prefix: what stands before the wavelengths in the names of bands, in capitals.
    """
    found = _OTHER_QUANTITY.search(said.translate(_PLAIN_SIGNS))
    return found is not None or prefix in _OTHER_PREFIXES


def bands_question(step: float, nm: Sequence[float], bands: Sequence[int]) -> Question:
    """Return the question whether the bands at whole steps are to be taken."""
    params = {
        "step": f"{step:.4g}",
        "count": str(len(bands)),
        "all": str(len(nm)),
        "grid": f"{min(round(nm[i]) for i in bands)}–{max(round(nm[i]) for i in bands)} nm",
    }
    return Question("bands", (Choice("whole", "whole"), Choice("none", "none")), None, params)
