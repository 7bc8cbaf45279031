"""Light, booth and observers: the words of clauses 2 and 3."""

from __future__ import annotations

from method.glossary.entry import OWN, PRACTICE, Entry
from method.words import gettext_noop

CIE_15 = gettext_noop("CIE 15:2018")
SIMULATORS = gettext_noop("ISO/CIE 23603:2024")
ISO_3668 = gettext_noop("ISO 3668:2017, 5.2")
OBSERVERS = gettext_noop("ASTM E1499")

ENTRIES = (
    Entry(
        "illuminant",
        gettext_noop("illuminant"),
        gettext_noop(
            "A spectrum fixed by a standard, such as D65 or A, for which colours are computed. It "
            "is a table: a lamp only comes near it."
        ),
        CIE_15,
    ),
    Entry(
        "colorimetric-observer",
        gettext_noop("colorimetric observer"),
        gettext_noop(
            "Three curves that stand for the eye in computations, for a field of view of 2° or "
            "10°. No person: people who judge are called observers."
        ),
        CIE_15,
    ),
    Entry(
        "metamerism",
        gettext_noop("metamerism"),
        gettext_noop(
            "Two pieces match under one light and differ under another, because their spectra are "
            "not alike. It is why a second light is agreed."
        ),
        gettext_noop("ISO 18314-4:2024"),
    ),
    Entry(
        "viewing-booth",
        gettext_noop("viewing booth"),
        gettext_noop(
            "A cabinet with known lamps and a neutral interior in which pieces are compared by "
            "eye. Lamps may emit UV: do not look into them."
        ),
        ISO_3668,
    ),
    Entry(
        "surround",
        gettext_noop("surround"),
        gettext_noop(
            "What is seen around the pieces: the booth's interior, and the room behind it. A "
            "coloured surround shifts what the eye sees."
        ),
        ISO_3668,
    ),
    Entry(
        "daylight-simulator",
        gettext_noop("daylight simulator"),
        gettext_noop(
            "A lamp, often with a filter, that is made to come near a daylight illuminant. How "
            "near is told by its category."
        ),
        SIMULATORS,
    ),
    Entry(
        "simulator-category",
        gettext_noop("simulator category"),
        gettext_noop(
            "Two letters from A (best) to E for a daylight simulator: how far pairs that match in "
            "true daylight part under it, in the visible range and in the UV."
        ),
        SIMULATORS,
    ),
    Entry(
        "cct",
        gettext_noop("correlated colour temperature (CCT)"),
        gettext_noop(
            "The temperature, in kelvin, of the glowing black body whose colour comes nearest to "
            "the light. Two lights of one CCT may still show colours differently."
        ),
        gettext_noop("CIE 15:2018; Ohno, Leukos 10 (2014)"),
    ),
    Entry(
        "duv",
        gettext_noop("distance from the Planckian locus (Duv)"),
        gettext_noop(
            "How far a light lies above (greener) or below (pinker) the colours of a black body. "
            "CCT alone does not tell it."
        ),
        gettext_noop("Ohno, Leukos 10 (2014)"),
    ),
    Entry(
        "colour-rendering-index",
        gettext_noop("colour rendering index (Ra)"),
        gettext_noop(
            "How near eight test colours look to how they look under a reference light; 100 is the "
            "best. It does not replace the simulator category."
        ),
        gettext_noop("CIE 13.3-1995"),
    ),
    Entry(
        "observer",
        gettext_noop("observer"),
        gettext_noop(
            "A person who judges specimens by eye. Whether somebody is qualified is asked for one "
            "clause and one day, and never stored."
        ),
        OBSERVERS,
    ),
    Entry(
        "hue-arrangement-test",
        gettext_noop("hue arrangement test (85 caps)"),
        gettext_noop(
            "Caps of slightly different hue are put in order by hand; each one out of place adds "
            "to the total error score. A screening, not a diagnosis; on a screen it does not count."
        ),
        gettext_noop("ASTM E1499; Kinnear & Sahraie, Br. J. Ophthalmol. 86 (2002)"),
    ),
    Entry(
        "plate-screening",
        gettext_noop("plate screening"),
        gettext_noop(
            "Printed plates of coloured dots in which a figure is to be read. It shows in minutes "
            "whether red and green may be confused."
        ),
        PRACTICE,
    ),
    Entry(
        "screening",
        gettext_noop("screening"),
        gettext_noop(
            "A quick test that says how somebody did on one day. Not a diagnosis: whoever wants to "
            "know about their own colour vision should see an optometrist."
        ),
        PRACTICE,
    ),
    Entry(
        "panel",
        gettext_noop("panel"),
        gettext_noop(
            "The qualified observers whose judgements count together. A rule in the terms says how "
            "their single judgements become one."
        ),
        PRACTICE,
    ),
    Entry(
        "blind-sitting",
        gettext_noop("blind sitting"),
        gettext_noop(
            "Judging at the booth in random order, without knowing which piece is which or what "
            "others said."
        ),
        OWN,
    ),
    Entry(
        "catch-pair",
        gettext_noop("catch pair"),
        gettext_noop(
            "A pair whose answer is known, mixed unmarked among the others: it shows whether an "
            "observer's answers can be relied on."
        ),
        OWN,
    ),
    Entry(
        "effectiveness",
        gettext_noop("effectiveness"),
        gettext_noop(
            "The share of specimens on which all of an observer's decisions agree with the "
            "reference decision."
        ),
        PRACTICE,
    ),
    Entry(
        "kappa",
        gettext_noop("kappa"),
        gettext_noop(
            "How far observers agree beyond what chance alone would give: 1 is full agreement, 0 "
            "no more than chance."
        ),
        gettext_noop("Cohen, Educ. Psychol. Meas. 20 (1960); Fleiss, Psychol. Bull. 76 (1971)"),
    ),
)
