"""Verdict numbers have the same bits whatever kernels the BLAS library chooses.

OPENBLAS_CORETYPE makes NumPy's OpenBLAS take the kernels of another processor. A fresh process
computes Lab and CIEDE2000 on the verdict's path, and a bare matrix product, with each of them.
"""

import os
import platform
import re
import subprocess
import sys
from functools import cache

import numpy as np
import pytest

CORES = ("Prescott", "Nehalem", "Sandybridge", "Haswell", "Zen", "SkylakeX")
PROGRAM = """
import hashlib
import numpy as np
from colorimetry import Grid, ciede2000, lab, weights, white, xyz
from colorimetry.measured_lamp import lamp_weights
from colorimetry.spectral_power import SpectralPower

grid = Grid(400, 700, 10)
table = np.random.default_rng(7).random((2001, 31))
lamp = SpectralPower(Grid(380, 780, 5), 1.0 + np.random.default_rng(8).random(81))
made = []
for factors, reference in (
    (weights("D65", 10, grid), white("D65", 10, grid)),
    (weights("F11", 2, grid), white("F11", 2, grid)),
    (lamp_weights(lamp, 10, grid, interpolation="sprague"), [95.0, 100.0, 105.0]),
):
    found = lab(xyz(table, factors), reference)
    made += [factors, found, ciede2000(found[:-1], found[1:])]
print(hashlib.sha256(b"".join(part.tobytes() for part in made)).hexdigest())
print(hashlib.sha256((table @ weights("D65", 10, grid).T).tobytes()).hexdigest())
"""


@cache
def run(core):
    """The kernel that was really taken, the digest of our path and that of a bare product."""
    surroundings = {**os.environ, "OPENBLAS_CORETYPE": core, "OPENBLAS_VERBOSE": "2"}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        env=surroundings,
        capture_output=True,
        text=True,
        check=True,
    )
    taken = re.search(r"Core: (\w+)", done.stderr + done.stdout)
    ours, product = re.findall(r"^[0-9a-f]{64}$", done.stdout, re.MULTILINE)
    return (taken[1] if taken else None), ours, product


def openblas():
    """Whether NumPy was built with an OpenBLAS that chooses kernels at run time."""
    return "openblas" in np.show_config(mode="dicts")["Build Dependencies"]["blas"]["name"]


@pytest.mark.skipif(
    platform.machine() not in {"x86_64", "AMD64"} or not openblas(),
    reason="kernels can be chosen by name in OpenBLAS on x86 only",
)
def test_lab_and_ciede2000_have_the_same_bytes_with_the_kernels_of_every_processor():
    kernels, ours, products = zip(*(run(core) for core in CORES), strict=True)
    assert len(set(kernels) - {None}) >= 3, f"too few kernels were really taken: {kernels}"
    assert len(set(products)) >= 2, f"a bare product cannot tell the kernels apart: {kernels}"
    assert len(set(ours)) == 1, dict(zip(CORES, ours, strict=True))


def simd():
    """The groups of processor instructions that NumPy uses here beyond its baseline."""
    return np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])


@pytest.mark.skipif(not simd(), reason="NumPy has no instructions to leave out here")
def test_without_numpys_wide_instructions_xyz_is_bit_equal_and_lab_equal_to_1e_12():
    # cube root, arctangent and the like differ in their last bits: hence each value is quantised
    program = PROGRAM.split("print(")[0] + (
        "import sys\n"
        "sums = [xyz(table, weights('D65', 10, grid)), made[6]]\n"
        "parts = [part.ravel() for part in sums + made]\n"
        "sys.stdout.buffer.write(np.concatenate(parts).tobytes())\n"
    )
    results = []
    for left_out in ("", " ".join(simd())):
        surroundings = {**os.environ, "NPY_DISABLE_CPU_FEATURES": left_out}
        done = subprocess.run(
            [sys.executable, "-c", program], env=surroundings, capture_output=True, check=False
        )
        assert done.returncode == 0, done.stderr.decode()
        results.append(np.frombuffer(done.stdout))
    with_them, without = results
    sums = 2001 * 3 + 3 * 31
    assert with_them[:sums].tobytes() == without[:sums].tobytes()
    assert np.abs(with_them - without).max() < 1e-12
