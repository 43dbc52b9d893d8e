"""The rules held against gutters, saddles, abutments, valleys, lead slates, and step flashing with a cover."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath.errors import Severity
from cutpath.families.checking import check_rules
from cutpath.profiles import lead_table, practice
from cutpath.values.leadwork import (
    AbutmentGutter,
    BackGutter,
    CornerKind,
    CornerReturn,
    CornerWork,
    PipeSlate,
    RidgeSaddle,
    TopAbutment,
    ValleyGutter,
)
from cutpath.values.survey import BedJoint, Hand, Job
from tests.families.specimens import head, steps

FAULT, WARNING, NOTE = Severity.FAULT, Severity.WARNING, Severity.NOTE
HEAD = head(label="G1")
JOINTS = (BedJoint(1, 110), BedJoint(2, 185))
STEP = steps(
    head=replace(HEAD, hands=(Hand.RIGHT,)),
    pitch_deg=40,
    slope_mm=1200,
    joints=JOINTS,
    water_line_mm=80,
    stock_widths_mm=(300,),
    cover_mm=150,
)
GUTTER = BackGutter(HEAD, 40, 900, 150, 100, 150, 225, None, 25, CornerWork.BOSSED, 45, 100, 175)
SADDLE = RidgeSaddle(HEAD, 40, 450, 450, 150, CornerWork.BOSSED)
ABUTMENT = TopAbutment(HEAD, 30, 3000, 75, 150, 25, 0, 75, CornerWork.WELDED)
VALLEY = ValleyGutter(replace(HEAD, lap_mm=200), 30, 30, 22.2, 2000, 450, None, 25)
BESIDE = AbutmentGutter(HEAD, 40, 2000, 100, 100, 40)
PIPE = PipeSlate(HEAD, 40, 110, 3, 150, 25, 150, 150, 200)


def rules(detail, exposure="moderate"):
    found = check_rules(Job("J", "J", "j.toml", "", exposure, (detail,)), practice())
    assert all(f.found and f.accepted and f.remedy for f in found)
    return [(f.code, f.where.removeprefix("j.toml: "), f.severity) for f in found]


@pytest.mark.parametrize("detail", [GUTTER, SADDLE, ABUTMENT, VALLEY, BESIDE, PIPE])
def test_careful_work_gives_nothing_to_say(detail):
    assert rules(detail) == []


@pytest.mark.parametrize(
    ("detail", "code", "key", "severity"),
    [
        (replace(GUTTER, upstand_mm=74), "CP305", "upstand", WARNING),
        (replace(GUTTER, upstand_mm=99), "CP305", "upstand", WARNING),
        (replace(GUTTER, sole_mm=149), "CP306", "sole", WARNING),
        (replace(GUTTER, up_roof_mm=224), "CP306", "up_roof", WARNING),
        (replace(GUTTER, side_mm=149), "CP306", "side", WARNING),
        (replace(GUTTER, width_mm=1201), "CP313", "width", NOTE),
        (replace(GUTTER, head=replace(HEAD, lead=lead_table()[3])), "CP301", "code", WARNING),
        (replace(SADDLE, width_mm=449), "CP306", "width", WARNING),
        (replace(SADDLE, length_mm=449), "CP306", "length", WARNING),
        (replace(SADDLE, upstand_mm=74), "CP305", "upstand", WARNING),
        (replace(SADDLE, upstand_mm=301), "CP306", "upstand", WARNING),
        (replace(SADDLE, pitch_deg=30), "CP306", "pitch", WARNING),
        (replace(SADDLE, head=replace(HEAD, lead=lead_table()[3])), "CP301", "code", FAULT),
        (replace(VALLEY, head=replace(VALLEY.head, lead=lead_table()[3])), "CP301", "code", FAULT),
        (replace(BESIDE, head=replace(BESIDE.head, lead=lead_table()[3])), "CP301", "code", WARNING),
        (replace(PIPE, head=replace(PIPE.head, lead=lead_table()[3])), "CP301", "code", WARNING),
        (replace(ABUTMENT, cover_mm=149), "CP306", "cover", WARNING),
        (replace(ABUTMENT, pitch_deg=29, cover_mm=154), "CP303", "cover", WARNING),
        (replace(ABUTMENT, pitch_deg=10, cover_mm=394), "CP315", "pitch", WARNING),
        (replace(ABUTMENT, upstand_mm=74), "CP305", "upstand", WARNING),
        (replace(ABUTMENT, turn_in_mm=14), "CP304", "turn_in", FAULT),
        (replace(ABUTMENT, head=replace(HEAD, lap_mm=99)), "CP303", "lap", FAULT),
        (replace(VALLEY, head=replace(HEAD, lap_mm=198)), "CP303", "lap", FAULT),
        (replace(BESIDE, upstand_mm=74), "CP305", "upstand", WARNING),
        (replace(BESIDE, head=replace(HEAD, lap_mm=149)), "CP303", "lap", FAULT),
        (replace(PIPE, sleeve_mm=149), "CP305", "sleeve", WARNING),
        (replace(PIPE, below_mm=149), "CP303", "below", WARNING),
    ],
)
def test_each_rule(detail, code, key, severity):
    assert rules(detail) == [(code, f"detail[1].{key}", severity)]


def test_no_roll_is_advised_in_a_gutter_that_is_refused_even_so():
    """Two lengths of 2.4 m at a roll in the middle are each over 1500 mm."""
    assert "CP313" not in {code for code, _, _ in rules(replace(GUTTER, width_mm=2400))}


def test_a_cover_on_the_roof_is_held_to_its_width_by_exposure_and_wants_clips():
    clips = ("CP312", "detail[1]", NOTE)
    assert rules(STEP) == [clips]
    assert rules(replace(STEP, cover_mm=149)) == [("CP306", "detail[1].cover", WARNING), clips]
    thicker = ("CP318", "detail[1].code", WARNING)
    assert rules(STEP, "severe") == [thicker, ("CP306", "detail[1].cover", WARNING), clips]
    assert rules(replace(STEP, cover_mm=200), "severe") == [thicker, clips]
    cornered = replace(STEP, corner=CornerReturn(CornerKind.INTEGRAL, 120, None, 0))
    assert rules(cornered) == [clips, ("CP313", "detail[1].return", NOTE)]


def test_clips_are_told_by_their_spacing_and_counted_where_the_lengths_are_known():
    """A run of 3.4 m in three lengths has four clips a length, not eight."""
    found = check_rules(Job("J", "J", "j.toml", "", "moderate", (replace(STEP, slope_mm=3400.0),)), practice())
    (clips,) = (f for f in found if f.code == "CP312")
    assert clips.accepted.startswith("clips 300 to 500 mm apart")
    assert not any(letter.isdigit() for letter in clips.remedy)


def test_severe_exposure_wants_the_next_code_of_what_the_table_lists():
    """Source: NHBC Standards 7.2.20 Table 22, notes 1 and 2. Thinner than the least is a finding of its own."""

    def codes(detail, code, exposure="severe"):
        leaded = replace(detail, head=replace(detail.head, lead=lead_table()[code]))
        return [code for code, _, _ in rules(leaded, exposure)]

    for detail in (ABUTMENT, SADDLE, STEP):
        assert codes(detail, 4).count("CP318") == 1
        assert "CP318" not in codes(detail, 5) + codes(detail, 3) + codes(detail, 4, "moderate")
    assert "CP318" not in codes(VALLEY, 4) + codes(GUTTER, 4)  # the table says nothing of gutters


def test_a_deep_turn_in_is_to_be_painted_on_both_sides():
    assert rules(replace(ABUTMENT, turn_in_mm=50)) == []
    assert rules(replace(ABUTMENT, turn_in_mm=50.5)) == [("CP317", "detail[1].turn_in", NOTE)]
