"""A framed text whose names of fields and data are parted by semicolons or commas."""

import numpy as np
import pytest

from method.readers import read, resolve
from tests.method.odd_files import LABELS, framed, named, rows_of, smooth


@pytest.mark.parametrize("separator", [";", ",", "; "])
def test_names_of_fields_may_be_parted_like_the_data(separator):
    data = framed(named(), rows_of(), separator=separator).encode()
    spectra = resolve(read(data, "a"), {})
    assert spectra.labels == tuple(LABELS)
    assert np.abs(spectra.values - smooth()).max() < 1e-12
