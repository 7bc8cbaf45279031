"""Writes invented CxF3 files, piece by piece, so that any piece can be wrong."""

from __future__ import annotations

from method.readers.cxf import NAMESPACE

SPECTRUM = [0.05, 0.0625, 0.1, 0.25, 0.5, 0.75, 0.8125, 0.9, 0.95, 1.0]


def spectrum(values=SPECTRUM, spec="S1", kind="ReflectanceSpectrum", more=' StartWL="400"'):
    """One spectrum element."""
    return f'<{kind}{more} ColorSpecification="{spec}">{" ".join(map(str, values))}</{kind}>'


def colour(values, spec="S1", kind="ColorCIELab", letters="LAB"):
    """One colour element."""
    inner = "".join(f"<{k}>{v}</{k}>" for k, v in zip(letters, values, strict=True))
    return f'<{kind} ColorSpecification="{spec}">{inner}</{kind}>'


def thing(values="", name="invented", id="i1", kind="Standard"):
    """One object, on two lines."""
    inner = f"<ColorValues>{values}</ColorValues>" if values else "<Comment>none</Comment>"
    return f'<Object ObjectType="{kind}" Name="{name}" Id="{id}">\n{inner}</Object>'


def specification(
    id="S1", start=400, increment=10, light="D50", observer="2_Degree", geometry=None, more=""
):
    """One specification."""
    geometry = geometry or (
        "<SingleAngle><SingleAngleConfiguration>Annular</SingleAngleConfiguration>"
        "<IlluminationAngle>45</IlluminationAngle><MeasurementAngle>0</MeasurementAngle>"
        "</SingleAngle>"
    )
    where = f'<WavelengthRange StartWL="{start}" Increment="{increment}"/>' if increment else ""
    return (
        f'<ColorSpecification Id="{id}"><TristimulusSpec><Illuminant>{light}</Illuminant>'
        f"<Observer>{observer}</Observer><Method>E308_Table5</Method></TristimulusSpec>"
        "<MeasurementSpec><MeasurementType>Spectrum_Reflectance</MeasurementType>"
        f"<GeometryChoice>{geometry}</GeometryChoice>{where}{more}</MeasurementSpec>"
        "</ColorSpecification>"
    )


def cxf(objects, specs=None, more="", namespace=NAMESPACE, head='<?xml version="1.0"?>'):
    """An invented CxF3 file: objects begin on line 3."""
    specs = [specification()] if specs is None else specs
    return (
        f'{head}\n<CxF xmlns="{namespace}"><Resources><ObjectCollection>\n'
        + "\n".join(objects)
        + "</ObjectCollection>\n<ColorSpecificationCollection>"
        + "\n".join(specs)
        + f"</ColorSpecificationCollection></Resources>{more}</CxF>"
    ).encode()
