"""Laps along the slope, and the true pitch that they are taken from."""

from __future__ import annotations

import math

import pytest

from cutpath.profiles import coverings, practice
from cutpath.trade.coverings import surface_deg
from cutpath.trade.limits import free_lap_mm, lap_mm
from cutpath.trade.physics import valley_pitch_deg
from cutpath.values.survey import Covering

PRINTED = {11.0: 390.0, 15.0: 290.0, 17.5: 250.0, 22.0: 200.0, 30.0: 150.0}


@pytest.mark.parametrize(("slope_deg", "printed_mm"), PRINTED.items())
def test_laps_are_those_printed_rounded_up(slope_deg: float, printed_mm: float) -> None:
    """Source: Roofconsult, "Tips 4", printed table and rule 75 / sin(true pitch).

    The printed figures are the rule's to the nearest ten, so that at 11 and 22 degrees they fall short of the rule
    itself (393.1 and 200.2). A lap is never to fall short: laps of whole steps are held to the rule itself, and free
    ones to the next five millimetres up.
    """
    rule_mm = 75.0 / math.sin(math.radians(slope_deg))
    assert round(rule_mm, -1) == printed_mm
    lap = lap_mm(slope_deg, practice())
    assert lap == pytest.approx(rule_mm, abs=1e-9)
    assert rule_mm - 1e-9 <= free_lap_mm(lap, practice()) <= rule_mm + 5.0
    assert printed_mm <= free_lap_mm(lap, practice()) <= printed_mm + 5.0


def test_laps_are_never_under_150_on_steep_slopes() -> None:
    """Source: Roofconsult, "Tips 4"."""
    laps = [lap_mm(slope, practice()) for slope in (30.0, 35.0, 45.0, 60.0, 89.0)]
    assert laps == pytest.approx([150.0] * 5)
    assert {free_lap_mm(lap, practice()) for lap in laps} == {150.0}


def test_a_level_lap_is_100() -> None:
    """Source: NHBC Standards 7.2.20, edition of 2020: lead flashings at abutments."""
    assert practice()["least_lap"].value == 100.0


@pytest.mark.parametrize("slope_deg", [0.0, 2.0, 8.0, 8.55, 10.7, 10.99])
def test_no_lap_is_long_enough_under_11_degrees(slope_deg: float) -> None:
    """Source: RCI magazine, May 2017, p. 76: lead is lapped from 11 degrees on, below that joints are drips."""
    assert lap_mm(slope_deg, practice()) == free_lap_mm(lap_mm(slope_deg, practice()), practice()) == math.inf
    assert lap_mm(11.0, practice()) == pytest.approx(393.06, abs=0.01)


def test_true_pitch_of_a_valley_between_two_roofs_of_15() -> None:
    """Source: Roofconsult, "Tips 4", printed as 11; 10.7 is derived."""
    valley = valley_pitch_deg(15.0, 15.0)
    assert valley == pytest.approx(10.7, abs=0.05)
    assert round(valley) == 11


def test_a_valley_lies_flatter_than_the_flatter_roof_and_hardly_when_the_other_is_steep() -> None:
    """Source: derived."""
    assert valley_pitch_deg(20.0, 45.0) == valley_pitch_deg(45.0, 20.0) < 20.0
    assert valley_pitch_deg(20.0, 89.99) == pytest.approx(20.0, abs=1e-4)


@pytest.mark.parametrize(
    ("name", "less_deg"),
    [("plain tile 265", 10.0), ("interlocking tile", 5.0), ("single-lap tile", 10.0), ("slate 500", 3.0)],
)
def test_the_surface_of_a_covering_is_flatter_than_the_rafter(name: str, less_deg: float) -> None:
    """Source: Roofconsult, "Tips 4": plain tiles 10, interlocking 5, 3 to 10 in all."""
    listed = coverings()[name]
    fact = practice()[listed.flatter]
    assert (fact.value, fact.unit) == (less_deg, "deg")
    assert surface_deg(35.0, Covering(name, 0, 0, 0, None, fact.value)) == 35.0 - less_deg
    assert surface_deg(2.0, Covering(name, 0, 0, 0, None, fact.value)) == 0.0
    assert surface_deg(35.0, None) == 35.0


@pytest.mark.parametrize(
    ("pitch", "covering", "severe", "cover_mm"),
    [
        (15, None, False, 290),
        (17.5, None, True, 250),
        (22, None, False, 205),
        (30, None, False, 150),
        (30, None, True, 200),
        (20, "interlocking tile", False, 290),
        (35, "interlocking tile", False, 150),
        (35, "plain tile 265", False, 150),
        (10, None, False, 395),
    ],
)
@pytest.mark.parametrize("kind", ['"apron"\nwidth', '"top-edge abutment"\nlength'])
def test_a_cover_down_the_roof_laps_over_tiles_as_over_lead(develop_job, kind, pitch, covering, severe, cover_mm):
    """Source: Roofconsult, "Tips 4": 150 mm alone is misleading; the same laps over tiles, by their true pitch.

    "Tips 85" says the same of a top edge, "Tips 76" has 150 at 35 deg on slates and plain tiles.
    """
    lines = [f"pitch = {pitch}", f'covering = "{covering}"' * bool(covering), 'exposure = "severe"' * severe]
    job = "\n".join(['name = "J"', *lines, "[[detail]]", f"kind = {kind} = 900", "code = 5", ""])
    developed = develop_job(job)
    assert developed.job.details[0].cover_mm == cover_mm
    assert [f.code for f in developed.findings if f.code != "CP318"] == (["CP315"] if pitch == 10 else [])
    (short,) = (f for f in develop_job(f"{job}cover = {cover_mm - 6}\n").findings if f.where.endswith("cover"))
    assert short.code == ("CP303" if cover_mm > (200 if severe else 150) else "CP306")
