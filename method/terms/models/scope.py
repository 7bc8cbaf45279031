"""Clause 1, scope: which parts, made how and of what, and the lots that the terms bind."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import MAX_ITEMS, About, Clause, Item, Positive, Text
from method.words import gettext_noop

Process = Literal[
    "injection_moulding", "extrusion", "painting", "powder_coating", "anodising", "plating",
    "printing", "dyeing", "other",
]  # fmt: skip
EffectClass = Literal["solid", "metallic", "pearlescent", "fluorescent"]
Translucency = Literal["opaque", "translucent", "transparent"]
OpenOrders = Literal["keep_revision", "take_new_revision", "agree_each"]

PROCESS_WORDS = {
    "injection_moulding": gettext_noop("injection moulding"),
    "extrusion": gettext_noop("extrusion"),
    "painting": gettext_noop("painting"),
    "powder_coating": gettext_noop("powder coating"),
    "anodising": gettext_noop("anodising"),
    "plating": gettext_noop("plating"),
    "printing": gettext_noop("printing"),
    "dyeing": gettext_noop("dyeing"),
    "other": gettext_noop("another process"),
}
EFFECT_WORDS = {
    "solid": gettext_noop("solid"),
    "metallic": gettext_noop("metallic"),
    "pearlescent": gettext_noop("pearlescent"),
    "fluorescent": gettext_noop("fluorescent"),
}
TRANSLUCENCY_WORDS = {
    "opaque": gettext_noop("opaque"),
    "translucent": gettext_noop("translucent"),
    "transparent": gettext_noop("transparent"),
}
OPEN_ORDERS_WORDS = {
    "keep_revision": gettext_noop("keep the revision in force when they were accepted"),
    "take_new_revision": gettext_noop("take the new revision"),
    "agree_each": gettext_noop("are agreed order by order"),
}


class MatingPart(Item):
    """A part that the piece is seen beside once assembled, also of another firm."""

    PREFIX: ClassVar[str] = "mat"
    NAME: ClassVar[str] = gettext_noop("Mating part")
    SAYS: ClassVar[str] = gettext_noop("Mating part: %(name)s, made by %(maker)s. %(note)s")

    name: Annotated[Text, About(gettext_noop("Name"))] = ""
    maker: Annotated[
        Text, About(gettext_noop("Made by"), gettext_noop("The firm that makes it."))
    ] = ""
    note: Annotated[Text, About(gettext_noop("Note"))] = ""


class Scope(Clause):
    """What the terms are about."""

    TITLE: ClassVar[str] = gettext_noop("Scope")

    parts_text: Annotated[
        Text,
        About(
            gettext_noop("Parts"),
            gettext_noop("Which parts these terms bind, in words."),
            says=gettext_noop("These terms bind the following parts: %(value)s"),
        ),
    ] = ""
    process: Annotated[
        Process | None,
        About(
            gettext_noop("Process"),
            gettext_noop("How the colour gets into or onto the part."),
            choices=PROCESS_WORDS,
            says=gettext_noop("The colour is made by %(value)s."),
        ),
    ] = None
    material: Annotated[
        Text,
        About(
            gettext_noop("Material"),
            gettext_noop("Resin, substrate or fibre with its grade."),
            says=gettext_noop("Material: %(value)s"),
        ),
    ] = ""
    material_source: Annotated[
        Text,
        About(
            gettext_noop("Source of the material"),
            gettext_noop("Where resin, pigment or paint comes from."),
            says=gettext_noop("The material comes from: %(value)s"),
        ),
    ] = ""
    site: Annotated[
        Text,
        About(
            gettext_noop("Tool, line and site"),
            gettext_noop("Where the parts are made; a change of these is a change notice."),
            says=gettext_noop("Tool, line and site: %(value)s"),
        ),
    ] = ""
    finish: Annotated[
        Text,
        About(
            gettext_noop("Finish"),
            gettext_noop("Gloss or surface finish of the part."),
            says=gettext_noop("Finish: %(value)s"),
        ),
    ] = ""
    texture: Annotated[
        Text,
        About(
            gettext_noop("Texture"),
            gettext_noop("Grain or texture, with its number where it has one."),
            says=gettext_noop("Texture: %(value)s"),
        ),
    ] = ""
    effect_class: Annotated[
        EffectClass | None,
        About(
            gettext_noop("Effect class"),
            gettext_noop("Metallic and pearlescent colours change with the angle."),
            suggest="solid",
            choices=EFFECT_WORDS,
            says=gettext_noop("The colour is %(value)s."),
        ),
    ] = None
    brightened: Annotated[
        bool,
        About(
            gettext_noop("Brightened"),
            gettext_noop("The material contains an optical brightener: UV in the light matters."),
            says=gettext_noop("The material contains an optical brightener."),
            says_not=gettext_noop("The material is not declared to contain an optical brightener."),
        ),
    ] = False
    thickness_mm: Annotated[
        Positive | None,
        About(
            gettext_noop("Thickness as assembled"),
            gettext_noop("The thickness through which the part is seen."),
            unit=gettext_noop("millimetres"),
            says=gettext_noop("Thickness as assembled: %(value)s millimetres."),
        ),
    ] = None
    translucency: Annotated[
        Translucency | None,
        About(
            gettext_noop("Translucency"),
            gettext_noop("Of the part as assembled."),
            suggest="opaque",
            choices=TRANSLUCENCY_WORDS,
            says=gettext_noop("The part as assembled is %(value)s."),
        ),
    ] = None
    mating_parts: Annotated[
        tuple[MatingPart, ...],
        Field(max_length=MAX_ITEMS),
        About(
            gettext_noop("Mating parts"),
            gettext_noop("Parts that are seen beside this one, also other firms'."),
        ),
    ] = ()
    orders: Annotated[
        Text,
        About(
            gettext_noop("Orders and lots bound"),
            gettext_noop("Which orders and lots fall under these terms."),
            says=gettext_noop("Orders and lots bound: %(value)s"),
        ),
    ] = ""
    open_orders: Annotated[
        OpenOrders | None,
        About(
            gettext_noop("Open orders after an amendment"),
            gettext_noop("What an amendment does to orders accepted before it."),
            suggest="keep_revision",
            choices=OPEN_ORDERS_WORDS,
            says=gettext_noop("After an amendment, open orders %(value)s."),
        ),
    ] = None
