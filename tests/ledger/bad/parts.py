"""Tricks with records of one thing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.ledger import plain as make
from tests.ledger.bad.trick import Made, made, refused_by
from tests.ledger.forge import Forgery, members, zipped
from tests.ledger.plain import LOT, REVISION

GIVEN = {LOT, REVISION}


def part(change: Callable[[Forgery], Any], about: str = LOT) -> Made:
    """A part about the first lot with its parts changed, signed by its root."""
    plain, _, _ = make.signed()
    forgery = plain.part(about, lambda entry: entry.header["subject"] in GIVEN)
    change(forgery)
    return made(plain, forgery.build(plain.root_key))


@refused_by("entry.withheld")
def a_part_that_withholds_a_key() -> Made:
    return part(lambda forgery: forgery.words.update({7: "withheld"}))


@refused_by("entry.withheld")
def a_part_that_withholds_who_sits() -> Made:
    return part(lambda forgery: forgery.words.update({3: "withheld"}))


@refused_by("part.about")
def a_part_about_nothing() -> Made:
    return part(lambda forgery: None, about="lot/three")


@refused_by("part.withheld")
def a_part_that_withholds_what_it_is_about() -> Made:
    def change(forgery: Forgery) -> None:
        photo = forgery.entries[11].header["blobs"][0]
        forgery.words[12] = "withheld"
        del forgery.blobs[photo]

    return part(change)


@refused_by("part.split")
def a_part_that_withholds_one_signature_of_two() -> Made:
    return part(lambda forgery: forgery.words.update({9: "withheld"}))


@refused_by("blob.missing")
def a_part_without_its_photograph() -> Made:
    return part(lambda forgery: forgery.blobs.pop(forgery.entries[11].header["blobs"][0]))


@refused_by("blob.unnamed")
def a_part_with_the_photograph_of_another() -> Made:
    def change(forgery: Forgery) -> None:
        plain_photo = b"photograph two"
        forgery.blobs[forgery.entries[13].header["blobs"][0]] = plain_photo

    return part(change)


@refused_by("manifest.about")
def a_part_that_does_not_say_about_what() -> Made:
    return part(lambda forgery: forgery.manifest.pop("about"))


@refused_by("manifest.about")
def a_whole_that_says_about_what() -> Made:
    return part(lambda forgery: forgery.manifest.update(form="whole"))


@refused_by("manifest.about")
def a_part_about_something_unspeakable() -> Made:
    return part(lambda forgery: forgery.manifest.update(about='lot"\n'))


@refused_by("manifest.erased")
def a_part_that_counts_erasures() -> Made:
    return part(lambda forgery: forgery.manifest.update(erased=1))


@refused_by("entry.withheld")
def a_part_sold_as_the_whole() -> Made:
    def change(forgery: Forgery) -> None:
        del forgery.manifest["about"]
        forgery.manifest["form"] = "whole"

    return part(change)


@refused_by("header.previous")
def a_part_with_a_withheld_entry_edited() -> Made:
    plain, _, _ = make.signed()
    forgery = plain.part(LOT, lambda entry: entry.header["subject"] in GIVEN)
    whole = forgery.build(plain.root_key)
    names = {"entries/000013": b'"actor":"S-1"'}
    return made(
        plain,
        zipped(
            [
                (name, data.replace(names[name], b'"actor":"S-2"') if name in names else data)
                for name, data in members(whole)
            ]
        ),
    )


@refused_by("entry.lines")
def a_part_with_a_word_of_its_own() -> Made:
    return part(lambda forgery: forgery.words.update({13: "secret"}))


@refused_by("entry.erased")
def a_part_that_calls_withheld_what_is_erased() -> Made:
    return part(lambda forgery: forgery.words.update({15: "erased"}))
