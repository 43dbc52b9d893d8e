"""Patterns made wrong on purpose: the proof must catch each of them, and say by how much."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from cutpath.errors import Severity
from cutpath.families.frame import mirror_image
from cutpath.families.registry import develop
from cutpath.families.step_flashing.pattern import length_between
from cutpath.folding import prove
from cutpath.pieces import split
from cutpath.values.leadwork import (
    Apron,
    BackGutter,
    CornerKind,
    CornerReturn,
    CornerWork,
    CoverFlashing,
    PlainOutline,
    Soakers,
    TiltingFillet,
)
from cutpath.values.pattern import Edge, EdgeUse, FoldWay, MarkUse, Snip
from cutpath.values.survey import BedJoint, Hand, Job
from tests.families.specimens import head, steps

STEPS = steps(
    head=head(Hand.RIGHT, Hand.LEFT),
    slope_mm=2400.0,
    joints=tuple(BedJoint(k, 75.0 * k + (2.0 if k % 3 else -3.0), 0.004) for k in range(1, 30)),
    corner=CornerReturn(CornerKind.INTEGRAL, 150.0, None, 0.0),
)
SOAKERS = Soakers(head(Hand.RIGHT), 9, 190.0, 75.0, 100.0, 25.0)
COVER = CoverFlashing(head(), 3200.0, 0.0, 150.0, 25.0)
APRON = Apron(head(), 35.0, 900.0, 150.0, 100.0, 150.0, 25.0, CornerWork.WELDED)

FILLET = TiltingFillet(150.0, 75.0, 25.0, 45.0)
GUTTER = BackGutter(
    head(), 35.0, 700.0, 150.0, 100.0, 150.0, 300.0, FILLET, 25.0, CornerWork.WELDED, 45.0, 100.0, 150.0
)


def job_of(detail):
    return Job("Test", "T", "job.toml", "", "moderate", (detail,))


def pieces_of(detail):
    run, _ = develop(detail)
    pieces, _ = split(job_of(detail), detail, run)
    assert pieces
    return pieces


def faults(detail, pieces):
    _, findings = prove(job_of(detail), pieces)
    return [f for f in findings if f.severity is Severity.FAULT]


def spoilt(detail, change, number=0):
    """Pieces of a detail, one of them with its pattern changed."""
    pieces = list(pieces_of(detail))
    pieces[number] = replace(pieces[number], pattern=change(pieces[number].pattern))
    return pieces


def with_fold(pattern, name, **changes):
    at = next(i for i, f in enumerate(pattern.folds) if f.name == name)
    fold = replace(pattern.folds[at], **changes)
    return replace(pattern, folds=(*pattern.folds[:at], fold, *pattern.folds[at + 1 :]))


def fold(pattern, name):
    return next(f for f in pattern.folds if f.name == name)


def shifted(pattern, name, dx, dy):
    old = fold(pattern, name)
    return with_fold(
        pattern,
        name,
        start=(old.start[0] + dx, old.start[1] + dy),
        end=(old.end[0] + dx, old.end[1] + dy),
    )


@pytest.mark.parametrize("detail", [STEPS, SOAKERS, COVER, APRON, replace(APRON, corners=CornerWork.BOSSED), GUTTER])
def test_the_right_patterns_pass(detail):
    proofs, findings = prove(job_of(detail), pieces_of(detail))
    assert not findings
    assert max(p.deviation_mm for p in proofs) < 1e-6


@pytest.mark.parametrize("number", [0, 1, 2, 3])
def test_a_fold_moved_two_millimetres_up_the_riser(number):
    p = math.radians(STEPS.pitch_deg)

    def change(pattern):
        name = pattern.folds[2].name
        side = -1 if pattern.mirrored else 1
        return shifted(pattern, name, side * 2 * math.sin(p), 2 * math.cos(p))

    (found,) = faults(STEPS, spoilt(STEPS, change, number))
    assert found.code == "CP413"
    assert "out by 2.0" in found.found  # 2 mm plumb, the joint being nearly level


@pytest.mark.parametrize("way", [1, -1])
def test_a_fold_moved_two_millimetres_along_its_joint(way):
    def change(pattern):
        old = pattern.folds[2]
        dx, dy = old.end[0] - old.start[0], old.end[1] - old.start[1]
        unit = 2 * way / math.hypot(dx, dy)
        return shifted(pattern, old.name, dx * unit, dy * unit)

    assert "CP416" in {f.code for f in faults(STEPS, spoilt(STEPS, change, 1))}


@pytest.mark.parametrize("detail", [STEPS, SOAKERS])
def test_the_wrong_hand(detail):
    found = faults(detail, spoilt(detail, mirror_image))
    assert found
    assert found[0].code == "CP413"


def test_a_fold_the_wrong_way_comes_out_of_the_wall():
    def change(pattern):
        return with_fold(pattern, pattern.folds[1].name, way=FoldWay.FORWARD)

    (found,) = faults(STEPS, spoilt(STEPS, change, 1))
    assert "depth of the chase" in found.found
    assert "out by 25.000 mm" in found.found


def test_a_fold_at_the_wrong_angle():
    def change(pattern):
        return with_fold(pattern, pattern.folds[1].name, angle_deg=89.0)

    (found,) = faults(STEPS, spoilt(STEPS, change, 1))
    assert "lies off its joint: out by 0.436 mm" in found.found  # 25 sin 1 deg


def test_a_fold_left_out_leaves_the_turn_in_on_the_wall():
    def change(pattern):
        return replace(pattern, folds=pattern.folds[:2] + pattern.folds[3:])

    assert {f.code for f in faults(STEPS, spoilt(STEPS, change, 1))} == {"CP413"}


def test_a_snip_left_out_ties_the_turn_in_to_the_wall():
    def change(pattern):
        return replace(pattern, snips=pattern.snips[:2] + pattern.snips[3:])

    assert faults(STEPS, spoilt(STEPS, change, 1))


def test_a_snip_run_on_below_the_water_line():
    def change(pattern):
        snip = pattern.snips[2]
        (x0, y0), (x1, y1) = snip.points
        unit = 2 / math.hypot(x1 - x0, y1 - y0)
        longer = Snip(snip.name, (snip.points[0], (x1 + (x1 - x0) * unit, y1 + (y1 - y0) * unit)))
        return replace(pattern, snips=(*pattern.snips[:2], longer, *pattern.snips[3:]))

    (found,) = faults(STEPS, spoilt(STEPS, change, 1))
    assert "a snip is cut away below the water line" in found.found


def test_a_turn_in_two_millimetres_shallow():
    def change(pattern):
        joints = replace(STEPS, turn_in_mm=23.0)
        return pieces_of(joints)[1].pattern

    (found,) = faults(STEPS, spoilt(STEPS, change, 1))
    assert "misses the depth of the chase (25 mm): out by 2.000 mm" in found.found


def test_a_return_two_millimetres_short():
    def change(pattern):
        return pieces_of(replace(STEPS, corner=replace(STEPS.corner, length_mm=148.0)))[0].pattern

    (found,) = faults(STEPS, spoilt(STEPS, change))
    assert "out by 2.000 mm" in found.found


def test_a_return_in_another_joint():
    """Joint 1 is too near the water line for a step, and the return is to turn into it all the same."""
    joints = (BedJoint(1, 60.0), *STEPS.joints[1:])
    low = replace(STEPS, water_line_mm=40.0, joints=joints, corner=replace(STEPS.corner, joint=1))

    def change(pattern):
        return pieces_of(replace(low, corner=replace(low.corner, joint=2)))[0].pattern

    assert not faults(low, pieces_of(low))
    found = faults(low, spoilt(low, change))
    assert "the return turn-in 2 is not in the joint of the return" in found[0].found


def test_a_return_left_off():
    def change(pattern):
        return pieces_of(replace(STEPS, corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0)))[0].pattern

    found = faults(STEPS, spoilt(STEPS, change))
    assert "the return round the corner is missing" in found[0].found


def test_a_mitre_left_off_makes_the_turn_ins_lie_on_each_other():
    def change(pattern):
        first = first_mitre(pattern)  # from the step's mitre to the arris head, then to the return's mitre
        ring = list(pattern.outline)
        ring[first] = (ring[first + 1][0], ring[first][1])
        return replace(pattern, outline=tuple(ring))

    level = replace(STEPS, joints=tuple(replace(j, slope=0.0) for j in STEPS.joints))
    assert not faults(level, pieces_of(level))
    assert "CP414" in {f.code for f in faults(level, spoilt(level, change))}


def first_mitre(pattern):
    return next(i for i, edge in enumerate(pattern.edges) if edge.use is EdgeUse.MITRE)


def moved_corner(pattern, at, dx, dy):
    ring = list(pattern.outline)
    ring[at] = (ring[at][0] + dx, ring[at][1] + dy)
    return replace(pattern, outline=tuple(ring))


@pytest.mark.parametrize("side", [0, 2])
def test_a_mitre_that_gapes_at_the_arris(side):
    """The top corner of either turn-in at the arris is cut 2 mm farther from it along its joint than 45 degrees ask."""

    def change(pattern):
        first = first_mitre(pattern)
        ring = pattern.outline
        a, b = (ring[first - 1], ring[first]) if side == 0 else (ring[first + 3], ring[first + 2])
        unit = 2.0 / math.dist(a, b)
        return moved_corner(pattern, first + side, (a[0] - b[0]) * unit, (a[1] - b[1]) * unit)

    (found,) = faults(STEPS, spoilt(STEPS, change))
    assert found.code == "CP413"
    assert "stands off its neighbour: out by 1." in found.found  # square to the mitre: 2 sin 45 or less


def test_a_turn_in_that_stands_off_the_next_riser():
    """Its top corner is cut back by 2 mm, so that the joint lies open beside the next riser."""

    def change(pattern):
        snip = pattern.snips[2]
        at = pattern.outline.index(snip.points[0])
        after, here = pattern.outline[at + 1], pattern.outline[at]
        unit = 2.0 / math.dist(after, here)
        gone = (here[0] + (after[0] - here[0]) * unit, here[1] + (after[1] - here[1]) * unit)
        ring = (*pattern.outline[:at], snip.points[1], gone, *pattern.outline[at + 1 :])
        return replace(
            pattern,
            outline=ring,
            edges=(*pattern.edges[:at], Edge("cut", EdgeUse.END), *pattern.edges[at:]),
            snips=(*pattern.snips[:2], *pattern.snips[3:]),
        )

    (found,) = faults(STEPS, spoilt(STEPS, change, 1))
    assert "stands off its neighbour: out by 2.0" in found.found


def test_a_lap_short_by_a_step():
    run, _ = develop(STEPS)
    pieces = [p for p in pieces_of(STEPS) if p.hand is Hand.RIGHT]
    names = [f.name for f in pieces[1].pattern.folds if f.name.startswith("turn-in")]
    first = next(i for i, s in enumerate(run.steps) if f"turn-in {s.joint.number}" == names[0])
    short = length_between(run, first + 1, len(run.steps), lap_below=None, lap_above=None)
    found = faults(STEPS, [pieces[0], replace(pieces[1], pattern=short)])
    assert {f.code for f in found} == {"CP415"}
    assert "at least 150 mm" in found[0].accepted


@pytest.mark.parametrize(("lap_mm", "by"), [(130.0, ["0.759"]), (131.0, [])])
def test_a_lap_longer_by_a_step_than_it_has_to_be(lap_mm, by):
    """Two steps lap by 262 mm; one would by 75 mm / sin 35 = 130.759 mm at every height, as its risers are plumb.

    Each step ends 10 mm above the water line, as chosen on the wall.
    """
    water_line_mm = 65.0 / math.cos(math.radians(35)) + 10.0
    ends = [(75.0 * k - water_line_mm) / math.tan(math.radians(35)) for k in range(2, 30)]
    joints = tuple(BedJoint(k, 75.0 * k, 0.0, end) for k, end in enumerate(ends, 2))
    plain = steps(slope_mm=2400.0, joints=joints)
    found = faults(replace(plain, head=replace(plain.head, lap_mm=lap_mm)), pieces_of(plain))
    assert [f.found.partition("by a step more than it has to: out by ")[2] for f in found] == [f"{mm} mm" for mm in by]


def test_a_lap_two_millimetres_short():
    run, _ = develop(COVER)
    pieces = list(pieces_of(COVER))
    assert len(pieces) == 3
    start = pieces[1].pattern.run_offset[0]
    short = run.cut(start + 2.0, start + pieces[1].pattern.length_mm, None, None)
    found = faults(COVER, [pieces[0], replace(pieces[1], pattern=short), pieces[2]])
    assert [f.found for f in found] == [f"it laps over piece {pieces[0].id} by 148.0 mm"]


def test_a_mark_said_to_be_of_both_neighbours_lies_at_the_end_of_both():
    def change(pattern):
        first, *rest = pattern.marks
        return replace(pattern, marks=(replace(first, use=MarkUse.BOTH_LENGTHS), *rest))

    for number in range(3):  # at an end of the run there is one neighbour, between they end apart
        (found, *_) = faults(COVER, spoilt(COVER, change, number))
        assert "lies in the wrong place" in found.found
    marks = [replace(mark, use=MarkUse.BOTH_LENGTHS) for mark in pieces_of(STEPS)[0].pattern.marks]
    found = faults(STEPS, spoilt(STEPS, lambda pattern: replace(pattern, marks=tuple(marks))))
    assert any("the mark 'water line' lies in the wrong place" in fault.found for fault in found)


def test_a_piece_put_in_the_wrong_place():
    def change(pattern):
        return replace(pattern, run_offset=(pattern.run_offset[0] + 2.0, pattern.run_offset[1]))

    found = faults(STEPS, spoilt(STEPS, change, 1))
    assert "CP413" in {f.code for f in found}


@pytest.mark.parametrize(("name", "dx", "dy"), [("upstand", 0.0, 2.0), ("turn-down", 2.0, 0.0)])
def test_a_soaker_fold_moved_two_millimetres(name, dx, dy):
    found = faults(SOAKERS, spoilt(SOAKERS, lambda pattern: shifted(pattern, name, dx, dy)))
    assert found


def test_an_apron_folded_to_the_pitch_instead_of_its_complement():
    def change(pattern):
        return with_fold(pattern, "front", angle_deg=APRON.pitch_deg)

    found = faults(APRON, spoilt(APRON, change))
    assert "CP413" in {f.code for f in found}


def test_a_gusset_two_millimetres_narrow():
    def change(pattern):
        return replace(
            pattern, outline=tuple((x, min(y, max(q for _, q in pattern.outline) - 2)) for x, y in pattern.outline)
        )

    (found,) = faults(APRON, spoilt(APRON, change, -1))
    assert "the gusset misses its opening: out by 2.000 mm" in found.found


@pytest.mark.parametrize("number", [1, 2])
@pytest.mark.parametrize("corner", range(7))
@pytest.mark.parametrize("by", [(2.0, 0.0), (0.0, 2.0)])
def test_a_corner_of_a_back_gutters_gusset_two_millimetres_out(number, corner, by):
    found = faults(GUTTER, spoilt(GUTTER, lambda p: moved_corner(p, corner, *by), number))
    assert "CP413" in {f.code for f in found}
    assert all(f"T-S1-{number + 1}" in f.where for f in found)


@pytest.mark.parametrize("number", [1, 2])
@pytest.mark.parametrize("changes", [{"angle_deg": 89.0}, {"way": FoldWay.BACK}])
def test_the_foot_of_a_back_gutters_gusset_folded_wrong(number, changes):
    (found,) = faults(GUTTER, spoilt(GUTTER, lambda p: with_fold(p, "roof line", **changes), number))
    assert "the gusset's foot" in found.found


@pytest.mark.parametrize("number", [1, 2])
def test_a_back_gutters_gusset_without_its_foot(number):
    (found,) = faults(GUTTER, spoilt(GUTTER, lambda p: replace(p, folds=()), number))
    assert "the roof line is missing" in found.found or "misses its opening" in found.found


def test_a_fold_that_ends_inside_a_shape_of_the_users_own_is_a_warning():
    shape = ((0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0))
    detail = PlainOutline(head(), shape, (), (), (((0.0, 100.0), (150.0, 100.0), 90.0),), False)
    proofs, findings = prove(job_of(detail), pieces_of(detail))
    assert [(f.code, f.severity) for f in findings] == [("CP416", Severity.WARNING)]
    assert proofs[0].unproved == ("worked lead beyond the end of 'fold 1'",)


def warnings(detail):
    _, findings = prove(job_of(detail), pieces_of(detail))
    assert all(f.severity is Severity.WARNING for f in findings)
    return {f.code for f in findings}


def test_folds_of_the_users_own_that_run_the_sheet_into_itself():
    """Two flaps of 120 mm on a back of 100 mm, each folded right over and a little down, cross in the middle."""
    shape = ((0.0, 0.0), (340.0, 0.0), (340.0, 100.0), (0.0, 100.0))
    folds = (((120.0, 0.0), (120.0, 100.0), 150.0), ((220.0, 0.0), (220.0, 100.0), 150.0))
    detail = PlainOutline(head(), shape, (), (), folds, False)
    assert warnings(detail) == {"CP414"}
    _, (found,) = prove(job_of(detail), pieces_of(detail))
    assert found.found == "folded up, the main face runs into the part beyond 'fold 2'"
    apart = replace(detail, folds=tuple((a, b, 90.0) for a, b, _ in folds))
    assert warnings(apart) == set()


def test_a_flap_that_comes_back_through_the_sheet_runs_into_the_main_face():
    """A flap of 100 mm at an end of 300 mm, folded by 120 deg, then once more 50 mm on, comes down through it."""
    shape = ((0.0, 0.0), (500.0, 0.0), (500.0, 100.0), (0.0, 100.0))
    folds = (((300.0, 0.0), (300.0, 100.0), 120.0), ((350.0, 0.0), (350.0, 100.0), 120.0))
    detail = PlainOutline(head(), shape, (), (), folds, False)
    _, findings = prove(job_of(detail), pieces_of(detail))
    assert [f.found for f in findings] == ["folded up, the main face runs into the part beyond 'fold 2'"]


def test_parts_that_a_cut_leaves_on_no_fold_are_counted():
    shape = ((0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0))
    cuts = (((200.0, 0.0), (200.0, 200.0)), ((250.0, 0.0), (250.0, 200.0)))
    detail = PlainOutline(head(), shape, (), cuts, (((100.0, 0.0), (100.0, 200.0), 90.0),), False)
    _, findings = prove(job_of(detail), pieces_of(detail))
    assert [(f.code, f.found) for f in findings] == [("CP416", "2 part(s) of the sheet hang on no fold")]


def test_a_hole_stands_where_its_part_was_folded_to():
    """100 mm up a flap that stands at 300 mm, square to the sheet; the sheet has one as well."""
    shape = ((0.0, 0.0), (500.0, 0.0), (500.0, 200.0), (0.0, 200.0))
    holes = tuple(((x, 80.0), (x, 120.0), (x + 20, 120.0), (x + 20, 80.0)) for x in (50.0, 400.0))
    detail = PlainOutline(head(), shape, holes, (), (((300.0, 0.0), (300.0, 200.0), 90.0),), False)
    (proof,), findings = prove(job_of(detail), pieces_of(detail))
    assert (findings, proof.deviation_mm, proof.worst) == ((), 0.0, "")
    still, up = (next(f for f in proof.faces if (f.name == "sheet") is there) for there in (True, False))
    (hole,), (raised,) = still.holes, up.holes
    assert sorted(hole) == [pytest.approx((x, y, 0.0)) for x in (50, 70) for y in (80, 120)]
    assert sorted((round(x, 6), round(y, 6), round(z, 6)) for x, y, z in raised) == [
        (300.0, y, z) for y in (80.0, 120.0) for z in (100.0, 120.0)
    ]


def test_a_box_corner_of_the_users_own_closes_only_when_it_is_cut():
    """Across a corner that is not cut, the sheet would have to be in two places; cut, its flap laps the other side."""
    shape = ((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0))
    folds = (((100.0, 0.0), (100.0, 300.0), 90.0), ((0.0, 100.0), (300.0, 100.0), 90.0))
    uncut = PlainOutline(head(), shape, (), (), folds, False)
    assert "CP413" in warnings(uncut)
    cut = replace(
        uncut, cuts=(((0.0, 100.0), (100.0, 100.0)),), folds=(folds[0], ((100.0, 100.0), (300.0, 100.0), 90.0))
    )
    assert "CP413" not in warnings(cut)
