"""Colour arithmetic: arrays in, arrays out. NumPy only; no files but its own table of weights."""

from colorimetry.difference import Components, ciede2000, components
from colorimetry.errors import DomainError, GridError
from colorimetry.numbers import quantise
from colorimetry.tristimulus import lab, xyz
from colorimetry.weights import ILLUMINANTS, OBSERVERS, STEPS, Grid, weights, white

__all__ = [
    "ILLUMINANTS",
    "OBSERVERS",
    "STEPS",
    "Components",
    "DomainError",
    "Grid",
    "GridError",
    "ciede2000",
    "components",
    "lab",
    "quantise",
    "weights",
    "white",
    "xyz",
]
