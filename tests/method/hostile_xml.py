"""Hostile XML files, one per trick; ``make_hostile`` writes them."""

from __future__ import annotations

from tests.method.cxf_files import cxf, specification, spectrum, thing
from tests.method.hostile_text import TABLE

FACTORS = TABLE[0].tolist()
VALUES = " ".join(map(str, FACTORS)).encode()
GOOD = cxf([thing(spectrum(FACTORS), "a"), thing(spectrum(FACTORS), "b", "i2")])
HEAD = '<?xml version="1.0"?>'


def replaced(old, new):
    """The good file with one piece replaced, which must be there."""
    old, new = (one.encode() if isinstance(one, str) else one for one in (old, new))
    assert old in GOOD
    return GOOD.replace(old, new, 1)


def declared(inside, use="a"):
    """The good file with a document type; use: what stands for the first name."""
    return replaced(HEAD, f"{HEAD}<!DOCTYPE CxF {inside}>").replace(b'"a"', f'"{use}"'.encode(), 1)


def laughs():
    """Nine levels of ten entities each."""
    lines = ['<!ENTITY e0 "ha">']
    lines += [f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10)]
    return declared(f"[{''.join(lines)}]", "&e9;")


def beside(more, spaces=""):
    """The good file with something of other makers in it."""
    return cxf(
        [thing(spectrum(FACTORS), "a")], more=f"<CustomResources{spaces}>{more}</CustomResources>"
    )


def light(**kwargs):
    """A file whose spectra are not of surfaces."""
    measured = kwargs.pop("measured")
    spec = specification().replace("Spectrum_Reflectance", measured)
    return cxf([thing(spectrum(FACTORS, **kwargs), "a")], [spec])


def lamp():
    """A TM-27 file."""
    data = "".join(
        f'<SpectralData wavelength="{nm}">{nm % 70}</SpectralData>' for nm in range(380, 785, 5)
    )
    return (
        '<IESTM2714 xmlns="iestm2714"><Header><Description>lamp</Description></Header>'
        "<SpectralDistribution><SpectralQuantity>relative</SpectralQuantity>"
        f"{data}</SpectralDistribution></IESTM2714>"
    ).encode()


