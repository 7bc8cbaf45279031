"""The short way reads blanks and plain quotation marks as the careful way does, or hands back."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from method.readers import ReadError
from method.readers.quick import quick_lines
from method.readers.table import by_row, label_columns, separate
from method.readers.text import rows

NM = range(400, 481, 10)
DELIMITERS = {"spaces": " ", "comma": ",", "semicolon": ";", "tab": "\t"}


def both(body, word):
    """What the short and the careful way make of lines; None where one refuses."""
    header = DELIMITERS[word].join(["SAMPLE_ID", *map(str, NM)])
    text = "\n".join([header, *body]) + "\n"
    _, found, head = separate(header + "\n", "a")
    _, label = label_columns(head[0], found[0])
    quick = quick_lines(list(body), 2, word, head[0], found[0], label)
    plain = text.replace("\t", " ") if word == "spaces" else text
    try:
        careful = by_row(list(rows(plain, DELIMITERS[word], "a")), found[0], "a", label)
    except ReadError:
        careful = None
    return quick, careful


def same(quick, careful):
    return (
        np.array_equal(quick.values, careful.values)
        and quick.labels == careful.labels
        and quick.lines == careful.lines
    )


@pytest.mark.parametrize("gap", [" ", "   ", "\t", " \t "])
def test_blanks_however_many_go_the_short_way(gap):
    body = [gap.join([label, *("0.1234" for _ in NM)]) for label in "AB"]
    quick, careful = both([*body, f" {body[0]} "], "spaces")
    assert quick is not None and same(quick, careful)


@pytest.mark.parametrize("word", ["comma", "semicolon", "tab"])
@pytest.mark.parametrize("all_cells", [True, False])
def test_cells_in_marks_go_the_short_way(word, all_cells):
    cells = ['"0.1234"' if all_cells else "0.1234"] * len(NM)
    body = [DELIMITERS[word].join([f'"{label} 1"', *cells]) for label in "AB"]
    quick, careful = both(body, word)
    assert quick is not None and same(quick, careful)


@pytest.mark.parametrize(
    "label",
    ['"A, 1"', '"A" grade', 'A "grade"', '"A ""1"""', '"A', 'A"', '""', '"#1"', ' "A"', '"A" '],
)
def test_other_marks_are_read_as_the_careful_way_reads_them(label):
    body = [",".join([one, *("0.1" for _ in NM)]) for one in (label, "B")]
    quick, careful = both(body, "comma")
    assert quick is None or same(quick, careful)


@given(
    st.lists(
        st.lists(st.sampled_from(['"', '""', ",", " ", "\t", "0.1", "A", "#", "\xa0", "1e3"]),
                 min_size=1, max_size=30).map("".join),
        min_size=1, max_size=4,
    ),
    st.sampled_from(sorted(DELIMITERS)),
)  # fmt: skip
@settings(deadline=None, max_examples=300)
def test_what_the_short_way_takes_is_what_the_careful_way_takes(starts, word):
    mark = DELIMITERS[word]
    body = [start + mark + mark.join("0.2" for _ in NM[1:]) for start in starts]
    quick, careful = both(body, word)
    assert quick is None or (careful is not None and same(quick, careful))
