"""The reader of lamps: TM-27 and meters' text give the same light; what is no light is refused."""

import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from method.readers import ReadError, words
from method.readers.lamps import read_contents, read_lamp

NM = [380.0, 400.5, 420.0, 436.0, 450.0, 500.0, 546.1, 600.0, 700.0, 780.0]
VALUES = [0.01, 0.2, 0.35, 4.5, 0.9, 1.1, 3.25, 0.8, 0.4, 0.05]


def library():
    """The library whose readers and files serve as reference, imported without its warnings."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


def resources(*parts):
    """Folder of measurement files inside an installed package."""
    return Path(library().__file__).parent.joinpath(*parts)


def tm27(points=None, quantity="irradiance", namespace="iestm2714", more=""):
    """An invented TM-27 file."""
    points = list(zip(NM, VALUES, strict=True)) if points is None else points
    data = "".join(f'<SpectralData wavelength="{nm}">{v}</SpectralData>\n' for nm, v in points)
    return (
        f'<?xml version="1.0"?>\n<IESTM2714 xmlns="{namespace}" version="1.0">\n<Header>\n'
        "<Description>invented lamp</Description>\n<Comments> </Comments>\n</Header>\n"
        f"<SpectralDistribution>\n<SpectralQuantity>{quantity}</SpectralQuantity>\n"
        f"<BandwidthFWHM>2.5</BandwidthFWHM>\n{more}{data}</SpectralDistribution>\n</IESTM2714>\n"
    ).encode()


def text(
    separator=";", mark=".", newline="\n", spelling="{}", head="wavelength nm", unit="W/m2/nm"
):
    """An invented meter's export in two columns."""
    lines = ["Title: hall 3", f"Illuminance{separator}812", f"{head}{separator}Irradiance ({unit})"]
    for nm, value in zip(NM, VALUES, strict=True):
        name = spelling.format(f"{nm:g}".replace(".", mark))
        lines.append(name + separator + str(value).replace(".", mark))
    return (newline.join(lines) + newline).encode()


def test_real_tm27_files_are_read_as_the_library_reads_them():
    colour = library()
    files = [*resources("io", "tests", "resources").glob("*.spdx")]
    files += resources("examples", "io", "resources").glob("*.spdx")
    read = 0
    for path in files:
        try:
            lamp = read_lamp(path.read_bytes(), path.name)
        except ReadError as error:
            assert (error.id, error.line, error.column) == ("xml-root", 2, 1)
            assert error.params["found"] == "item"
            continue
        theirs = colour.SpectralDistribution_IESTM2714(str(path)).read()
        assert np.array_equal(lamp.wavelengths, theirs.wavelengths)
        assert np.array_equal(lamp.values, theirs.values)
        assert lamp.quantity == theirs.spectral_quantity == "relative"
        assert lamp.bandwidth == theirs.bandwidth_FWHM
        assert lamp.bandwidth_corrected is theirs.bandwidth_corrected is True
        assert dict(lamp.header)["Description"] == theirs.header.description == lamp.title
        read += 1
    assert read == 2 and len(files) == 3


@pytest.mark.parametrize(("pattern", "points"), [("*.xls*", 401), ("RANDOM*.csv", 401)])
def test_real_meter_text_is_read_as_the_library_reads_it(pattern, points):
    colour = library()
    readers = [
        getattr(colour, name)
        for name in dir(colour)
        if name.startswith("SpectralDistribution_") and "IES" not in name
    ]
    files = list(resources("io", "tests", "resources").glob(pattern))
    assert files
    for path in files:
        lamp = read_lamp(path.read_bytes(), path.name)
        assert len(lamp.values) == points and lamp.format == "lamp-text"
        agreed = 0
        for reader in readers:  # one of them knows this export
            try:
                theirs = reader(str(path)).read()
            except (ValueError, IndexError, UnicodeDecodeError):
                continue
            assert np.array_equal(lamp.wavelengths, theirs.wavelengths)
            assert np.array_equal(lamp.values, theirs.values)
            agreed += 1
        assert agreed
        assert ("lamp-quantity-unsaid", {}) in lamp.notes  # the file names none


def test_the_finer_of_two_writings_of_one_spectrum_is_taken_and_said():
    (path,) = resources("io", "tests", "resources").glob("RANDOM*.csv")
    lamp = read_lamp(path.read_bytes(), path.name)
    assert lamp.notes[0] == ("lamp-sections", {"count": "2", "points": "401"})
    assert lamp.line == 129 and lamp.header[0][0] == "Date Saved"