TRICKS = {
    "entities-that-multiply.cxf": laughs,
    "entity-once.cxf": lambda: declared('[<!ENTITY e "x">]', "&e;"),
    "entity-never-declared.cxf": lambda: replaced('Name="a"', 'Name="&e;"'),
    "entity-from-a-file.cxf": lambda: declared('[<!ENTITY e SYSTEM "file:///etc/passwd">]', "&e;"),
    "entity-from-the-network.cxf": lambda: declared(
        '[<!ENTITY e SYSTEM "http://127.0.0.1:9/e">]', "&e;"
    ),
    "entity-of-parameters.cxf": lambda: declared('[<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]'),
    "document-type-alone.cxf": lambda: declared(""),
    "document-type-from-the-network.cxf": lambda: declared('SYSTEM "http://127.0.0.1:9/d.dtd"'),
    "document-type-in-utf-16.cxf": lambda: declared("[]").decode().encode("utf-16"),
    "attribute-default.cxf": lambda: declared('[<!ATTLIST Object Name CDATA "x">]'),
    "inclusion.cxf": lambda: beside(
        '<xi:include href="file:///etc/passwd" parse="text"/>',
        ' xmlns:xi="http://www.w3.org/2001/XInclude"',
    ),
    "schema-from-the-network.cxf": lambda: replaced(
        "<CxF ",
        '<CxF xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        'xsi:schemaLocation="urn:x http://127.0.0.1:9/x.xsd" ',
    ),
    "style-sheet-from-the-network.cxf": lambda: replaced(
        HEAD, HEAD + '<?xml-stylesheet href="http://127.0.0.1:9/x.xsl" type="text/xsl"?>'
    ),
    "deep.cxf": lambda: beside('<x xmlns="urn:x">' * 100_000),
    "elements-by-the-million.cxf": lambda: beside('<x xmlns="urn:x">' + "<y/>" * 1_000_000),
    "attributes-by-the-thousand.cxf": lambda: beside(
        "<x " + " ".join(f'a{n}="1"' for n in range(1_000)) + "/>"
    ),
    "attribute-without-end.cxf": lambda: beside(f'<x a="{"y" * 5_000_000}"/>'),
    "attribute-of-a-hundred-thousand.cxf": lambda: beside(f'<x a="{"y" * 100_000}"/>'),
    "comment-without-end.cxf": lambda: beside(f"<!--{'y' * 5_000_000}-->"),
    "comments-by-the-million.cxf": lambda: beside("<!---->" * 1_000_000),
    "text-without-end.cxf": lambda: replaced(VALUES, b"0.5 " * 2_000_000),
    "values-by-the-thousand.cxf": lambda: replaced(VALUES, b"0.5 " * 2_001),
    "other-makers-text-without-end.cxf": lambda: beside(
        f"<x:x>{'y' * 5_000_000}</x:x>", ' xmlns:x="urn:x"'
    ),
    "namespaces-by-the-thousand.cxf": lambda: beside(
        "<x " + " ".join(f'xmlns:a{n}="urn:{n}"' for n in range(5_000)) + "/>"
    ),
    "utf-7-declared.cxf": lambda: replaced(HEAD, '<?xml version="1.0" encoding="utf-7"?>'),
    "encoding-unheard-of.cxf": lambda: replaced(HEAD, '<?xml version="1.0" encoding="x-y"?>'),
    "encoding-contradicted.cxf": lambda: replaced(HEAD, '<?xml version="1.0" encoding="UTF-16"?>'),
    "nul-in-xml.cxf": lambda: replaced('Name="a"', 'Name="a\0"'),
    "surrogate-as-reference.cxf": lambda: replaced('Name="a"', 'Name="&#xD800;"'),
    "surrogate-as-bytes.cxf": lambda: replaced('Name="a"', b'Name="\xed\xa0\x80"'),
    "cut-in-xml.cxf": lambda: GOOD[: GOOD.index(VALUES) + 20],
    "cut-in-a-tag.cxf": lambda: GOOD[: GOOD.index(b"<ReflectanceSpectrum") + 9],
    "two-roots.cxf": lambda: GOOD + GOOD.removeprefix(HEAD.encode()),
    "nan-in-a-spectrum.cxf": lambda: replaced("0.0423", "NaN"),
    "infinity-in-a-spectrum.cxf": lambda: replaced("0.0423", "-INF"),
    "1e308-in-a-spectrum.cxf": lambda: replaced("0.0423", "1e308"),
    "number-of-5000-digits.cxf": lambda: replaced("0.0423", "9" * 5_000),
    "minus-zero.cxf": lambda: replaced("0.0423", "-0.0"),
    "no-such-specification.cxf": lambda: replaced(
        'ColorSpecification="S1"', 'ColorSpecification="S9"'
    ),
    "two-specifications-of-one-id.cxf": lambda: cxf(
        [thing(spectrum(FACTORS), "a")], [specification(), specification(increment=20)]
    ),
    "two-steps-in-two-specifications.cxf": lambda: cxf(
        [thing(spectrum(FACTORS), "a"), thing(spectrum(FACTORS, "S2"), "b", "i2")],
        [specification(), specification("S2", increment=20)],
    ),
    "step-of-zero.cxf": lambda: replaced('Increment="10"', 'Increment="0"'),
    "step-beyond-belief.cxf": lambda: replaced('Increment="10"', 'Increment="1e9"'),
    "objects-without-values.cxf": lambda: cxf([thing(), thing(name="b", id="i2")], []),
    "name-without-end.cxf": lambda: replaced('Name="a"', f'Name="{"a" * 5_000}"'),
    "names-with-marks-of-direction.cxf": lambda: replaced('Name="a"', 'Name="\u202ea\u200b"'),
    "formula-for-a-name.cxf": lambda: replaced('Name="a"', 'Name="=1+1"'),
    "another-namespace.cxf": lambda: replaced("CxF3-core", "CxF9-core"),
    "page-named.cxf": lambda: b"<!-- page --><html><body>404</body></html>",
    "markup-named.csv": lambda: GOOD,
    "emission.cxf": lambda: light(kind="EmissiveSpectrum", measured="Spectrum_Emissive"),
    "emission-as-reflectance.cxf": lambda: light(measured="Spectrum_Emissive"),
    "transmittance.cxf": lambda: light(
        kind="TransmittanceSpectrum", measured="Spectrum_Transmittance"
    ),
    "percent-against-the-schema.cxf": lambda: replaced(
        VALUES, " ".join(f"{v * 100:g}" for v in FACTORS)
    ),
    "lamp-as-reflectance.spdx": lamp,
    "not-a-lamp.spdx": lambda: b'<?xml version="1.0"?>\n<item></item>\n',
}
