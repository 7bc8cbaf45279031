"""The reader of CxF3: every spectrum under its own specification; the rest said or refused."""

import math
from pathlib import Path

import colour_cxf
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from colorimetry import Grid, ciede2000, lab, weights, xyz
from method.readers import ReadError, read, resolve, words
from method.readers.cxf import NAMESPACE, read_cxf
from tests.method.cxf_files import SPECTRUM, colour, cxf, specification, spectrum, thing


def real():
    """The real file of 144 objects inside the reference library."""
    (path,) = (Path(colour_cxf.__file__).parent / "tests" / "resources").glob("*.cxf")
    return path


def ids(notes):
    """Ids of notes."""
    return [id for id, _ in notes]


def test_a_real_file_is_read_as_the_reference_library_reads_it():
    (table,) = read_cxf(real().read_bytes(), "a.cxf").tables
    theirs = colour_cxf.read_cxf_from_file(real())
    objects = theirs.resources.object_collection.object_value
    assert table.labels == tuple(one.name for one in objects) and len(objects) == 144
    for row, one in enumerate(objects):
        for value in one.color_values.choice:
            kind = type(value).__name__
            if kind == "ReflectanceSpectrum":
                assert table.values[row].tolist() == value.value
                assert table.wavelengths[0] == value.start_wl
            if kind == "ColorCielab":
                assert table.stated[0].values[row].tolist() == [value.l, value.a, value.b]
    assert table.wavelengths == tuple(range(380, 690, 10)) and table.scale == "factor"
    assert [(one.key, one.value) for one in table.condition] == [
        ("illuminant", "D50"),
        ("observer", "2"),
        ("geometry", "45:0"),
    ]


def test_stated_colours_of_the_real_file_agree_with_its_spectra():
    """Source: samples/README.md: stated against computed, D50/2 degrees, E308 weights with the
    ends folded in: mean CIEDE2000 0.058, largest 0.153 (the range stops at 680 nm)."""
    (table,) = read_cxf(real().read_bytes(), "a.cxf").tables
    (stated,) = table.stated
    assert (stated.space, stated.illuminant, stated.observer) == ("lab", "D50", "2")
    full = weights("D50", 2, Grid(360, 780, 10))
    folded = full[:, 2:33].copy()
    folded[:, 0] += full[:, :2].sum(axis=1)
    folded[:, -1] += full[:, 33:].sum(axis=1)
    computed = lab(xyz(table.values, folded), folded.sum(axis=1))
    difference = ciede2000(computed, stated.values)
    assert round(float(difference.mean()), 3) == 0.058
    assert round(float(difference.max()), 3) == 0.153


def test_each_spectrum_takes_the_increment_of_its_own_specification():
    objects = [
        thing(spectrum(spec="fine", more=' StartWL="360"'), "a"),
        thing(spectrum(spec="coarse"), "b", "i2"),
        thing(spectrum(spec="fine", more=""), "c", "i3"),
    ]
    specs = [specification("coarse", 400, 20), specification("fine", 360, 5)]
    one, other = read_cxf(cxf(objects, specs), "a.cxf").tables
    assert (one.name, one.labels) == ("fine", ("a", "c"))
    assert one.wavelengths == tuple(range(360, 410, 5))
    assert (other.name, other.labels) == ("coarse", ("b",))
    assert other.wavelengths == tuple(range(400, 600, 20))
    assert one.lines == (3, 7) and other.lines == (5,)


def test_a_start_of_its_own_is_taken_and_the_disagreement_said():
    data = cxf([thing(spectrum(more=' StartWL="380"'))])
    (table,) = read_cxf(data, "a.cxf").tables
    assert table.wavelengths[0] == 380
    assert ("cxf-start-disagrees", {"stated": "400", "found": "380"}) in table.notes


@pytest.mark.parametrize(
    "name",
    ["漢字 & <ñ>", "العربية", "zero\u200bwidth", "two\nlines", "=1+1", "🎨", "\u202eright to left"],
)
def test_names_in_any_script_are_kept(name):
    escaped = (
        name.replace("&", "&amp;")
        .replace("<", "&lt;")
        .replace('"', "&quot;")
        .replace("\n", "&#10;")
    )
    (table,) = read_cxf(cxf([thing(spectrum(), escaped)]), "a.cxf").tables
    assert table.labels == (name,)


