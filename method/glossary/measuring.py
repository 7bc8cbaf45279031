"""Instrument, differences and decision: the words of clauses 5, 6 and 7."""

from __future__ import annotations

from method.glossary.entry import OWN, PRACTICE, Entry
from method.words import gettext_noop

CIE_15 = gettext_noop("CIE 15:2018")
CIEDE2000 = gettext_noop("ISO/CIE 11664-6; Sharma, Wu & Dalal, Color Res. Appl. 30 (2005)")
GUM = gettext_noop("from memory: JCGM 100:2008")
VIM = gettext_noop("from memory: JCGM 200:2012")
JCGM_106 = gettext_noop("JCGM 106:2012")
SAMPLING = gettext_noop("ISO 2859-1")

ENTRIES = (
    Entry(
        "geometry",
        gettext_noop("geometry"),
        gettext_noop(
            "From where an instrument lights the specimen and from where it looks: 45:0 lights at "
            "45° and looks straight down, d:8 lights from all sides and looks at 8°. Readings of "
            "unlike geometry are not compared."
        ),
        CIE_15,
    ),
    Entry(
        "specular-component",
        gettext_noop("specular component"),
        gettext_noop(
            "The mirror-like part of the reflected light. Included (di:8), gloss counts little; "
            "excluded (de:8), a glossy piece reads darker, nearer to what the eye sees."
        ),
        CIE_15,
    ),
    Entry(
        "reflectance",
        gettext_noop("reflectance"),
        gettext_noop(
            "The share of light that a surface sends back, wavelength by wavelength; 1 is the "
            "perfect diffuser."
        ),
        CIE_15,
    ),
    Entry(
        "colour-difference",
        gettext_noop("colour difference ΔE*ab"),
        gettext_noop(
            "The plain distance of two colours in L*, a* and b*. Equal distances do not look equal "
            "everywhere, so the formula stands beside each number."
        ),
        CIE_15,
    ),
    Entry(
        "ciede2000",
        gettext_noop("colour difference CIEDE2000"),
        gettext_noop(
            "A colour difference that weighs lightness, chroma and hue nearer to what the eye "
            "sees. Its values cannot be set against ΔE*ab."
        ),
        CIEDE2000,
    ),
    Entry(
        "lightness-difference",
        gettext_noop("lightness difference"),
        gettext_noop("How much lighter (+) or darker (−) the specimen is than the target: ΔL*."),
        CIE_15,
    ),
    Entry(
        "chroma-difference",
        gettext_noop("chroma difference"),
        gettext_noop("How much cleaner (+) or greyer (−) the specimen is than the target: ΔC*."),
        CIE_15,
    ),
    Entry(
        "hue-difference",
        gettext_noop("hue difference"),
        gettext_noop(
            "What is left of the colour difference beside lightness and chroma: ΔH*. Near neutral "
            "it means little."
        ),
        CIE_15,
    ),
    Entry(
        "tolerance",
        gettext_noop("tolerance"),
        gettext_noop(
            "The greatest difference that is agreed, with everything it depends on: compared with "
            "what, formula, illuminant, geometry, decimals."
        ),
        PRACTICE,
    ),
    Entry(
        "margin",
        gettext_noop("margin"),
        gettext_noop("What is left between a value and its limit; negative beyond the limit."),
        OWN,
    ),
    Entry(
        "gloss",
        gettext_noop("gloss"),
        gettext_noop(
            "The mirror-like reflection at a stated angle (20°, 60° or 85°), set against polished "
            "glass that counts as 100."
        ),
        gettext_noop("ISO 2813:2014"),
    ),
    Entry(
        "contrast-ratio",
        gettext_noop("contrast ratio"),
        gettext_noop(
            "Y over black divided by Y over white, in percent: how well a film or part hides what "
            "lies behind it."
        ),
        gettext_noop("ISO 6504-3"),
    ),
    Entry(
        "repeatability",
        gettext_noop("repeatability"),
        gettext_noop(
            "How far readings of one piece scatter when the same instrument takes them again at "
            "once; here the mean difference from their mean."
        ),
        gettext_noop("ASTM E2214"),
    ),
    Entry(
        "bias",
        gettext_noop("bias"),
        gettext_noop(
            "The part of an error that stays when readings are repeated: two instruments may each "
            "repeat well and still differ."
        ),
        VIM,
    ),
    Entry(
        "uncertainty",
        gettext_noop("uncertainty"),
        gettext_noop(
            "How far the true value may reasonably lie from the reading. U is the expanded "
            "uncertainty: k times the standard one, mostly k = 2."
        ),
        GUM,
    ),
    Entry(
        "decision-rule",
        gettext_noop("decision rule"),
        gettext_noop(
            "How uncertainty counts when a value is set against its limit, and for whom. It is "
            "agreed before anything is measured."
        ),
        gettext_noop("JCGM 106:2012; ILAC-G8:09/2019"),
    ),
    Entry(
        "guard-band",
        gettext_noop("guard band"),
        gettext_noop(
            "The distance kept from a limit before something is called conforming, or "
            "nonconforming; here the uncertainty U."
        ),
        gettext_noop("JCGM 106:2012; ILAC-G8:09/2019"),
    ),
    Entry(
        "conformance-probability",
        gettext_noop("conformance probability"),
        gettext_noop(
            "How likely it is that the true value lies within the limit, given the reading and its "
            "uncertainty."
        ),
        JCGM_106,
    ),
    Entry(
        "rounding",
        gettext_noop("rounding"),
        gettext_noop(
            "Each value is rounded once, to the decimals that the tolerance states, and compared "
            "as printed."
        ),
        gettext_noop("from memory: ASTM E29"),
    ),
    Entry(
        "lot",
        gettext_noop("lot"),
        gettext_noop("The pieces that are shipped, judged and accepted or rejected together."),
        gettext_noop("from memory: ISO 2859-1"),
    ),
    Entry(
        "stratum",
        gettext_noop("stratum"),
        gettext_noop(
            "A part of a lot made alike: one batch, rack, cavity or time. Deviating pieces come in "
            "clumps, so some are taken from each stratum."
        ),
        PRACTICE,
    ),
    Entry(
        "acceptance-sampling",
        gettext_noop("acceptance sampling"),
        gettext_noop(
            "Judging a lot by a sample: n pieces are looked at, and the lot passes while at most "
            "Ac of them do not conform."
        ),
        SAMPLING,
    ),
    Entry(
        "acceptance-number",
        gettext_noop("acceptance number"),
        gettext_noop(
            "The greatest number of nonconforming pieces in the sample with which a lot passes: Ac."
        ),
        SAMPLING,
    ),
    Entry(
        "aql",
        gettext_noop("acceptance quality limit (AQL)"),
        gettext_noop(
            "The key to the tables of a sampling scheme: the worst average quality that passes "
            "nearly always. It is no permission to ship so many bad pieces."
        ),
        SAMPLING,
    ),
    Entry(
        "consumers-risk",
        gettext_noop("consumer's risk"),
        gettext_noop("How likely a sampling plan passes a lot of a stated poor quality."),
        gettext_noop("from memory: ISO 2859-2"),
    ),
    Entry(
        "oc-curve",
        gettext_noop("operating characteristic (OC curve)"),
        gettext_noop(
            "How often a sampling plan passes a lot, for each share of nonconforming pieces in it."
        ),
        gettext_noop("MIL-STD-105E (1989), table X"),
    ),
)
