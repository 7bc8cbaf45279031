"""What CxF3 states of the measurement is taken as stated; what it does not say stays unknown."""

import pytest

from method.readers import ReadError
from method.readers.cxf import read_cxf
from tests.method.cxf_files import colour, cxf, specification, spectrum, thing


@pytest.mark.parametrize(
    ("kind", "measured", "geometry", "quantity"),
    [
        ("ReflectanceSpectrum", "Spectrum_Reflectance", None, "reflectance"),
        ("TransmittanceSpectrum", "Spectrum_Transmittance", None, "transmittance"),
        ("TransmittanceSpectrum", "Spectrum_TotalTransmittance", None, "transmittance"),
        ("EmissiveSpectrum", "Spectrum_Emissive", None, "emission"),
        ("ReflectanceSpectrum", "Spectrum_Emissive", None, "emission"),
        ("ReflectanceSpectrum", "Spectrum_Transmittance", None, "transmittance"),
        (
            "ReflectanceSpectrum",
            "Spectrum_Custom",
            "<EmissiveMode>EmissiveMode_Other</EmissiveMode>",
            "emission",
        ),
        ("ReflectanceSpectrum", "Spectrum_Custom", None, "reflectance"),
    ],
)
def test_light_and_transmittance_are_told_from_surfaces(kind, measured, geometry, quantity):
    spec = specification(geometry=geometry).replace("Spectrum_Reflectance", measured)
    (table,) = read_cxf(cxf([thing(spectrum(kind=kind))], [spec]), "a.cxf").tables
    assert table.quantity == quantity
    assert table.scale == (None if quantity == "emission" else "factor")


def test_the_condition_is_taken_as_stated():
    more = (
        "<CalibrationStandard>lab 7</CalibrationStandard><Aperture>4,5 mm</Aperture>"
        "<Backing>White</Backing><Device><DeviceFilter>Filter_UVExcluded</DeviceFilter>"
        "<DeviceIllumination>M2_UVExcluded</DeviceIllumination></Device>"
    )
    sphere = "<SphereGeometry>Specular_Excluded</SphereGeometry>"
    spec = specification(light="F11", observer="10_Degree", geometry=sphere, more=more)
    (table,) = read_cxf(cxf([thing(spectrum())], [spec]), "a.cxf").tables
    assert {one.key: one.value for one in table.condition} == {
        "illuminant": "F11",
        "observer": "10",
        "geometry": "sphere",
        "specular": "excluded",
        "aperture": "4.5",
        "backing": "white",
        "uv": "M2",
    }
    assert all(one.field == "S1" and one.line == 5 for one in table.condition)
    assert ("cxf-calibration", {"standard": "lab 7", "id": "S1"}) in table.notes


def test_a_filter_that_contradicts_the_measurement_condition_is_not_swallowed():
    more = (
        "<Device><DeviceFilter>Filter_UVExcluded</DeviceFilter>"
        "<DeviceIllumination>M1_Daylight</DeviceIllumination></Device>"
    )
    (table,) = read_cxf(cxf([thing(spectrum())], [specification(more=more)]), "a.cxf").tables
    assert [one.value for one in table.condition if one.key == "uv"] == ["M1", "excluded"]


def test_what_is_not_stated_stays_unknown():
    unknown = "<UnknownGeometry>?</UnknownGeometry>"
    bare = (
        '<ColorSpecification Id="S1"><MeasurementSpec><GeometryChoice>'
        + unknown
        + "</GeometryChoice>"
        '<WavelengthRange StartWL="400" Increment="10"/></MeasurementSpec></ColorSpecification>'
    )
    (table,) = read_cxf(cxf([thing(spectrum())], [bare]), "a.cxf").tables
    assert table.condition == () and table.stated == ()


def test_angles_without_their_spectra_are_said():
    several = "<MultiAngle>" + "<BRDFAngle/>" * 5 + "</MultiAngle>"
    spec = specification(geometry=several)
    (table,) = read_cxf(cxf([thing(spectrum())], [spec]), "a.cxf").tables
    assert ("cxf-multi-angle", {"count": "5", "id": "S1"}) in table.notes


def test_a_custom_illuminant_and_observer_are_named_as_written():
    for name, value in ((' Name="booth 2"', "booth 2"), ("", "custom")):
        spec = (
            specification(observer="Custom_CMF")
            .replace("<Illuminant>D50", f"<CustomIlluminant{name}>")
            .replace("</Illuminant>", "</CustomIlluminant>")
        )
        (table,) = read_cxf(cxf([thing(spectrum() + colour((1, 2, 3)))], [spec]), "a.cxf").tables
        assert (table.stated[0].illuminant, table.stated[0].observer) == (value, "Custom_CMF")


def test_a_specification_without_measurement_gives_colours_only():
    bare = '<ColorSpecification Id="S1"/>'
    (table,) = read_cxf(cxf([thing(colour((1, 2, 3)))], [bare]), "a.cxf").tables
    assert table.condition == () and table.quantity == "unknown"
    with pytest.raises(ReadError) as caught:
        read_cxf(cxf([thing(spectrum())], [bare]), "a.cxf")
    assert caught.value.id == "cxf-range-missing"


def test_the_geometry_is_taken_in_its_direction_and_only_where_both_angles_are_given():
    inside = "<SingleAngleConfiguration>Uniplanar</SingleAngleConfiguration>"
    light, eye = (
        "<IlluminationAngle>0</IlluminationAngle>",
        "<MeasurementAngle>45</MeasurementAngle>",
    )
    for angles, expected in ((light + eye, ["0:45"]), (light, []), (eye, [])):
        geometry = f"<SingleAngle>{inside}{angles}</SingleAngle>"
        spec = specification(geometry=geometry)
        (table,) = read_cxf(cxf([thing(spectrum())], [spec]), "a.cxf").tables
        pieces = [one for one in table.condition if one.key == "geometry"]
        assert [one.value for one in pieces] == expected
        assert all(one.text == "SingleAngle Uniplanar" and one.field == "S1" for one in pieces)


@pytest.mark.parametrize(
    ("light", "filter", "expected"),
    [
        ("M0_Incandescent", "Filter_None", ["M0"]),
        ("M2_UVExcluded", "Filter_None", ["M2", "included"]),
        ("LED", "Filter_None", ["included"]),
        ("LED", "Filter_UVExcluded", ["excluded"]),
        ("M3_Polarized", None, ["M3"]),
        (None, "Filter_Custom", []),
    ],
)
def test_the_ultraviolet_in_the_light_is_taken_from_what_is_given(light, filter, expected):
    given = f"<DeviceFilter>{filter}</DeviceFilter>" if filter else ""
    given += f"<DeviceIllumination>{light}</DeviceIllumination>" if light else ""
    spec = specification(more=f"<Device>{given}</Device>")
    (table,) = read_cxf(cxf([thing(spectrum())], [spec]), "a.cxf").tables
    assert [one.value for one in table.condition if one.key == "uv"] == expected