def test_an_object_without_a_name_is_called_by_its_id_and_without_both_by_its_number():
    objects = [thing(spectrum(), ""), thing(spectrum(), " ", "")]
    contents = read_cxf(cxf(objects), "a.cxf")
    assert contents.tables[0].labels == ("i1", "2")
    assert ("cxf-id-missing", {"count": "1"}) in contents.notes


def test_objects_without_values_are_said_and_not_failed():
    contents = read_cxf(cxf([thing(), thing(spectrum(), "b", "i2")]), "a.cxf")
    assert ("cxf-no-values", {"count": "1", "label": "invented"}) in contents.notes
    assert contents.tables[0].labels == ("b",)
    contents = read_cxf(cxf([thing(), thing(name="b", id="i2")], []), "a.cxf")
    (table,) = contents.tables
    assert table.labels == ("invented", "b") and not table.spectral and table.stated == ()
    assert table.values.shape == (2, 0)


def test_repeated_ids_are_said():
    contents = read_cxf(cxf([thing(spectrum()), thing(spectrum(), "b")]), "a.cxf")
    assert ("cxf-id-twice", {"count": "1", "id": "i1"}) in contents.notes
    assert contents.tables[0].labels == ("invented", "b")


def test_resources_of_other_makers_are_left_alone_and_said():
    more = (
        '<CustomResources><m:x xmlns:m="urn:maker"><m:y/><Object xmlns="'
        + NAMESPACE
        + '" Name="hidden"/></m:x></CustomResources>'
    )
    contents = read_cxf(cxf([thing(spectrum())], more=more), "a.cxf")
    assert ("foreign-left", {"count": "1"}) in contents.notes
    assert contents.tables[0].labels == ("invented",)


def test_spectra_of_an_unsaid_kind_are_asked_about():
    points = "".join(f'<SpectralPoint WL="{nm}">0.05</SpectralPoint>' for nm in range(400, 710, 10))
    custom = f'<CustomSpectrum ColorSpecification="S1">{points}</CustomSpectrum>'
    spec = specification().replace("Spectrum_Reflectance", "Spectrum_Custom")
    reading = read(cxf([thing(custom)], [spec]), "a.cxf")
    assert [one.id for one in reading.questions] == ["surface"]
    assert reading.oddities[0].id == "cxf-kind-unsaid"
    assert resolve(reading, {"surface": "surface"}).values.max() == 0.05
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"surface": "emission"})
    assert caught.value.id == "not-reflectance"


def test_percent_against_the_schema_is_put_in_doubt_and_said():
    (table,) = read_cxf(cxf([thing(spectrum([v * 100 for v in SPECTRUM]))]), "a.cxf").tables
    assert table.scale is None
    assert ("cxf-above-factor", {"largest": "100"}) in table.notes


def test_stated_colours_carry_their_own_condition():
    values = (
        spectrum()
        + colour((50, 1, 2))
        + colour((60, 3, 4), "S2")
        + colour((30, 31, 32), "S2", "ColorCIEXYZ", "XYZ")
    )
    specs = [specification(), specification("S2", light="D65", observer="10_Degree")]
    objects = [thing(values, "a"), thing(spectrum(), "b", "i2")]
    (table,) = read_cxf(cxf(objects, specs), "a.cxf").tables
    said = {(one.space, one.illuminant, one.observer): one.values for one in table.stated}
    assert set(said) == {("lab", "D50", "2"), ("lab", "D65", "10"), ("xyz", "D65", "10")}
    assert said["lab", "D50", "2"][0].tolist() == [50, 1, 2]
    assert np.isnan(said["lab", "D65", "10"][1]).all()


def test_colours_go_with_the_spectrum_of_their_specification():
    values = spectrum() + spectrum(SPECTRUM[::-1], "S2") + colour((50, 1, 2), "S2")
    specs = [specification(), specification("S2")]
    one, other = read_cxf(cxf([thing(values)], specs), "a.cxf").tables
    assert one.stated == () and other.stated[0].values.tolist() == [[50, 1, 2]]
    assert "cxf-colours-unmatched" in ids(one.notes)


def test_repeated_readings_of_an_object_keep_their_order():
    values = spectrum() + spectrum(SPECTRUM[::-1]) + colour((50, 1, 2)) + colour((51, 1, 2))
    (table,) = read_cxf(cxf([thing(values)]), "a.cxf").tables
    assert table.labels == ("invented", "invented")
    assert table.values.tolist() == [SPECTRUM, SPECTRUM[::-1]]
    assert table.stated[0].values[:, 0].tolist() == [50, 51]


