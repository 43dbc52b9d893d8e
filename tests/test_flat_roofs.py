"""Laps of lead on roofs, from job to pieces: none on a flat roof, and elsewhere by the slope of what they lie on."""

from __future__ import annotations

import math

import pytest

from cutpath.errors import Refused, Severity, faults
from cutpath.pipeline import plan
from cutpath.values.leadwork import StepFlashing

RUNS = {
    "valley": 'kind = "valley gutter"',
    "gutter": 'kind = "secret gutter"\nhands = "left"',
    "cover": 'kind = "step and cover"\nhands = "left"\nwater_line = 80\ncoursing = { gauge = 75, first_joint = 120 }',
}


def planned(tmp_path, run, pitch, length, more="", top="", shop=None):
    file = tmp_path / "roof.toml"
    file.write_text(f'name = "Roof"\npitch = {pitch}\n{top}\n[[detail]]\n{RUNS[run]}\nlength = {length}\n{more}\n')
    return plan([file], shop_rules=shop)


def too_flat(tmp_path, *args, **keys):
    with pytest.raises(Refused) as refused:
        planned(tmp_path, *args, **keys)
    (fault,) = faults(refused.value.findings)
    assert fault.code == "CP315"
    return fault


@pytest.mark.parametrize(("run", "pitch", "true_pitch"), [("valley", 12, 8.5), ("gutter", 8, 8), ("cover", 8, 8)])
@pytest.mark.parametrize("lap", ["", "lap = 900"])
def test_a_run_that_needs_a_lap_on_a_flat_roof_is_refused(tmp_path, run, pitch, true_pitch, lap):
    """All three were lapped by 395 without a word; the rule asks 505 and 539, and a lap of one's own mends nothing."""
    fault = too_flat(tmp_path, run, pitch, 2700, lap)
    assert f"a true pitch of {true_pitch} deg" in fault.found
    assert "RCI magazine, May 2017, p. 76" in fault.found
    assert "drips" in fault.remedy


@pytest.mark.parametrize(("run", "pitch"), [("valley", 12), ("gutter", 8), ("cover", 8)])
def test_a_run_in_one_length_passes_with_a_note(tmp_path, run, pitch):
    made = planned(tmp_path, run, pitch, 1400)
    assert len(made.pieces) == 1
    (note,) = [f for f in made.findings if f.code == "CP315"]
    assert note.severity is Severity.NOTE
    assert "drips" in note.found


@pytest.mark.parametrize(("run", "flat", "enough"), [("valley", 15.3, 15.4), ("gutter", 10.9, 11), ("cover", 10.9, 11)])
def test_lead_is_lapped_from_11_degrees_of_true_pitch_on(tmp_path, run, flat, enough):
    """Two roofs of 15.4 degrees make a valley of 11.02, two of 15.3 one of 10.95."""
    too_flat(tmp_path, run, flat, 2700)
    assert len(planned(tmp_path, run, enough, 2700).pieces) > 1


def test_a_shop_may_say_from_where_on_it_laps(tmp_path):
    shop = tmp_path / "shop.toml"
    shop.write_text('[[fact]]\nname = "slope_lap_flattest"\nvalue = 8\nsource = "our own roofs"\n')
    made = planned(tmp_path, "gutter", 8, 2700, shop=shop)
    lap = made.jobs[0].details[0].head.lap_mm
    assert lap >= 75 / math.sin(math.radians(8))
    assert "CP320" in [f.code for f in made.findings]


def laps_of(made):
    """Laps along the slope of the lengths of a run, lower and upper marks of the same lap being one."""
    (detail,) = made.jobs[0].details
    assert isinstance(detail, StepFlashing)
    lengths = [p.pattern.length_mm for p in made.pieces]
    return (sum(lengths) - detail.slope_mm) / (len(lengths) - 1)


def test_whole_steps_are_held_to_the_rule_as_it_is(tmp_path):
    """75 / sin 24 is 184.4, what one course of 75 takes up the slope: 185 cost a second step at each lap."""
    made = planned(tmp_path, "cover", 24, 6000)
    assert len(made.pieces) == 5
    assert laps_of(made) == pytest.approx(75 / math.sin(math.radians(24)), abs=1e-6)


@pytest.mark.parametrize(
    ("covering", "surface"),
    [
        ('"interlocking tile"', 25),
        ('"single-lap tile"', 20),
        ('"plain tile 265"', 20),
        ('"slate 500"', 27),
        ("{ length = 300, headlap = 75 }", 20),
        ('{ name = "profiled sheet", flatter_by = 0 }', 30),
        ('{ name = "interlocking tile", flatter_by = 7 }', 23),
    ],
)
def test_laps_of_a_cover_follow_the_surface_it_lies_on(tmp_path, covering, surface):
    """Tiles lie flatter than the rafters: on a roof of 30 degrees a course laps far enough only on its own slope."""
    made = planned(tmp_path, "cover", 30, 3400, top=f"covering = {covering}")
    rule = 75 / math.sin(math.radians(surface))
    assert made.jobs[0].details[0].head.lap_mm == pytest.approx(rule)
    assert laps_of(made) == pytest.approx(150.0 * math.ceil(rule / 150 - 1e-9), abs=1e-6)
    notes = [f for f in made.findings if f.code == "CP316"]
    assert [f"at {surface} deg" in f.found for f in notes] == [True] * (surface != 30)
    assert not any("tile" in f.remedy for f in notes)  # it may be of slate


def test_a_cover_may_lie_on_a_covering_of_its_own(tmp_path):
    top = 'covering = "plain tile 265"'
    made = planned(tmp_path, "cover", 30, 3400, 'covering = "interlocking tile"', top)
    assert made.jobs[0].details[0].head.lap_mm == pytest.approx(75 / math.sin(math.radians(25)))


def test_gutters_and_valleys_lie_on_the_boards_and_not_on_the_tiles(tmp_path):
    plain = [planned(tmp_path, run, 22, 2700).pieces for run in ("valley", "gutter")]
    tiled = [planned(tmp_path, run, 22, 2700, top='covering = "plain tile 265"').pieces for run in ("valley", "gutter")]
    assert plain == tiled


@pytest.mark.parametrize(("pitch", "refused"), [(20.9, True), (21, False)])
def test_plain_tiles_are_too_flat_for_laps_under_21_degrees(tmp_path, pitch, refused):
    if refused:
        assert (
            "a true pitch of 10.9 deg"
            in too_flat(tmp_path, "cover", pitch, 2700, top='covering = "plain tile 265"').found
        )
    else:
        assert len(planned(tmp_path, "cover", pitch, 2700, top='covering = "plain tile 265"').pieces) > 1


def test_laps_on_a_covering_that_is_not_named_are_warned_of(tmp_path):
    long, short = (planned(tmp_path, "cover", 30, length).findings for length in (3400, 1200))
    assert [f.severity for f in long if f.code == "CP316"] == [Severity.WARNING]
    assert not [f for f in short if f.code == "CP316"]


def test_a_tongue_on_a_wall_laps_over_a_flat_roof(tmp_path):
    """Over soakers a tongue stands on the wall, where no water runs under it; a cover lies on the roof and may not."""
    file = tmp_path / "change.toml"
    file.write_text(
        'name = "Change"\npitch = 8\n[[detail]]\nkind = "step flashing"\nlength = 900\nhands = "left"\n'
        "coursing = { gauge = 75, first_joint = 120 }\nabove = [{ length = 800, pitch = 25 }]\n"
    )
    assert len(plan([file]).pieces) == 2
