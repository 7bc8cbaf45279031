"""Colour arithmetic: arrays in, arrays out. NumPy only; no files but its own table of weights."""

from colorimetry.difference import Components, ciede2000, components
from colorimetry.errors import DomainError, GridError
from colorimetry.measured_lamp import lamp_weights
from colorimetry.numbers import quantise
from colorimetry.spectral_power import SpectralPower
from colorimetry.tristimulus import lab, xyz
from colorimetry.weights import ILLUMINANTS, OBSERVERS, STEPS, Grid, diffuser, weights, white

__all__ = [
    "ILLUMINANTS",
    "OBSERVERS",
    "STEPS",
    "Components",
    "DomainError",
    "Grid",
    "GridError",
    "SpectralPower",
    "ciede2000",
    "components",
    "diffuser",
    "lab",
    "lamp_weights",
    "quantise",
    "weights",
    "white",
    "xyz",
]