def test_colours_alone_make_a_table_without_spectra():
    objects = [
        thing(
            colour((50, 3, 4))
            + colour((50, 5, math.degrees(math.atan2(4, 3))), kind="ColorCIELCh", letters="LCH")
        ),
        thing(colour((60, 0, 1), "gone"), "b", "i2"),
        thing(colour((70, 10, 90), kind="ColorCIELCh", letters="LCH"), "c", "i3"),
    ]
    first, second = read_cxf(cxf(objects), "a.cxf").tables
    assert first.labels == ("invented", "c") and not first.spectral
    lab_values = first.stated[0]
    assert lab_values.values[0].tolist() == [50, 3, 4] and lab_values.chroma_hue[0, 0] == 5
    assert second.labels == ("b",) and second.stated[0].illuminant is None
    (alone,) = read_cxf(cxf(objects[2:]), "a.cxf").tables
    assert np.allclose(alone.stated[0].values, [[70, 0, 10]], atol=1e-12)


def test_what_cannot_be_used_is_left_out_and_said():
    points = "".join(f'<SpectralPoint WL="{nm}">0.5</SpectralPoint>' for nm in range(470, 390, -10))
    values = (
        spectrum()
        + '<PrivateSpectrum KeyID="k" ColorSpecification="S1">AAAA</PrivateSpectrum>'
        + spectrum([0.5])
        + f'<CustomSpectrum ColorSpecification="S1">{points}</CustomSpectrum>'
    )
    contents = read_cxf(cxf([thing(values)]), "a.cxf")
    assert {"cxf-private", "cxf-short", "cxf-lengths-differ"} <= set(ids(contents.notes))
    assert [len(one.wavelengths) for one in contents.tables] == [10, 8]
    assert contents.tables[1].wavelengths == tuple(range(400, 480, 10))
    said = [*contents.notes, *(note for one in contents.tables for note in one.notes)]
    assert all(words.ODDITIES[id] % params for id, params in said)


@pytest.mark.parametrize(
    ("start", "increment", "read_it"),
    [(200, 10, True), (199, 10, False), (200, 100, True), (201, 100, False)],
)
def test_spectra_lie_between_200_and_1100_nm(start, increment, read_it):
    data = cxf([thing(spectrum(more=""))], [specification(start=start, increment=increment)])
    if read_it:
        assert read_cxf(data, "a.cxf").tables[0].wavelengths[0] == start
        return
    with pytest.raises(ReadError) as caught:
        read_cxf(data, "a.cxf")
    assert caught.value.id == "cxf-range"
    assert caught.value.params == {"first": str(start), "last": str(start + 9 * increment)}


def test_a_start_that_only_the_spectrum_gives_is_enough_and_the_same_start_is_no_remark():
    spec = specification().replace('StartWL="400" ', "")
    for specs in ([spec], [specification()]):
        (table,) = read_cxf(cxf([thing(spectrum())], specs), "a.cxf").tables
        assert table.wavelengths == tuple(range(400, 500, 10)) and table.notes == ()


def test_the_largest_value_of_the_schema_is_a_factor():
    (table,) = read_cxf(cxf([thing(spectrum([0.5] * 9 + [3.0]))]), "a.cxf").tables
    assert table.scale == "factor" and table.notes == ()


def test_the_first_of_several_odd_objects_is_named():
    short = spectrum([0.5])
    objects = [
        thing("", "n1", "x"),
        thing("", "n2", "x"),
        thing(short, "n3", "y"),
        thing(short, "n4", "y"),
        thing(short, "n5", "z"),
    ]
    assert dict(read_cxf(cxf(objects), "a.cxf").notes) == {
        "cxf-id-twice": {"count": "2", "id": "x"},
        "cxf-no-values": {"count": "2", "label": "n1"},
        "cxf-short": {"count": "3", "label": "n3"},
    }


def test_colours_alone_are_parted_by_specification_and_repeated_ones_are_readings():
    values = (
        colour((50, 1, 2))
        + colour((51, 1, 2))
        + colour((20, 21, 22), kind="ColorCIEXYZ", letters="XYZ")
        + colour((60, 3, 4), "S2")
    )
    specs = [specification(), specification("S2", light="D65")]
    one, other = read_cxf(cxf([thing(values)], specs), "a.cxf").tables
    assert (one.name, one.labels, one.quantity) == ("S1", ("invented",) * 2, "reflectance")
    said = {found.space: found for found in one.stated}
    assert said["lab"].values[:, 0].tolist() == [50, 51] and said["lab"].fields == ("L", "A", "B")
    assert said["xyz"].values[0].tolist() == [20, 21, 22] and np.isnan(said["xyz"].values[1]).all()
    assert said["xyz"].fields == ("X", "Y", "Z") and said["lab"].chroma_hue is None
    assert other.labels == ("invented",) and len(other.stated) == 1
    assert other.stated[0].values.tolist() == [[60, 3, 4]]
    assert other.stated[0].illuminant == "D65"


