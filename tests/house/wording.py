"""The rules of house wording (DEVELOPERS.md) that a program can check."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from parties.acts import Act
from tests.house.source import APPS, Source, called, literal

PLACEHOLDER = re.compile(r"%\(\w+\)[sd]")
MARKS = {"_", "gettext", "gettext_lazy", "gettext_noop"}
MONTHS = "January|February|March|April|June|July|August|September|October|November|December"
# What nobody is to read, and what to do instead.
NOT_SAID = {
    r"(?i)\b(illegal|sorry|oops|whoops|unfortunately)\b": "say what happened and what next",
    r"(?i)\b(unable|failed|fails) to\b": "say what happened and what next",
    r"(?i)\bsuccess(ful|fully)?\b": "say what is so now",
    r"(?i)\busers?\b": "say who: a person, an observer, a lead, a side",
    r"(?i)\bclick\b": "not everybody has a mouse",
    r"(?i)\bplease\b.*\bplease\b": "once is enough",
    r"!": "no exclamation mark",
    r"\.\.\.": "one sign: …",
    r"(?i)\be\.g\.|\bi\.e\.|\betc\.|\band/or\b": "in words",
    r"(?i)\w+n't\b": "no contraction",
    r"(?i)\bcolors?\b(?! Res\.)": "British spelling: colour",
    r'"(?![^<>]*>)': "“these” quotation marks",
    rf"\b(?:{MONTHS}) \d|\d (?:{MONTHS})\b|\b\d{{1,2}}[./]\d{{1,2}}[./]\d{{2,4}}\b": "ISO 8601",
    r"(?:\)[sd]|\d)(?:nm|mm|lx|lux|min)\b": "a blank before the unit",
}
NOT_REFUSED_BY = re.compile(r"(?i)\b(invalid|illegal|error|forbidden|denied)\b")
NO_VERB = {"A", "An", "The", "This", "These", "Your", "New", "No", "Another"}
DATE_FILTER = re.compile(r'\|date:"([^"]*)"')
DATES = {"Y-m-d", "Y-m-d H:i", "Y-m-d H:i:s", "Y-m-d H:i:s.u"}
CLOCK = re.compile(r'\|(?:moment|instant)\b|\|date:"[^"]*H:i')


def said(text: str) -> list[str]:
    """What is wrong with any text that people see."""
    return [f"{text!r}: {advice}" for rule, advice in NOT_SAID.items() if re.search(rule, text)]


def title(text: str) -> list[str]:
    """What is wrong with an act's title or button."""
    first = text.split()[0]
    faults = {
        "begins with a capital": text[0].isupper(),
        "begins with the verb": first not in NO_VERB and not re.search(r"(ing|[st]ion|ed)$", first),
        "has no full stop": not text.endswith("."),
        "is short": len(text) <= 60,
    }
    return [f"{text!r}: {rule}" for rule, kept in faults.items() if not kept]


def sentence(text: str) -> list[str]:
    """What is wrong with an explanation, or with what is said after an act."""
    return [] if text.endswith(".") else [f"{text!r}: ends with a full stop"]


def refusal(text: str) -> list[str]:
    """What is wrong with a refusal; a sentence that is filled in at the end has its own stop."""
    faults = [f"{text!r}: says what happened"] if NOT_REFUSED_BY.search(text) else []
    if not re.search(r"(\.|\. %\(\w+\)s)$", text):
        faults.append(f"{text!r}: ends with a full stop")
    return faults


def refusals(files: Iterable[Source]) -> Iterator[str]:
    """The messages of refusals that stand where they are raised."""
    for source in files:
        for node in ast.walk(source.tree):
            if isinstance(node, ast.Call) and called(node) == "Refusal" and len(node.args) > 1:
                message = node.args[1]
                if isinstance(message, ast.BinOp):
                    message = message.left
                if isinstance(message, ast.Call) and called(message) in MARKS:
                    yield literal(message.args[0]) or ""


def acts() -> list[Act]:
    """Every act of every app."""
    found: dict[int, Act] = {}
    for app in APPS:
        for module in pkgutil.iter_modules(importlib.import_module(app).__path__, f"{app}."):
            if module.name.endswith("acts"):
                for value in vars(importlib.import_module(module.name)).values():
                    for one in value if isinstance(value, list | tuple) else [value]:
                        if isinstance(one, Act):
                            found[id(one)] = one
    return list(found.values())


def dates(template: Path) -> list[str]:
    """Dates of a template that are not the house's, and times of which nobody says that they are
    UTC. A row of a table leaves that to the head of its column."""
    text = template.read_text(encoding="utf-8")
    faults = [form for form in DATE_FILTER.findall(text) if form not in DATES]
    row = "<td" in text and "<th" not in text
    if CLOCK.search(text) and "UTC" not in text and not row:
        faults.append("a time without UTC")
    return [f"{template.name}: {fault}" for fault in faults]


def examples(page: str) -> list[str]:
    """The good examples of the table in DEVELOPERS.md."""
    section = page.partition("## House wording\n")[2].partition("\n## ")[0]
    rows = [line.split("|") for line in section.splitlines() if line.startswith("| ")]
    return [row[2].strip() for row in rows[1:]]


def stands(example: str, messages: Iterable[str]) -> bool:
    """Whether an example is one of the messages, its placeholders filled in."""
    for message in messages:
        parts = PLACEHOLDER.split(message)
        if sum(len(part.split()) for part in parts) and re.fullmatch(
            ".+".join(map(re.escape, parts)), example
        ):
            return True
    return False