@pytest.mark.parametrize(
    ("separator", "mark"),
    [(";", "."), (";", ","), ("\t", "."), ("\t", ","), (",", "."), ("   ", "."), (" ", ",")],
)
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("spelling", ["{}", "{}nm", "{} nm", "Spectral Data {}[nm]", "nm {}"])
def test_every_dialect_of_meter_text_gives_the_same_light(separator, mark, newline, spelling):
    blanks = separator.strip(" ") == ""
    head = "nm" if blanks else "wavelength nm"
    if blanks and spelling in ("Spectral Data {}[nm]", "nm {}"):
        spelling = "{}nm"
    lamp = read_lamp(text(separator, mark, newline, spelling, head), "a.txt")
    assert lamp.wavelengths.tolist() == NM and lamp.values.tolist() == VALUES
    assert lamp.quantity == "irradiance" and lamp.unit == "W/m2/nm"
    assert lamp.header[0] == ("Title", "hall 3") and lamp.title == "hall 3"
    assert lamp.line == 4 and lamp.notes == ()


def test_tm27_and_text_of_one_light_are_the_same_and_emission_for_the_front():
    one, other = read_lamp(tm27(), "a.spdx"), read_lamp(text(), "a.txt")
    assert np.array_equal(one.wavelengths, other.wavelengths)
    assert np.array_equal(one.values, other.values)
    assert one.bandwidth == 2.5 and one.bandwidth_corrected is None
    assert one.header == (("Description", "invented lamp"),)
    for data in (tm27(), text()):
        (table,) = read_contents(data, "a").tables
        assert table.quantity == "emission" and table.values.shape == (1, len(NM))
        assert table.wavelengths == tuple(NM) and len(table.labels) == 1


def test_falling_wavelengths_are_turned_and_dark_noise_is_said():
    points = [(nm, value if nm != 500 else -0.1) for nm, value in zip(NM, VALUES, strict=True)]
    lamp = read_lamp(tm27(points[::-1]), "a.spdx")
    assert lamp.wavelengths.tolist() == NM and lamp.values.min() == -0.1
    assert [id for id, _ in lamp.notes] == ["descending", "lamp-negative"]


def test_what_a_file_leaves_open_is_said():
    lamp = read_lamp(tm27(list(zip(NM, VALUES, strict=True))[1:], quantity="other"), "a.spdx")
    assert dict(lamp.notes) == {
        "lamp-range": {"first": "400.5", "last": "780"},
        "lamp-quantity-unsaid": {},
    }
    foreign = tm27(more='<x:y xmlns:x="urn:x"><x:SpectralData wavelength="1"/></x:y>')
    assert ("foreign-left", {"count": "1"}) in read_lamp(foreign, "a.spdx").notes
    assert all(words.ODDITIES[id] % params for id, params in lamp.notes)


def replaced(data, old, new):
    """The file with one piece replaced, which must be there."""
    assert old in data
    return data.replace(old, new, 1)


POINTS = list(zip(NM, VALUES, strict=True))


@pytest.mark.parametrize(
    ("nm", "good"), [("100.0", True), ("99.9", False), ("3000.0", True), ("3000.1", False)]
)
def test_lights_lie_between_100_and_3000_nm(nm, good):
    points = [(nm, 1), *POINTS] if nm < "2" or nm == "99.9" else [*POINTS, (nm, 1)]
    if good:
        assert float(nm) in read_lamp(tm27(points), "a").wavelengths
        return
    with pytest.raises(ReadError) as caught:
        read_lamp(tm27(points), "a")
    assert caught.value.id == "lamp-wavelength"
    assert caught.value.params == {"wavelength": nm, "least": "100", "most": "3000"}


@pytest.mark.parametrize(("value", "good"), [("-0.225", True), ("-0.226", False)])
def test_noise_below_zero_is_a_small_part_of_the_peak(value, good):
    data = replaced(tm27(), b">0.01<", f">{value}<".encode())  # the peak is 4.5
    if good:
        assert ("lamp-negative", {"count": "1"}) in read_lamp(data, "a").notes
        return
    with pytest.raises(ReadError) as caught:
        read_lamp(data, "a")
    assert caught.value.params == {"value": value, "wavelength": "380"}


