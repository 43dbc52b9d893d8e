"""Lengths and pitches as a user writes them."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpath.units import (
    MM_PER_UNIT,
    AngleError,
    LengthError,
    NotUnderstoodError,
    angle_deg,
    deg_text,
    length_mm,
    mm_text,
    pitch_deg,
    unlike,
    written,
)
from tests.properties.surveys import for_all, letters


@pytest.mark.parametrize(
    ("value", "mm"),
    [
        (120, 120.0),
        (0.5, 0.5),
        (-12, -12.0),
        ("120 mm", 120.0),
        ("120mm", 120.0),
        ("12 cm", 120.0),
        ("1.2 m", 1200.0),
        ("1.2 metres", 1200.0),
        (".5 m", 500.0),
        ("47 1/4 in", 1200.15),
        ("47¼ in", 1200.15),
        ('3/4"', 19.05),
        ("1 / 2 in", 12.7),
        ("4 ft", 1219.2),
        ("4 ft 6 in", 1371.6),
        ("4' 6 1/2\"", 1384.3),
        ("-10 mm", -10.0),
    ],
)
def test_lengths(value: object, mm: float) -> None:
    assert length_mm(value) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("1200", "without a unit"),
        ("4 ft 6", "of which 6 has no unit"),
        ("2 m 85", "of which 85 has no unit"),
        ("47 1/4", "without a unit"),
        ("12 furlongs", "furlongs"),
        ("1 m 20 cm", "1 m 20 cm"),
        ("6 in 4 ft", "6 in 4 ft"),
        ("1/0 in", "zero under the line"),
        ("3 10/8 in", "a fraction of 10/8"),
        ("3 1/80 in", "a fraction of 1/80"),
        ("3 8/8 in", "a fraction of 8/8"),
        ("4 ft 16 in", "a foot or more in its inches"),
        ("4 ft 12 in", "a foot or more in its inches"),
        ("1,2 m", "1,2 m"),
        ("", '""'),
        ("mm", "mm"),
        ("9" * 400 + " mm", "too large"),
        (10**400, "too large"),
        (True, "true"),
        (None, "None"),
        (math.inf, "inf"),
        (math.nan, "nan"),
        ([1, 2], "a list of 2"),
    ],
)
def test_lengths_that_are_refused(value: object, says: str) -> None:
    with pytest.raises(LengthError) as refused:
        length_mm(value)
    assert says in refused.value.found
    assert refused.value.code == "CP105"
    assert refused.value.accepted
    assert refused.value.remedy


def test_the_inches_behind_feet_are_guessed_and_no_other_part() -> None:
    for value, remedy in (("4 ft 6", 'Write "4 ft 6 in".'), ("2 m 85", "Write one number with its unit.")):
        with pytest.raises(LengthError) as refused:
            length_mm(value)
        assert refused.value.remedy == remedy


@pytest.mark.parametrize(
    ("read", "text"), [(length_mm, "2,45 m"), (length_mm, "1,200 mm"), (angle_deg, "35,5 deg"), (pitch_deg, "35,5 deg")]
)
def test_a_comma_in_a_number_is_named(read: Callable[[object], float], text: str) -> None:
    with pytest.raises(NotUnderstoodError) as refused:
        read(text)
    assert "a point" in refused.value.remedy


@pytest.mark.parametrize(
    ("value", "deg"),
    [
        (35, 35.0),
        ("35 deg", 35.0),
        ("35°", 35.0),
        ("22.5 degrees", 22.5),
        ("7:12", math.degrees(math.atan(7 / 12))),
        ("7/12", math.degrees(math.atan(7 / 12))),
        ("7 / 12", math.degrees(math.atan(7 / 12))),
        ("1 in 40", math.degrees(math.atan(1 / 40))),
        ("2.1 m / 3 m", math.degrees(math.atan(0.7))),
        ("2.1 m : 3 m", math.degrees(math.atan(0.7))),
        ("7 in : 12 in", math.degrees(math.atan(7 / 12))),
        ("7 1/2 in / 12 in", math.degrees(math.atan(7.5 / 12))),
        ({"rise": 2100, "run": "3 m"}, math.degrees(math.atan(0.7))),
    ],
)
def test_pitches(value: object, deg: float) -> None:
    assert pitch_deg(value) == pytest.approx(deg, abs=1e-9)


@pytest.mark.parametrize(
    "value",
    ["35", "steep", "7:0", "7 m / 12", "7:12:1", "", "deg", True, None, {"rise": 1}, {"rise": 1, "run": "x"}, math.nan],
)
def test_pitches_that_are_refused(value: object) -> None:
    with pytest.raises(AngleError) as refused:
        pitch_deg(value)
    assert refused.value.code == "CP106"
    assert refused.value.accepted
    assert refused.value.remedy


def test_angles() -> None:
    assert angle_deg("60 deg") == 60.0
    assert angle_deg("-45°") == -45.0
    with pytest.raises(AngleError, match="without a unit"):
        angle_deg("60")
    with pytest.raises(AngleError):
        angle_deg("7:12")


@given(st.floats(0.001, 1e5), st.sampled_from(sorted(MM_PER_UNIT)))
def test_a_length_written_in_any_unit_reads_back(mm: float, unit: str) -> None:
    text = f"{mm / MM_PER_UNIT[unit]:.12f} {unit}"
    assert length_mm(text) == pytest.approx(mm, rel=1e-9, abs=1e-9)


@given(st.floats(0.1, 89.0))
def test_a_pitch_written_as_rise_and_run_reads_back(deg: float) -> None:
    rise = 1000 * math.tan(math.radians(deg))
    assert pitch_deg(f"{rise:.9f}:1000") == pytest.approx(deg, abs=1e-6)
    assert pitch_deg(f"{rise:.9f} mm / 1 m") == pytest.approx(deg, abs=1e-6)
    assert pitch_deg({"rise": rise, "run": 1000}) == pytest.approx(deg, abs=1e-9)


@given(
    st.one_of(
        st.text(letters, max_size=20), st.text("0123456789 /.:-°infdegmc'\"½", max_size=12), st.floats(), st.none()
    )
)
def test_any_value_is_read_or_refused_in_words(value: object) -> None:
    for read in (length_mm, pitch_deg, angle_deg):
        try:
            figure = read(value)
        except NotUnderstoodError as error:
            words = (error.found, error.accepted, error.remedy)
        else:
            words = (str(math.isfinite(figure)),) * 3
        assert all(words)
        assert "False" not in words


def test_figures_for_people() -> None:
    assert mm_text(1200.0) == "1200 mm"
    assert [mm_text(far) for far in (1e9, -1e300, float("inf"), 999_999_999.0)] == [
        "1e+09 mm",
        "-1e+300 mm",
        "inf mm",
        "999999999 mm",
    ]
    assert mm_text(158.97) == "159 mm"
    assert mm_text(222.8) == "223 mm"
    assert mm_text(102.5) == "102.5 mm"
    assert mm_text(0.42) == "0.4 mm"
    assert mm_text(-0.01) == "0 mm"
    assert deg_text(22.5) == "22.5 deg"
    assert deg_text(34.999999) == "35 deg"
    assert written("x" * 99).endswith('..."')
    assert written({"a": 1}) == "a table"


@pytest.mark.parametrize(("value_mm", "below", "above"), [(74.96, "74 mm", "75 mm"), (75.04, "75 mm", "76 mm")])
def test_a_length_that_misses_a_limit_is_not_rounded_onto_it(value_mm, below, above):
    assert (mm_text(value_mm, side=-1), mm_text(value_mm, side=1)) == (below, above)


@pytest.mark.parametrize(
    ("value", "limits", "says"),
    [
        (10.996, (11.0,), "10.996 deg"),
        (10.9, (11.0,), "10.9 deg"),
        (11.0, (11.0,), "11 deg"),
        (85.000004, (1.0, 85.0), "85.000004 deg"),
        (0.96, (1.0, 85.0), "0.96 deg"),
        (-180.01, (-180.0, 180.0), "-180.01 deg"),
    ],
)
def test_what_misses_a_limit_is_not_written_as_the_limit(value, limits, says) -> None:
    assert unlike(deg_text(value), value, deg_text, *limits) == says


@for_all(st.floats(1.0, 200.0), st.floats(-12.0, 0.0))
def test_what_is_found_never_reads_as_what_is_accepted(limit: float, size: float) -> None:
    value = limit - 10.0**size
    for write in (deg_text, mm_text, lambda found: f"{found:g} kg"):
        if value != limit:
            assert float(unlike(write(value), value, write, limit).split()[0]) != float(write(limit).split()[0])
