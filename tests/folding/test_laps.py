"""How far two lengths lap, and how much of a cut edge lies bare beside the other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cutpath.folding.flat import reach_mm
from cutpath.folding.laps import Lap, Length, bare_at_change, lap
from tests.families.specimens import steps

SURVEY = steps()  # held at 0 and at its water line of 65 mm


def length(left, right, high=90.0, shown=None):
    """A length from ``left`` to ``right``, whose ends may lean, and what shows of it on the wall."""
    (x0, x0_up), (x1, x1_up) = left, right
    ring = np.array([(x0, 0.0), (x1, 0.0), (x1_up, high), (x0_up, high)])
    return Length(ring, ring if shown is None else np.array(shown))


def test_the_lap_is_the_least_at_any_height():
    low, high = length((0.0, 0.0), (1000.0, 1090.0)), length((850.0, 850.0), (2000.0, 2000.0))
    assert lap(SURVEY, low, high) == Lap(150.0, 0.0)
    leaning = length((850.0, 850.0 + 3 * 90.0), (2000.0, 2000.0))
    assert lap(SURVEY, low, leaning).least_mm == pytest.approx(150.0 - 2 * 65.0)


def test_lengths_that_do_not_meet_lie_bare():
    low, high = length((0.0, 0.0), (1000.0, 1000.0)), length((1010.0, 1010.0), (2000.0, 2000.0))
    measured = lap(SURVEY, low, high)
    assert measured.least_mm == -10.0
    assert measured.bare_mm == pytest.approx(90.0)


@pytest.mark.parametrize("which", ["upper end of the lower", "lower end of the upper"])
def test_an_end_that_reaches_out_is_bare_by_what_shows(which):
    low, high = length((0.0, 0.0), (1000.0, 1000.0)), length((850.0, 850.0), (2000.0, 2000.0))
    if which.startswith("upper"):
        low = length((0.0, 0.0), (1000.0, 1000.0), high=120.0)
    else:
        high = length((850.0, 850.0), (2000.0, 2000.0), high=120.0)
    assert lap(SURVEY, low, high) == Lap(150.0, pytest.approx(30.0, abs=0.01))


def test_only_what_shows_on_the_wall_has_an_end_there():
    shown = [(0.0, 0.0), (700.0, 0.0), (700.0, 60.0), (0.0, 60.0)]
    low, high = length((0.0, 0.0), (1000.0, 1000.0), shown=shown), length((850.0, 850.0), (2000.0, 2000.0))
    assert lap(SURVEY, low, high) == Lap(150.0, pytest.approx(60.0))


def test_a_ring_reaches_so_far_at_a_height():
    ring = np.array([(0.0, 0.0), (10.0, 0.0), (30.0, 20.0), (-5.0, 20.0)])
    assert [reach_mm(ring, level, 1) for level in (0.0, 5.0, 20.0)] == [10.0, 15.0, 30.0]
    assert [reach_mm(ring, level, -1) for level in (0.0, 10.0, 20.0)] == [0.0, -2.5, -5.0]
    assert (reach_mm(ring, -8.0, 1), reach_mm(ring, 99.0, -1)) == (10.0, -5.0)


def test_at_a_change_of_pitch_tooth_and_lap_are_covered():
    below = replace(
        SURVEY, pitch_deg=45.0, slope_mm=1000.0 * 2**0.5, water_line_mm=50.0 * 2**0.5, lapped_mm=100.0 * 2**0.5
    )
    # Teeth with joints at 1100 and 1200 mm; the roof goes up by 1 in 1 to (1000, 1000).
    low = np.array([(0, 0), (1000, 1000), (1000, 1200), (900, 1200), (900, 1100), (0, 1100)], dtype=float)
    teeth = [np.array([(0.0, 1100.0), (900.0, 1100.0)]), np.array([(900.0, 1200.0), (1000.0, 1200.0)])]
    whole = np.array([(0, 0), (1000, 1000), (1000, 1200), (0, 1200)], dtype=float)
    assert bare_at_change(below, [low], teeth, whole) == (0.0, 0.0)
    from_riser = np.array([(900, 0), (1001, 0), (1001, 1200), (900, 1200)], dtype=float)
    assert bare_at_change(below, [low], teeth, from_riser) == (0.0, 0.0)
    later = np.array([(930, 0), (1001, 0), (1001, 1200), (930, 1200)], dtype=float)
    assert bare_at_change(below, [low], teeth, later) == pytest.approx((30.0, 300.0), abs=0.01)
    lower = np.array([(900, 0), (1001, 0), (1001, 1180), (900, 1180)], dtype=float)
    assert bare_at_change(below, [low], teeth, lower) == pytest.approx((100.0, 20.0), abs=0.01)
    more = replace(below, lapped_mm=150.0 * 2**0.5)
    assert bare_at_change(more, [low], teeth, from_riser) == pytest.approx((50.0, 250.0), abs=0.01)


def test_at_a_change_of_pitch_what_lies_below_the_water_line_is_the_apron_of_another():
    """Above the water line, at 100 mm plumb, the tooth is covered; below it nothing is asked where no lap is."""
    below = replace(SURVEY, pitch_deg=45.0, slope_mm=1000.0 * 2**0.5, water_line_mm=50.0 * 2**0.5, lapped_mm=0.0)
    low = np.array([(0, 0), (1000, 1000), (1000, 1200), (900, 1200), (900, 1100), (0, 1100)], dtype=float)
    teeth = [np.array([(0.0, 1100.0), (900.0, 1100.0)]), np.array([(900.0, 1200.0), (1000.0, 1200.0)])]
    tooth = np.array([(900, 1000), (1001, 1101), (1001, 1200), (900, 1200)], dtype=float)
    assert bare_at_change(below, [low], teeth, tooth) == (0.0, 0.0)
    lower = np.array([(900, 1010), (1001, 1111), (1001, 1200), (900, 1200)], dtype=float)
    assert bare_at_change(below, [low], teeth, lower) == pytest.approx((100.0, 110.0), abs=0.05)


def test_a_tooth_begins_at_its_riser_which_may_lean():
    """A riser at 60 degrees: the tooth reaches back by 100 mm / tan 60 at its foot, to 57.7 mm before its head."""
    below = replace(
        SURVEY, pitch_deg=45.0, slope_mm=1000.0 * 2**0.5, water_line_mm=50.0 * 2**0.5, lapped_mm=0.0, riser_deg=60.0
    )
    back = 100.0 / 3**0.5
    low = np.array([(0, 0), (1000, 1000), (1000, 1200), (900, 1200), (900 - back, 1100), (0, 1100)], dtype=float)
    teeth = [np.array([(0.0, 1100.0), (900.0 - back, 1100.0)]), np.array([(900.0, 1200.0), (1000.0, 1200.0)])]
    whole = np.array([(600, 0), (1001, 0), (1001, 1200), (600, 1200)], dtype=float)
    assert bare_at_change(below, [low], teeth, whole) == (0.0, 0.0)
    square = np.array([(900, 0), (1001, 0), (1001, 1200), (900, 1200)], dtype=float)
    width, height = bare_at_change(below, [low], teeth, square)
    # Down the riser's line to where it meets the water line, which rises by 1 in 1 through (0, 100).
    x = (900 * 3**0.5 - 1100) / (3**0.5 - 1)
    assert (width, height) == pytest.approx((900 - x, 1200 - (x + 100)), abs=0.05)
