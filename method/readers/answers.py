"""Answers to a reading's questions: each checked, structural ones read again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Protocol, TypeVar

from method.packed import CONDITION_KEYS
from method.readers.errors import ReadError
from method.readers.questions import Question

MAX_ANSWER = 200


class Asked(Protocol):
    """A reading that may have asked."""

    @property
    def name(self) -> str:
        """Name of the file."""
        ...

    @property
    def questions(self) -> tuple[Question, ...]:
        """What is open."""
        ...


Reading = TypeVar("Reading", bound=Asked)


def answered(
    reading: Reading,
    answers: Mapping[str, str],
    structural: Collection[str],
    again: Callable[[Mapping[str, str]], Reading],
) -> Reading:
    """Return the reading under the structural answers, after checking every answer.

    structural: ids of the questions whose answers change what is read; again: reads under answers.
    Raises ReadError for answers that are missing, unknown or invalid.
    """
    asked = {question.id: question for question in reading.questions}
    anew = any(id in asked for id in structural if id in answers)
    for id, value in answers.items():
        if id not in asked and id not in CONDITION_KEYS:
            # a chosen layout may open or close further questions: looked at again below
            if not anew:
                raise _unknown(reading.name, id)
            continue
        _valid(reading.name, asked.get(id), id, value)
    if anew:
        closed = asked  # a question that another answer closed may have been answered all the same
        reading = again(dict(answers))
        asked = {question.id: question for question in reading.questions}
        for id, value in answers.items():
            if id not in asked and id not in closed and id not in CONDITION_KEYS:
                raise _unknown(reading.name, id)
            _valid(reading.name, asked.get(id) or closed.get(id), id, value)
    for id in asked:
        if id not in answers:
            raise ReadError("answer-missing", reading.name, field=id, params={"question": id})
    return reading


def _unknown(name: str, id: str) -> ReadError:
    return ReadError("answer-unknown", name, field=str(id)[:40], params={"question": str(id)[:40]})


def _valid(name: str, question: Question | None, id: str, value: str) -> None:
    """Raise ReadError unless the value is one of the choices (or a short condition text)."""
    if question is not None:
        good = isinstance(value, str) and value in {choice.value for choice in question.choices}
    else:
        good = isinstance(value, str) and 0 < len(value.strip()) <= MAX_ANSWER
    if not good:
        params = {"answer": str(value)[:40], "question": id}
        raise ReadError("answer-invalid", name, field=id, params=params)


def condition(answers: Mapping[str, str]) -> dict[str, str]:
    """Return what the answers say of the condition, as a packed set has it."""
    return {key: answers[key].strip() for key in CONDITION_KEYS if key in answers}
