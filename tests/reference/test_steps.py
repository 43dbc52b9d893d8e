"""Step flashings laid out on level joints at a constant gauge, against tables of plane trigonometry."""

from __future__ import annotations

import math

import pytest

from cutpath.families.step_flashing.layout import lay_out
from cutpath.families.step_flashing.run import StepRun, to_strip
from cutpath.plane import distance_mm
from cutpath.values.leadwork import StepFlashing
from tests.families.specimens import courses, steps

COURSE_MM, WATER_LINE_MM, TURN_IN_MM = 75.0, 65.0, 25.0


def survey(pitch_deg: float, strip_width_mm: float | None = None) -> StepFlashing:
    """A run of metric courses whose first joint stands one course above the water line at the lower end."""
    lowest = WATER_LINE_MM / math.cos(math.radians(pitch_deg))
    return steps(
        pitch_deg=pitch_deg,
        joints=courses(29, COURSE_MM, lowest),
        water_line_mm=WATER_LINE_MM,
        turn_in_mm=TURN_IN_MM,
        strip_width_mm=strip_width_mm,
        stock_widths_mm=(150.0, 180.0, 210.0),
    )


def run_at(pitch_deg: float) -> StepRun:
    run, findings = lay_out(survey(pitch_deg))
    assert run is not None
    assert findings == () or {f.code for f in findings} == {"CP406"}  # the run may end in a short fold
    assert len(run.steps) > 5
    return run


# Pitch, level run of a step, its distance along the slope, width of strip that it needs.
TABLE = [
    (20.0, 206.1, 219.3, 159.0),
    (22.5, 181.1, 196.0, 157.4),
    (25.0, 160.8, 177.5, 155.6),
    (30.0, 129.9, 150.0, 151.6),
    (35.0, 107.1, 130.8, 146.9),
    (40.0, 89.4, 116.7, 141.6),
    (45.0, 75.0, 106.1, 135.7),
    (50.0, 62.9, 97.9, 129.3),
]


@pytest.mark.parametrize(("pitch_deg", "run_mm"), [row[:2] for row in TABLE])
def test_level_run_of_every_step(pitch_deg: float, run_mm: float) -> None:
    """Source: derived (course 75 over the tangent of the pitch)."""
    folds = [step.fold_mm for step in run_at(pitch_deg).steps[:-1]]
    assert folds == pytest.approx([run_mm] * len(folds), abs=0.05)


@pytest.mark.parametrize(("pitch_deg", "spacing_mm"), [(row[0], row[2]) for row in TABLE])
def test_spacing_of_risers_along_the_water_line(pitch_deg: float, spacing_mm: float) -> None:
    """Source: derived (course 75 over the sine of the pitch)."""
    run = run_at(pitch_deg)
    dips = [distance_mm(step.foot, step.toe) for step in run.steps[:-1]]
    assert dips == pytest.approx([spacing_mm] * len(dips), abs=0.05)
    assert all(to_strip(step.foot, pitch_deg)[1] == pytest.approx(WATER_LINE_MM, abs=1e-6) for step in run.steps)
    assert run.along_mm(0, 1) == pytest.approx(spacing_mm, abs=0.05)


@pytest.mark.parametrize(("pitch_deg", "width_mm"), [(row[0], row[3]) for row in TABLE])
def test_strip_width_for_plumb_risers(pitch_deg: float, width_mm: float) -> None:
    """Source: derived (water line 65, course 75 and turn-in 25 with plumb risers)."""
    run = run_at(pitch_deg)
    assert run.needed_width_mm == pytest.approx(width_mm, abs=0.05)
    assert run.strip_width_mm == (180.0 if width_mm > 150.0 else 150.0)


def test_a_150_strip_holds_the_full_detail_only_from_about_32_degrees() -> None:
    """Source: derived (65 + 100 cos(pitch) is 150 at 31.8 deg)."""
    narrow, findings = lay_out(survey(31.7, strip_width_mm=150.0))
    assert narrow is None
    assert [f.code for f in findings if f.code != "CP406"] == ["CP404"]
    wide_enough, findings = lay_out(survey(31.8, strip_width_mm=150.0))
    assert wide_enough is not None
    assert not [f for f in findings if f.code == "CP404"]


@pytest.mark.parametrize(("pitch_deg", "riser_deg"), [(30.0, 60.0), (35.0, 55.0), (40.0, 50.0), (45.0, 45.0)])
def test_plumb_risers_stand_60_to_45_degrees_to_the_water_line(pitch_deg: float, riser_deg: float) -> None:
    """Source: common practice, no source (steps 45 to 60 deg to the water line); each figure derived (90 - pitch)."""
    for step in run_at(pitch_deg).steps:
        foot, head = to_strip(step.foot, pitch_deg), to_strip(step.head, pitch_deg)
        assert math.degrees(math.atan2(head[1] - foot[1], head[0] - foot[0])) == pytest.approx(riser_deg, abs=1e-9)
        assert 45.0 - 1e-9 <= riser_deg <= 60.0 + 1e-9
