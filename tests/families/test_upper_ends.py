"""Ends cut square across a steep roof lean back over the last step: every way out that is offered is one."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import assume

from cutpath.errors import Severity, faults
from cutpath.families.registry import develop
from cutpath.plain import in_words
from cutpath.values.leadwork import CornerKind, CornerReturn, EndCut
from cutpath.values.survey import BedJoint
from tests.families.test_step import RUN
from tests.properties.surveys import for_all, step_flashings


def no_fold(survey):
    """The fault that a step has no fold, if there is one."""
    _, findings = develop(survey)
    found = [f for f in faults(findings) if f.code == "CP406"]
    return found[0] if found else None


def left_out(survey):
    """The note that beds below the last one are left out, if there is one."""
    _, findings = develop(survey)
    found = [f for f in findings if f.severity is Severity.NOTE and "lies beyond the end" in f.found]
    return found[0] if found else None


def followed(survey, way):
    """The survey altered as one of the ways in a remedy says."""
    if "plumb" in way:
        survey = replace(survey, upper_end=EndCut.PLUMB)
    if skipped := re.search(r"[Ss]kip joint (\d+)", way):
        survey = replace(survey, joints=tuple(j for j in survey.joints if j.number != int(skipped[1])))
    if lower := re.search(r"(\d+) mm farther down", way):
        survey = replace(survey, slope_mm=survey.slope_mm - int(lower[1]))
    return survey


@for_all(step_flashings())
def test_every_way_out_of_a_fold_without_length_works(drawn):
    survey = replace(drawn, upper_end=EndCut.SQUARE)
    run, _ = develop(survey)
    found, note = no_fold(survey), left_out(survey)
    assume(found or note)
    assert not (found and note)
    ways = found.remedy.split("; or ") if found else note.remedy.split("; or ")[1:]
    for way in ways:
        changed = followed(survey, way)
        assert changed != survey
        assert no_fold(changed) is None
        assert left_out(changed) is None
    if run is not None:
        assert all(step.toe[0] > step.head[0] and step.tab_toe[0] > step.tab_head[0] for step in run.steps)


@pytest.mark.parametrize(("riser", "end"), [(90.0, EndCut.SQUARE), (70.0, EndCut.SQUARE), (70.0, EndCut.PLUMB)])
@pytest.mark.parametrize("pitch", [25.0, 35.0, 45.0, 55.0])
@pytest.mark.parametrize("slope_mm", [900.0 + 17.0 * n for n in range(12)])
def test_a_last_bed_beyond_the_end_costs_a_note_and_no_refusal(riser, end, pitch, slope_mm):
    """Of 144 such runs over half were refused: square ends lean back over the last step, raked risers past it."""
    plain = CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    joints = tuple(BedJoint(k, 35.0 + 75.0 * k) for k in range(1, 20))
    survey = replace(
        RUN, pitch_deg=pitch, slope_mm=slope_mm, riser_deg=riser, upper_end=end, corner=plain, joints=joints
    )
    run, findings = develop(survey)
    assert faults(findings) == ()
    numbers = [step.joint.number for step in run.steps]
    missed = sorted(set(range(numbers[0], numbers[-1] + 1)) - set(numbers))
    note = left_out(survey)
    assert bool(note) == bool(missed)
    if note:
        beds, are = ("bed joints", "are") if len(missed) > 1 else ("bed joint", "is")
        named = f"{missed[0]} to {missed[-1]}" if len(missed) > 2 else in_words(missed)
        assert note.found.startswith(f"{beds} {named} {are} left out: joint {numbers[-1]} lies")
        assert missed == list(range(numbers[-1] - len(missed), numbers[-1]))  # the last ones only, next to each other


@pytest.mark.parametrize("joint", [None, 2])
def test_a_return_keeps_its_joint_where_the_last_bed_lies_beyond_the_end(joint):
    survey = replace(RUN, pitch_deg=55.0, slope_mm=330.0, upper_end=EndCut.SQUARE)
    returned = replace(survey, corner=CornerReturn(CornerKind.INTEGRAL, 150.0, joint, 0.0))
    assert no_fold(returned) is not None
    assert left_out(returned) is None
    run, _ = develop(replace(returned, pitch_deg=50.0, slope_mm=290.0))
    assert [step.joint.number for step in run.steps] == [2, 4]


def test_a_square_end_on_a_steep_roof_says_how_else_to_end_it():
    steep = replace(RUN, pitch_deg=50.0, slope_mm=980.0, upper_end=EndCut.SQUARE)
    note = left_out(steep)
    assert note is not None
    assert 'end the run plumb (upper_end = "plumb")' in note.remedy
    assert left_out(replace(steep, upper_end=EndCut.PLUMB)) is None