def test_a_value_of_zero_is_no_negative_one_and_eight_points_are_enough():
    lamp = read_lamp(tm27([*POINTS[:6], (760, 0), (780, 0)]), "a")
    assert len(lamp.values) == 8 and lamp.notes == ()
    eight = "\n".join(f"{nm} 1" for nm in range(380, 860, 60)).encode()
    assert len(read_lamp(eight, "a").values) == 8
    with pytest.raises(ReadError) as caught:
        read_lamp(eight[: eight.rindex(b"\n")], "a")
    assert caught.value.id == "lamp-no-spectrum"


def test_lines_around_the_spectrum_are_its_header():
    data = b"Name: booth 3\nLamp hours;120\nplain words\n\n" + b"\n".join(
        b"%d;%d.5" % (nm, nm) for nm in range(380, 790, 10)
    )
    lamp = read_lamp(data + b"\nbin1;0.9;0.2\nQuantity;spectral radiance\nUnit;W/sr/m2/nm\n", "a")
    assert lamp.header == (
        ("Name", "booth 3"),
        ("Lamp hours", "120"),
        ("plain words", ""),
        ("bin1", "0.9 0.2"),
        ("Quantity", "spectral radiance"),
        ("Unit", "W/sr/m2/nm"),
    )
    assert (lamp.quantity, lamp.unit, lamp.title) == ("radiance", "W/sr/m2/nm", "booth 3")


@pytest.mark.parametrize(
    ("head", "unit"),
    [
        ("Irradiance (W/(m2 nm))", "W/(m2 nm)"),
        ("Irradiance [mW/m2/nm]", "mW/m2/nm"),
        ("irradiance mW/m2/nm", "mW/m2/nm"),
        ("µW/cm²", "µW/cm²"),
        ("Watt", None),
        ("value", None),
        ("value ()", None),
    ],
)
def test_the_unit_is_taken_as_the_head_writes_it(head, unit):
    lines = [f"wavelength [nm];{head}", *(f"{nm};1" for nm in range(380, 790, 10))]
    assert read_lamp("\n".join(lines).encode(), "a").unit == unit


def test_columns_beside_the_one_value_are_counted_where_they_begin():
    lines = [f"{nm};1" for nm in range(380, 790, 10)]
    for found, line in ((3, "420;1;2;3"), (2, "420;1;2")):
        lines[4] = line
        with pytest.raises(ReadError) as caught:
            read_lamp("\n".join(lines).encode(), "a")
        error = caught.value
        assert (error.id, error.line, error.column) == ("lamp-columns", 5, 3)
        assert error.params == {"found": str(found)}
    several = "\n".join(f"{nm};1;2;3" for nm in range(380, 460, 10)).encode()
    with pytest.raises(ReadError) as caught:
        read_lamp(several, "a")
    assert caught.value.params == {"found": "3"} and caught.value.line == 1


def test_the_commonest_spelling_is_the_spectrum_and_others_are_header():
    other = [f"R{nm}\t{nm}" for nm in range(400, 404)]
    lines = [*other, *(f"{nm}nm\t2" for nm in range(380, 790, 10)), "peak 555nm\t9"]
    lamp = read_lamp("\n".join(lines).encode(), "a")
    assert set(lamp.values.tolist()) == {2.0} and len(lamp.header) == 5


