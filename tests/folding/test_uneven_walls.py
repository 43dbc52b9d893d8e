"""The proof on changes of pitch and on steps of the user's own choice, good and made wrong on purpose."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from cutpath.errors import faults
from cutpath.families.step_flashing.run import tongue_end
from cutpath.folding import prove
from cutpath.jobs import load_job, read_jobs
from cutpath.pieces import pieces_of as cut_up
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import Tongue
from cutpath.values.pattern import MarkUse
from cutpath.values.survey import Hand
from tests.families.changes import both_reaches, upper_reaches
from tests.families.specimens import courses, steps
from tests.families.test_uneven_walls import own_steps
from tests.gate import gate
from tests.properties.measure import to_wall
from tests.properties.surveys import for_all, job_of, pieces_of, run_of


def butted(survey, piece):
    """The lowest length with its tongue cut down to the water line of the roof below, and plumb above that."""
    pattern = piece.pattern
    p = math.radians(survey.tongue.pitch_deg)
    high, far = survey.water_line_mm / math.cos(p), 1e4
    gone = Polygon([(0, high), (0, far), (-far, far), (-far, high - far * math.tan(p))])
    x0, y0 = to_wall(pattern, [(0.0, 0.0)], survey.pitch_deg)[0]
    x1, y1 = to_wall(pattern, [(1.0, 0.0)], survey.pitch_deg)[0]
    c, s, flip = x1 - x0, y1 - y0, -1.0 if pattern.mirrored else 1.0

    def back(at):
        """From the wall to the pattern frame; a mirrored pattern was turned over first."""
        dx, dy = at[0] - x0, at[1] - y0
        return (dx * c + dy * s, flip * (dy * c - dx * s))

    gone = Polygon([back(at) for at in gone.exterior.coords])
    left = orient(Polygon(pattern.outline).difference(gone))
    folds = []
    for fold in pattern.folds:
        line = LineString([fold.start, fold.end]).difference(gone.buffer(1e-9))
        if line.length > 1.0:
            folds.append(replace(fold, start=line.coords[0], end=line.coords[-1]))
    ring = tuple(left.exterior.coords)[:-1]
    snips = tuple(snip for snip in pattern.snips if not LineString(snip.points).intersects(gone.buffer(1e-6)))
    return replace(
        piece, pattern=replace(pattern, outline=ring, edges=("cut",) * len(ring), folds=tuple(folds), snips=snips)
    )


@for_all(own_steps())
def test_own_steps_fold_up_on_their_beds(survey):
    pieces = pieces_of(survey)
    proofs, findings = prove(job_of(survey), pieces)
    assert len(proofs) == len(pieces)
    assert max(p.deviation_mm for p in proofs) <= FOLD_DEVIATION_MM
    assert findings == ()


@for_all(st.one_of(upper_reaches(), upper_reaches(cover=True)))
def test_tongues_lie_on_the_roof_below_the_change(survey):
    job, pieces = both_reaches(survey)
    proofs, findings = prove(job, pieces)
    assert max(p.deviation_mm for p in proofs) <= FOLD_DEVIATION_MM
    assert findings == ()


def test_no_joint_is_missed_above_a_change_to_a_flatter_roof(tmp_path):
    """Joint 16 is left out below the change, and stands above the lower water line of the flatter roof beyond it."""
    path = tmp_path / "flatter.toml"
    path.write_text(
        'name = "J"\npitch = 34.35\n[[detail]]\nkind = "step flashing"\nlength = 1892.7\nhands = "right"\n'
        "riser = 85\nwater_line = 90\ncoursing = { gauge = 75, first_joint = 48 }\n"
        "above = [{ length = 1569.6, pitch = 15.85 }]\n",
        encoding="utf-8",
    )
    job, _ = load_job(path)
    pieces, _ = cut_up([job])
    assert any(piece.detail == "S2" for piece in pieces)
    _, findings = prove(job, pieces)
    assert findings == ()


@pytest.mark.parametrize(
    ("first", "riser"), gate(product(range(60, 135, 5), (80, 90)), (60, 80), (75, 90), (90, 80), (105, 90), (120, 80))
)
def test_a_short_part_between_two_changes_is_covered_whole(tmp_path, first, riser):
    """Its only tooth goes on below the lower change, over the part there; the tongue above it ends at that change."""
    path = tmp_path / "changes.toml"
    path.write_text(
        'name = "J"\npitch = 22\n[[detail]]\nkind = "step flashing"\nlength = 250\nhands = "left"\nwater_line = 90\n'
        f'riser = {riser}\nshort_steps = "skip"\ncoursing = {{ gauge = 75, first_joint = {first} }}\n'
        "above = [{ length = 1468, pitch = 28.8 }, { length = 134, pitch = 19 }, { length = 1577, pitch = 15 }]\n",
        encoding="utf-8",
    )
    (job,), _ = read_jobs([path])
    pieces, found = cut_up([job])
    if not faults(found):
        assert {piece.detail for piece in pieces} == {"S1", "S2", "S3", "S4"}
        assert prove(job, pieces)[1] == ()


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
    job, pieces = both_reaches(survey)
    flatter = replace(survey.tongue.below, pitch_deg=survey.tongue.pitch_deg - 1.0)
    other = replace(job, details=(job.details[0], replace(survey, tongue=Tongue(flatter))))
    _, findings = prove(other, pieces)
    assert "CP413" in {f.code for f in findings}


@for_all(upper_reaches(), st.integers(2, 300))
def test_a_tongue_that_ends_too_soon_is_caught(survey, short):
    """Nothing but the end of the tongue is moved: it must go back by the lap that was asked for."""
    job, pieces = both_reaches(survey)
    low = survey.tongue.below
    assume(low.slope_mm * math.cos(math.radians(low.pitch_deg)) - low.set_back_mm > low.lapped_mm + short)
    more = replace(low, lapped_mm=low.lapped_mm + short)
    end = tongue_end(run_of(low))
    allowed = (more.slope_mm - more.lapped_mm) * math.cos(math.radians(more.pitch_deg))
    assume(max(end.foot[0], end.line.at[0]) > allowed + 0.1)
    asked = replace(job, details=(more, replace(survey, tongue=Tongue(more))))
    _, findings = prove(asked, pieces)
    assert {"CP413", "CP415"} & {f.code for f in findings}


@for_all(upper_reaches())
def test_a_plumb_butt_over_bare_brick_is_caught(survey):
    """The tongue cut down to the water line: above it the two lengths only meet."""
    job, pieces = both_reaches(survey)
    low = survey.tongue.below
    (first,) = [p for p in pieces if p.detail == "D2" and p.number == 1 and p.hand is survey.head.hands[0]]
    _, findings = prove(job, [butted(survey, p) if p is first else p for p in pieces])
    codes = [f.code for f in findings if f.where.endswith(f"(piece {first.id})")]
    assert "CP415" in codes, low


@pytest.mark.parametrize(("length", "lengths"), [(900, 1), (2400, 2)])
@pytest.mark.parametrize("joint", [4, 6])
def test_a_joint_that_the_steps_pass_over_is_caught(length, lengths, joint):
    survey = steps(slope_mm=float(length), joints=courses(24))
    without = replace(survey, joints=tuple(other for other in survey.joints if other.number != joint))
    pieces, _ = cut_up([job_of(without)])
    assert len(pieces) == lengths
    assert f"the steps pass over joint {joint}" in " ".join(f.found for f in prove(job_of(survey), pieces)[1])


@pytest.mark.parametrize("hand", [Hand.RIGHT, Hand.LEFT])
def test_the_end_of_a_tongue_of_several_lengths_is_held_on_the_run_below(tmp_path, hand):
    (tmp_path / "long.toml").write_text(
        'name = "J"\npitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 2400\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 120 }\nabove = [{ length = 2900, pitch = 42 }]\n"
    )
    job, _ = load_job(tmp_path / "long.toml")
    pieces, _ = cut_up([job])
    assert [sum(p.detail == part and p.hand is hand for p in pieces) for part in ("S1", "S2")] == [2, 3]
    assert prove(job, pieces)[1] == ()

    def moved(mark):
        return replace(mark, points=tuple((x + 5.0, y) for x, y in mark.points))

    spoilt = [
        replace(p, pattern=replace(p.pattern, marks=tuple(
            moved(mark) if mark.use is MarkUse.TONGUE_ABOVE else mark for mark in p.pattern.marks
        )))
        if p.hand is hand else p
        for p in pieces
    ]  # fmt: skip
    told = prove(job, spoilt)[1]
    assert [(f.code, f"S1-{hand.name[0]}2" in f.where) for f in told] == [("CP418", True)]
