"""Ends cut square across a steep roof lean back over the last step: every way out that is offered is one."""

from __future__ import annotations

import re
from dataclasses import replace

from hypothesis import assume

from cutpath.errors import faults
from cutpath.patterns import develop
from cutpath.values.survey import EndCut
from tests.patterns.test_step import RUN
from tests.properties.surveys import for_all, step_flashings


def no_fold(survey):
    """The fault that a step has no fold, if there is one."""
    _, findings = develop(survey)
    found = [f for f in faults(findings) if f.code == "CP406"]
    return found[0] if found else None


def followed(survey, way):
    """The survey altered as one of the ways in a remedy says."""
    if "plumb" in way:
        survey = replace(survey, upper_end=EndCut.PLUMB)
    if skipped := re.search(r"skip joint (\d+)", way):
        survey = replace(survey, joints=tuple(j for j in survey.joints if j.number != int(skipped[1])))
    if lower := re.search(r"(\d+) mm farther down", way):
        survey = replace(survey, slope_mm=survey.slope_mm - int(lower[1]))
    return survey


@for_all(step_flashings())
def test_every_way_out_of_a_fold_without_length_works(drawn):
    survey = replace(drawn, upper_end=EndCut.SQUARE)
    found = no_fold(survey)
    assume(found)
    ways = found.remedy.split("; or ")
    for way in ways:
        changed = followed(survey, way)
        assert changed != survey
        assert no_fold(changed) is None


def test_a_square_end_on_a_steep_roof_is_told_which_joint_to_miss():
    steep = replace(RUN, pitch_deg=50.0, slope_mm=980.0, upper_end=EndCut.SQUARE)
    found = no_fold(steep)
    assert found is not None
    assert 'end the run plumb (upper_end = "plumb")' in found.remedy
    assert no_fold(replace(steep, upper_end=EndCut.PLUMB)) is None
