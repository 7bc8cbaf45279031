"""Light, transmittance and absorbance in text are never taken for reflectances in silence."""

import numpy as np
import pytest

from method.readers import ReadError, read, resolve
from tests.method.odd_files import framed, named

NM = range(400, 701, 10)
VALUES = (0.05 + np.arange(31) / 50).round(3)


def by_row(spelling="{}", above=""):
    lines = [above] if above else []
    lines.append("\t".join(["SAMPLE_ID", *(spelling.format(nm) for nm in NM)]))
    lines.append("\t".join(["A", *map(str, VALUES)]))
    return "\n".join([*lines, ""]).encode()


def by_column(name, first="nm"):
    rows = [f"{nm}\t{value}" for nm, value in zip(NM, VALUES, strict=True)]
    return "\n".join([f"{first}\t{name}", *rows, ""]).encode()


UNITS = [
    "W/(m2 sr nm)", "W/(m² nm)", "W/m2/nm", "mW·m-2·nm-1", "W·sr−1·m−2·nm−1", "uW/cm2/nm",
    "µW/cm²/nm", "W m-2 nm-1", "W/nm", "W/(m^2·nm)", "Irradiance", "Radiance",
    "Spectral power distribution", "Transmittance", "Transmission", "Absorbance",
    "K/S", "LED lamp spectrum",
]  # fmt: skip


@pytest.mark.parametrize("unit", UNITS)
def test_a_unit_or_quantity_above_a_table_is_asked_about(unit):
    reading = read(by_row(above=f"Unit {unit}"), "a")
    assert [one.id for one in reading.questions] == ["surface"]
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"surface": "emission"})
    assert caught.value.id == "not-reflectance"
    assert np.array_equal(resolve(reading, {"surface": "surface"}).values, [VALUES])


@pytest.mark.parametrize("unit", [*UNITS, "T (%)", "%T", "SPD"])
def test_a_unit_or_quantity_as_name_of_a_column_is_asked_about(unit):
    assert "surface" in [one.id for one in read(by_column(unit), "a").questions]


@pytest.mark.parametrize(
    "spelling",
    ["Radiance {} nm", "Transmittance {} nm", "Absorbance {}", "T{}", "%T{}", "Irradiance_{}"],
)
def test_names_of_bands_that_speak_of_something_else_are_asked_about(spelling):
    assert "surface" in [one.id for one in read(by_row(spelling), "a").questions]


def test_a_framed_transmission_is_asked_about():
    data = framed(
        named("nm{}", NM), [["A", *VALUES]], keywords=['MEASUREMENT_MODE "Transmission"']
    ).encode()
    assert [one.id for one in read(data, "a").questions] == ["surface"]


@pytest.mark.parametrize(
    "words",
    ["Reflectance", "Radiance factor", "W-100 white", "Wall paint, monthly mean", "Red 400 W"],
)
def test_words_of_surfaces_are_not_asked_about(words):
    assert read(by_row(above=words), "a").questions == ()
    assert read(by_column(words), "a").questions == ()


@pytest.mark.parametrize("layout", ["rows", "columns"])
def test_a_value_too_large_is_named_by_its_place(layout):
    data = (by_row() if layout == "rows" else by_column("A")).replace(b"0.15", b"512.5", 1)
    with pytest.raises(ReadError) as caught:
        read(data, "a")
    error = caught.value
    assert (error.id, error.field) == ("not-reflectance", "450 nm")
    assert (error.line, error.column) == ((2, None) if layout == "rows" else (None, 2))
