"""Virtual specimens for tests: constructed from the open CIE 13.3 samples, not from any standard.

The comparison specimen of each visible pair is its standard plus a metameric black: the part of
another sample that the light and the 10 degree observer do not see (projection by the
pseudo-inverse of illuminant times colour-matching functions; the method of Cohen and Kappauf, from
memory). The ultraviolet pairs have an invented brightener and a standard that returns the
same light under the illuminant.
"""

import numpy as np

from colorimetry.light.daylight import light_tables, named_daylight
from colorimetry.spectral_power import colour_matching

NM = np.arange(380, 781, 5)
SAMPLES = np.array(light_tables()["samples"])[:, 4:]


def text(table, nm=NM, decimals=7):
    """A table (columns, rows) as a user's text with the wavelength in front."""
    lines = [
        ",".join([str(w), *(f"{value:.{decimals}f}" for value in row)])
        for w, row in zip(nm, table.T, strict=True)
    ]
    return "nm,1,2,3,4,5\n" + "\n".join(lines) + "\n"


def visible(illuminant="D65"):
    """Standards and comparison specimens, each (5, 81)."""
    light = named_daylight(illuminant).values[16:]
    seen = (light * colour_matching(10)[:, 20::5]).T
    unseen = np.eye(81) - seen @ np.linalg.pinv(seen)
    standards = SAMPLES[[0, 2, 4, 5, 6]]
    return standards, standards + 0.3 * SAMPLES[[8, 9, 13, 11, 12]] @ unseen


def ultraviolet(illuminant="D65"):
    """Standards (3, 81), reflected (3, 81), excitation (3, 33), emission (3, 81)."""
    power = named_daylight(illuminant).values
    reflected = 0.55 / (1.0 + np.exp((400 - NM) / np.array([[8.0], [9.0], [10.0]])))
    excited = np.arange(300, 461, 5)
    excitation = np.exp(-(((excited - 370) / 30) ** 2)) * np.array([[0.06], [0.12], [0.2]])
    emission = np.exp(-(((NM - 440) / 25) ** 2)) * np.array([[0.020], [0.021], [0.022]])
    caught = 5 * (excitation * power[:33]).sum(axis=1)
    standards = reflected + caught[:, None] * emission / power[16:]
    return standards, reflected, excitation, emission


def ultraviolet_texts(illuminant="D65"):
    """The four texts of the ultraviolet pairs."""
    excited = np.arange(300, 461, 5)
    standards, reflected, excitation, emission = ultraviolet(illuminant)
    return text(standards), text(reflected), text(excitation, excited), text(emission)