def test_chroma_and_hue_before_lab_are_still_one_set_of_colours():
    polar = colour((50, 5, 90), kind="ColorCIELCh", letters="LCH")
    both = polar + colour((50, 0, 5)) + colour((1, 2, 3), kind="ColorCIEXYZ", letters="XYZ")
    (table,) = read_cxf(cxf([thing(both)]), "a.cxf").tables
    assert [one.space for one in table.stated] == ["lab", "xyz"]
    assert table.stated[0].chroma_hue.tolist() == [[5, 90]]
    (table,) = read_cxf(cxf([thing(polar)]), "a.cxf").tables
    assert table.stated[0].fields == ("L", "C", "H") and table.stated[0].chroma_hue is None
    assert np.allclose(table.stated[0].values, [[50, 0, 5]], atol=1e-12)


def test_three_readings_of_an_object_take_their_colours_in_order():
    values = spectrum() * 3 + "".join(colour((at, 0, 0)) for at in (1, 2))
    contents = read_cxf(cxf([thing(values)]), "a.cxf")
    lightness = contents.tables[0].stated[0].values[:, 0]
    assert lightness[:2].tolist() == [1, 2] and np.isnan(lightness[2])
    assert "cxf-colours-unmatched" in ids(contents.tables[0].notes)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1"])
def test_every_usual_encoding_is_read(encoding):
    declared = {"utf-8-sig": "utf-8"}.get(encoding, encoding)
    text = cxf(
        [thing(spectrum(), "gr\u00fcn")], head=f'<?xml version="1.0" encoding="{declared}"?>'
    )
    (table,) = read_cxf(text.decode().encode(encoding), "a.cxf").tables
    assert table.labels == ("gr\u00fcn",)


@given(
    st.lists(st.lists(st.integers(-99, 2999), min_size=8, max_size=40), min_size=1, max_size=5),
    st.sampled_from([1, 5, 10, 20]),
    st.integers(360, 400),
)
@settings(deadline=None, max_examples=60)
def test_any_values_survive_and_are_what_the_reference_library_reads(table, step, start):
    rows = [[value / 1000 for value in row] for row in table]
    objects = [
        thing(spectrum(row, more=f' StartWL="{start}"'), f"n{at}", f"i{at}")
        for at, row in enumerate(rows)
    ]
    data = cxf(objects, [specification(start=start, increment=step)])
    if start + step * 39 > 1100:
        return
    found = {}
    for one in read_cxf(data, "a.cxf").tables:
        assert all(
            b - a == step for a, b in zip(one.wavelengths, one.wavelengths[1:], strict=False)
        )
        found |= {label: row.tolist() for label, row in zip(one.labels, one.values, strict=True)}
    theirs = colour_cxf.read_cxf(data).resources.object_collection.object_value
    assert found == {one.name: one.color_values.choice[0].value for one in theirs}
    assert found == {f"n{at}": row for at, row in enumerate(rows)}


def test_objects_of_one_name_are_said_to_be_repeated_readings():
    names = ["a", "b", "a", "c", "b"]
    data = cxf([thing(spectrum(), name, f"i{at}") for at, name in enumerate(names)])
    (table,) = read_cxf(data, "a.cxf").tables
    assert ("repeated-labels", {"count": "2"}) in table.notes and list(table.labels) == names


def test_further_resources_are_said_and_not_read():
    data = cxf([thing(spectrum())], more="<Resources><ObjectCollection/></Resources>" * 2)
    notes = dict(read_cxf(data, "a.cxf").notes)
    assert notes["cxf-resources-left"] == {"count": "2", "line": "5"}


@pytest.mark.parametrize("codec", ["utf-16-le", "utf-16-be"])
def test_wide_characters_without_a_mark_are_told_by_their_first_character(codec):
    text = cxf([thing(spectrum())]).decode()
    for head in ('<?xml version="1.0" encoding="UTF-16"?>', ""):
        data = text.replace('<?xml version="1.0"?>\n', head).encode(codec)
        assert read(data, "a.cxf").format == "cxf3"
