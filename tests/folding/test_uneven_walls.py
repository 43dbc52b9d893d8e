"""The proof on changes of pitch and on steps of the user's own choice, good and made wrong on purpose."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume

from cutpath.folding import prove
from cutpath.tolerances import FOLD_DEVIATION_MM
from tests.patterns.test_uneven_walls import own_steps, upper_reaches
from tests.properties.surveys import for_all, job_of, pieces_of, run_of


@for_all(own_steps())
def test_own_steps_fold_up_on_their_beds(survey):
    pieces = pieces_of(survey)
    proofs, findings = prove(job_of(survey), pieces)
    assert len(proofs) == len(pieces)
    assert max(p.deviation_mm for p in proofs) <= FOLD_DEVIATION_MM
    assert findings == ()


@for_all(upper_reaches())
def test_tongues_lie_on_the_roof_below_the_change(survey):
    pieces = pieces_of(survey)
    proofs, findings = prove(job_of(survey), pieces)
    assert max(p.deviation_mm for p in proofs) <= FOLD_DEVIATION_MM
    assert findings == ()


@for_all(own_steps())
def test_a_step_ended_2_mm_off_is_caught(survey):
    assume(len(run_of(survey).steps) > 1)
    used = pieces_of(survey)
    first = survey.joints[0]
    moved = replace(survey, joints=(replace(first, end_x_mm=first.end_x_mm - 2.0), *survey.joints[1:]))
    proofs, findings = prove(job_of(moved), used)
    assert max(p.deviation_mm for p in proofs) == pytest.approx(2.0, abs=0.5)
    assert "CP413" in {f.code for f in findings}


@for_all(upper_reaches())
def test_a_tongue_for_another_roof_is_caught(survey):
    pieces = pieces_of(survey)
    flatter = replace(survey, tongue=replace(survey.tongue, pitch_deg=survey.tongue.pitch_deg - 1.0))
    _, findings = prove(job_of(flatter), pieces)
    assert "CP413" in {f.code for f in findings}
    shorter = replace(survey, tongue=replace(survey.tongue, lap_mm=survey.tongue.lap_mm + 2.0))
    proofs, findings = prove(job_of(shorter), pieces)
    assert "CP413" in {f.code for f in findings}
    assert max(p.deviation_mm for p in proofs) == pytest.approx(2.0, abs=1e-3)