FAULTS = {
    "another root": (b"<?xml version='1.0'?>\n<item/>", "xml-root", 2, 1),
    "a later edition": (tm27().replace(b"IESTM2714", b"IESTM2720"), "xml-root", 2, 1),
    "no namespace": (replaced(tm27(), b' xmlns="iestm2714"', b""), "xml-namespace", 2, 1),
    "another namespace": (tm27(namespace="urn:lamp"), "xml-namespace", 2, 1),
    "a reflectance": (tm27(quantity="reflectance"), "lamp-not-light", 8, 1),
    "an R factor": (tm27(quantity="R-Factor"), "lamp-not-light", 8, 1),
    "no points": (tm27([]), "lamp-no-spectrum", 7, 1),
    "few points": (tm27(POINTS[:5]), "lamp-few", 10, None),
    "a word for a value": (replaced(tm27(), b">4.5<", b">n/a<"), "xml-not-number", 13, 1),
    "not a number": (replaced(tm27(), b">4.5<", b">NaN<"), "xml-not-number", 13, 1),
    "infinity": (replaced(tm27(), b">4.5<", b">INF<"), "xml-not-number", 13, 1),
    "an empty value": (replaced(tm27(), b">4.5<", b"> <"), "number-missing", 13, 1),
    "no wavelength": (replaced(tm27(), b' wavelength="436.0"', b""), "number-missing", 13, 1),
    "micrometres": (replaced(tm27(), b'"436.0"', b'"0.436"'), "lamp-wavelength", 13, None),
    "a wavelength twice": (replaced(tm27(), b'"436.0"', b'"420.0"'), "wavelength-twice", 13, None),
    "back and forth": (replaced(tm27(), b'"436.0"', b'"410.0"'), "lamp-order", 13, None),
    "cut": (tm27()[:-60], "xml-cut", None, None),
    "all dark": (tm27([(nm, 0) for nm, _ in POINTS]), "lamp-dark", 10, None),
    "far below zero": (replaced(tm27(), b">0.8<", b">-0.8<"), "lamp-below-zero", 17, None),
    "text: a word": (replaced(text(), b"436;4.5", b"436;high"), "not-number", 7, 2),
    "text: cut in a line": (text()[: text().index(b"0.05")], "number-missing", 13, 2),
    "text: infinity": (replaced(text(), b"436;4.5", b"436;1e999"), "not-number", 7, 2),
    "text: both marks": (replaced(text(), b"436;4.5", b"436;4,5"), "decimal-mixed", 7, 2),
    "text: a line between": (
        replaced(text(), b"436;", b"mean;7\n436;"),
        "line-not-understood",
        7,
        None,
    ),
    "text: twice": (replaced(text(), b"436;", b"420;"), "wavelength-twice", 7, None),
    "text: out of order": (replaced(text(), b"436;", b"410;"), "lamp-order", 7, None),
    "text: three columns": (
        b"\n".join(b"%d;1;2" % nm for nm in range(400, 500, 10)),
        "lamp-columns",
        1,
        3,
    ),
    "text: decimal commas between commas": (text(",", ","), "lamp-columns", None, 3),
    "text: reflectance": (
        replaced(text(), b"Irradiance", b"Reflectance"),
        "lamp-not-light",
        3,
        2,
    ),
    "text: nothing like it": (b"dear all\nthe lamp is lit\n", "lamp-no-spectrum", None, None),
    "text: an endless line": (b"x" * 10_001, "cell-too-long", 1, None),
    "empty": (b"", "empty", None, None),
    "only blanks": (b" \n ", "empty", None, None),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_the_fault_is_named_by_place(fault):
    data, id, line, column = FAULTS[fault]
    with pytest.raises(ReadError) as caught:
        read_lamp(data, "bad.spdx")
    error = caught.value
    assert error.id == id
    if line is not None:
        assert error.line == line
    if column is not None:
        assert error.column == column
    assert str(error).startswith("bad.spdx") and "%(" not in str(error)


def test_too_many_lines_are_refused_before_they_are_kept(monkeypatch):
    monkeypatch.setattr("method.readers.text.MAX_ROWS", 11)
    with pytest.raises(ReadError) as caught:
        read_lamp(text(), "a.txt")
    assert (caught.value.id, caught.value.line) == ("too-many-rows", 12)


@given(
    st.lists(st.integers(1000, 30_000), min_size=8, max_size=60, unique=True),
    st.randoms(use_true_random=False),
    st.booleans(),
)
@settings(deadline=None, max_examples=60)
def test_any_light_survives_both_forms(tenths, random, falling):
    nm = sorted(one / 10 for one in tenths)
    values = [round(random.uniform(0.001, 9), 6) for _ in nm]
    points = list(zip(nm, values, strict=True))[:: -1 if falling else 1]
    written = "\n".join(f"{a}\t{b}" for a, b in points).encode()
    for data in (tm27(points), written):
        lamp = read_lamp(data, "a")
        assert lamp.wavelengths.tolist() == nm and lamp.values.tolist() == values


@given(st.integers(0, 10**6), st.binary(max_size=3), st.booleans())
@settings(deadline=None, max_examples=300)
def test_damage_is_refused_or_read_as_other_finite_values(place, damage, xml):
    data = tm27() if xml else text()
    place %= len(data)
    try:
        lamp = read_lamp(data[:place] + damage + data[place + 1 :], "damaged")
        assert np.isfinite(lamp.values).all() and (np.diff(lamp.wavelengths) > 0).all()
    except ReadError as error:
        assert error.id in words.MESSAGES
