import pytest

from cutpath.paper.markup import element, number
from cutpath.paper.text import csv_text, fixed, kilograms, millimetres, percent, square_metres, table


@pytest.mark.parametrize("write", [kilograms, square_metres, millimetres, percent])
def test_a_hair_under_nought_is_nought(write):
    assert not write(-1e-9).startswith("-")
    assert write(-1e-9) == write(0.0)


def test_figures():
    assert (millimetres(1000.04), millimetres(12.25), millimetres(-3.5)) == ("1000", "12", "-3.5")
    assert (millimetres(222.8), millimetres(102.5), millimetres(0.4996)) == ("223", "102.5", "0.5")
    assert (square_metres(1_234_567.0), kilograms(36.738), percent(0.87654), percent(None)) == (
        "1.235", "36.74", "87.7 %", "-",
    )  # fmt: skip
    assert fixed(2 / 3, 4) == "0.6667"


def test_table_sets_names_left_figures_right_and_rules_off_a_total():
    assert table(("", "kg"), [("a", "1.00"), ("total", "10.00")], total=True).splitlines() == [
        "          kg",
        "-----  -----",
        "a       1.00",
        "-----  -----",
        "total  10.00",
    ]


def test_csv_quotes_what_users_write():
    assert csv_text(("a", "b"), [{"a": 'x,"y"', "c": 1}]) == 'a,b\n"x,""y""",\n'


def test_elements_escape_attributes_and_leave_out_none():
    assert element("g", "in", class_='a"b<', clip_path=None, stroke_width=0.5) == (
        '<g class="a&quot;b&lt;" stroke-width="0.5">in</g>'
    )
    assert (element("path", d="M0 0"), element("td")) == ('<path d="M0 0"/>', "<td></td>")


def test_numbers_are_plain():
    assert [number(v) for v in (1.0, 0.1234567, -1e-7, 1e-7, 1234567.0)] == ["1", "0.123", "0", "0", "1234567"]
