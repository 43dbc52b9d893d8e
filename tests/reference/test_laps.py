"""Laps along the slope, and the true pitch that they are taken from."""

from __future__ import annotations

import math

import pytest

from cutpath.profiles import practice
from cutpath.trade.limits import lap_mm
from cutpath.trade.physics import valley_pitch_deg

PRINTED = {11.0: 390.0, 15.0: 290.0, 17.5: 250.0, 22.0: 200.0, 30.0: 150.0}


@pytest.mark.parametrize(("slope_deg", "printed_mm"), PRINTED.items())
def test_laps_are_those_printed_rounded_up(slope_deg: float, printed_mm: float) -> None:
    """Source: Roofconsult, "Tips 4", printed table and rule 75 / sin(true pitch).

    The printed figures are the rule's to the nearest ten, so that at 11 and 22 degrees they fall short of the rule
    itself (393.1 and 200.2). A lap is never to fall short: ours is the next five millimetres up.
    """
    rule_mm = 75.0 / math.sin(math.radians(slope_deg))
    assert round(rule_mm, -1) == printed_mm
    lap = lap_mm(slope_deg, practice())
    assert rule_mm - 1e-9 <= lap <= rule_mm + 5.0
    assert printed_mm <= lap <= printed_mm + 5.0


def test_laps_are_never_under_150_on_steep_slopes() -> None:
    """Source: Roofconsult, "Tips 4"."""
    assert {lap_mm(slope, practice()) for slope in (30.0, 35.0, 45.0, 60.0, 89.0)} == {150.0}


def test_a_level_lap_is_100() -> None:
    """Source: common practice, no source."""
    assert lap_mm(0.0, practice()) == 100.0


def test_true_pitch_of_a_valley_between_two_roofs_of_15() -> None:
    """Source: Roofconsult, "Tips 4", printed as 11; 10.7 is derived."""
    valley = valley_pitch_deg(15.0, 15.0)
    assert valley == pytest.approx(10.7, abs=0.05)
    assert round(valley) == 11


def test_a_valley_lies_flatter_than_the_flatter_roof_and_hardly_when_the_other_is_steep() -> None:
    """Source: derived."""
    assert valley_pitch_deg(20.0, 45.0) == valley_pitch_deg(45.0, 20.0) < 20.0
    assert valley_pitch_deg(20.0, 89.99) == pytest.approx(20.0, abs=1e-4)


def test_true_pitch_of_plain_tiles_is_10_less_than_the_rafter() -> None:
    """Source: Roofconsult, "Tips 4"."""
    fact = practice()["true_pitch_plain_tile_less"]
    assert (fact.value, fact.unit) == (10.0, "deg")
