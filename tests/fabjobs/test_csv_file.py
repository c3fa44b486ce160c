"""CSV that a spreadsheet cannot be tricked by."""

import csv
import io
import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabjobs.looking_back.csv_file import csv_response, csv_text, safe_cell

# The signs that OWASP's page on CSV injection names
DANGEROUS = "=+-@\t\r"


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("sign", DANGEROUS)
def test_a_text_that_could_begin_a_formula_is_quoted(sign: str) -> None:
    assert safe_cell(f"{sign}cmd|' /C calc'!A0") == f"'{sign}cmd|' /C calc'!A0"


@pytest.mark.parametrize("sign", "=+-@")
def test_spaces_before_it_do_not_help(sign: str) -> None:
    assert safe_cell(f"  {sign}1") == f"'  {sign}1"


@pytest.mark.parametrize("value", [-3, -2.5, Decimal("-0.50"), 0])
def test_numbers_stay_numbers(value: int | float | Decimal) -> None:
    assert safe_cell(value) is value
    assert read(csv_text(["a"], [[value]]))[1] == [str(value)]


# Some systems read a file with another sign between the cells, or with an apostrophe for the quote: a cell may end there.
@given(st.text(alphabet="=+-@;,\t\r\n\"' x1"))
def test_no_piece_of_a_text_comes_out_as_a_formula(text: str) -> None:
    raw = csv_text(["a", "b"], [[text, 1]])
    for piece in re.split(r"""[;,\t\r\n"]""", raw):
        assert not piece.lstrip().startswith(tuple(DANGEROUS)), raw


@pytest.mark.parametrize(
    ("text", "kept"),
    [("x;=1+1", "x;'=1+1"), ("x\t@A1", "x\t'@A1"), ('x"=1', "x\"'=1"), ("x, -5", "x, '-5"), ("4-5 = 9", "4-5 = 9")],
)
def test_a_sign_after_what_may_end_a_cell_is_guarded(text: str, kept: str) -> None:
    assert safe_cell(text) == kept


@given(st.text(st.characters(codec="utf-8")))
def test_no_text_comes_out_as_a_formula_and_none_is_lost(text: str) -> None:
    cell = read(csv_text(["a", "b"], [[text, 1]]))[1][0]
    assert not cell.startswith(tuple(DANGEROUS))
    assert "".join(cell.split("'")) == "".join(text.split("'"))


@given(st.text(alphabet=DANGEROUS + "\n\"', 1A", min_size=1))
def test_hostile_texts_keep_to_their_cell(text: str) -> None:
    rows = read(csv_text(["a", "b"], [[text, "next"]]))
    assert len(rows) == 2
    assert rows[1][1] == "next"
    assert not rows[1][0].startswith(tuple(DANGEROUS))


def test_the_file_is_utf_8_with_its_mark_and_is_kept_not_shown() -> None:
    answer = csv_response("jobs.csv", ["Title"], [["Ölwanne"]])
    assert answer.content == b"\xef\xbb\xbf" + "Title\r\nÖlwanne\r\n".encode()
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="jobs.csv"'
