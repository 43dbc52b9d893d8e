"""Where wedges, clips and nails stand: on their folds and edges, no farther apart than the rules say."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from cutpath.families.soakers.pattern import soaker
from cutpath.jobs import read_jobs
from cutpath.paper.fixing_marks import fixing_signs
from cutpath.pieces import pieces_of
from cutpath.plane import bounds_mm
from cutpath.profiles import practice
from cutpath.profiles.rolls import rolls_list
from cutpath.reports.account.marking import marking
from cutpath.reports.account.quantities import quantities
from cutpath.reports.pictures.ticket_picture import ticket_picture
from cutpath.trade.fixings import (
    clips,
    is_step,
    nails,
    roll_mm,
    run_mm,
    turn_ins,
    wedges,
    weld_mm,
    welded_corners,
    with_fixings,
)
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.leadwork import Soakers
from cutpath.values.pattern import (
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    LabelBox,
    Mark,
    MarkKind,
    MarkUse,
    PartKind,
)
from cutpath.values.piece import fixed_by
from tests.families.changes import upper_reaches
from tests.families.families import families
from tests.properties.surveys import details, for_all
from tests.properties.surveys import pieces_of as random_pieces

JOBS = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"
ITEMS = {
    FixingKind.WEDGE: "lead wedges",
    FixingKind.CLIP: "clips for free edges",
    FixingKind.NAIL: "copper nails through heads",
}
NEAR_MM = 1e-6


def planned(file):
    jobs, _ = read_jobs([JOBS / f"{file}.toml"], rolls_list(None), practice())
    return jobs, with_fixings(pieces_of(jobs)[0], practice())


def fixed(detail):
    return with_fixings(random_pieces(detail), practice())


def edges(pattern):
    ring = (*pattern.outline, pattern.outline[0])
    return [(edge, LineString(ends)) for edge, ends in zip(pattern.edges, pairwise(ring), strict=True)]


any_detail = st.one_of(details, families, upper_reaches(), upper_reaches(cover=True))


@for_all(any_detail)
def test_every_wedge_stands_on_its_turn_in_and_no_stretch_of_it_is_longer_than_the_spacing(detail):
    spacing = practice()["wedge_spacing"].value
    for piece in fixed(detail):
        folds = turn_ins(piece.pattern)
        wedges = fixed_by(piece, FixingKind.WEDGE)
        assert bool(folds) == bool(wedges)
        assert not folds or len(wedges) >= practice()["wedges_a_piece"].value
        everywhere = [wedge.at for wedge in wedges]
        for fold in folds:
            line = LineString([fold.start, fold.end])
            own = [wedge for wedge in wedges if wedge.on == fold and line.distance(Point(wedge.at)) <= NEAR_MM]
            assert own
            on_it = sorted(line.project(Point(at)) for at in everywhere if line.distance(Point(at)) <= NEAR_MM)
            assert on_it[0] <= spacing
            assert line.length - on_it[-1] <= spacing
            assert all(b - a <= spacing + NEAR_MM for a, b in pairwise(on_it))


@for_all(any_detail)
def test_the_ends_of_straight_turn_ins_are_wedged(detail):
    """No farther from a free end than the first wedge should stand; at an arris the wedge may be the neighbour's."""
    near = practice()["fixing_from_end"].value
    for piece in fixed(detail):
        runs = [fold for fold in turn_ins(piece.pattern) if not is_step(fold)]
        places = [wedge.at for wedge in fixed_by(piece, FixingKind.WEDGE)]
        for fold in runs:
            for end in (fold.start, fold.end):
                assert min(math.dist(end, at) for at in places) <= near + NEAR_MM


@for_all(any_detail)
def test_clips_stand_on_free_edges_by_the_spacing(detail):
    most = practice()["clip_spacing_most"].value
    for piece in fixed(detail):
        lines = edges(piece.pattern)
        by_edge = Counter()
        for clip in fixed_by(piece, FixingKind.CLIP):
            on = [i for i, (name, line) in enumerate(lines) if name == clip.on and line.distance(Point(clip.at)) < 1e-6]
            assert on
            by_edge[on[0]] += 1
        for i, count in by_edge.items():
            assert lines[i][1].length <= count * most


@for_all(families)
def test_nails_stand_in_one_row_inside_the_sheet_below_its_head(detail):
    rules = practice()
    for piece in fixed(detail):
        nails = fixed_by(piece, FixingKind.NAIL)
        sheet = Polygon(piece.pattern.outline)
        heads = [line for name, line in edges(piece.pattern) if nails and name == nails[0].on]
        for nail in nails:
            assert sheet.contains(Point(nail.at))
            assert heads[0].distance(Point(nail.at)) == pytest.approx(rules["nail_from_edge"].value, abs=1e-6)
        assert all(math.dist(a.at, b.at) <= rules["nail_spacing"].value + NEAR_MM for a, b in pairwise(nails))


def test_a_soaker_hangs_on_its_turn_down_and_is_nailed_where_it_has_none():
    hung = next(d for d in planned("chimney")[0][0].details if isinstance(d, Soakers))
    straight = replace(hung, turn_down_mm=0.0, length_mm=hung.length_mm - hung.turn_down_mm)
    assert not nails(soaker(hung), practice())
    pattern = soaker(straight)
    (fold,) = pattern.folds
    row = nails(pattern, practice())
    assert len(row) >= 2
    lower = min(y for _, y in pattern.outline)
    roof_below = fold.start[1] - lower == pytest.approx(straight.roof_mm)
    assert all((nail.at[1] < fold.start[1]) == roof_below for nail in row), "on the roof, not up the wall"


def test_a_valley_is_nailed_between_its_fillets_and_a_gutter_on_its_sole():
    _, pieces = planned("garden-room")
    valley = next(p for p in pieces if p.pattern.family == "valley gutter")
    gutter = next(p for p in pieces if p.pattern.family == "secret gutter")
    for piece, names in ((valley, ("foot of the fillet",)), (gutter, ("outer edge", "wall"))):
        levels = sorted(f.start[1] for f in piece.pattern.folds if f.name.startswith(names))
        across = [nail.at[1] for nail in fixed_by(piece, FixingKind.NAIL)]
        assert across
        if levels:
            assert levels[0] < min(across)
            assert max(across) < levels[-1]


def test_the_wedge_of_the_first_step_stands_at_the_arris_of_its_return():
    pieces = [piece for file in ("chimney", "whole-chimney", "old-gable") for piece in planned(file)[1]]
    turned = [p for p in pieces if any(f.name == "arris" for f in p.pattern.folds)]
    assert turned
    near = practice()["fixing_from_end"].value
    for piece in turned:
        places = [w.at for w in fixed_by(piece, FixingKind.WEDGE)]
        arris = next(f for f in piece.pattern.folds if f.name == "arris")
        corner = max((arris.start, arris.end), key=lambda at: at[1])
        assert min(math.dist(corner, at) for at in places) <= near + NEAR_MM


@pytest.mark.parametrize("file", sorted(path.stem for path in JOBS.glob("*.toml")))
def test_quantities_count_places_and_tickets_show_each(file):
    jobs, pieces = planned(file)
    batch = Batch(jobs, pieces, (), (), (), 1, "0", practice=practice())
    for job in jobs:
        rows = {row["item"]: row["quantity"] for row in quantities(batch) if row["job"] == job.name}
        for kind, item in ITEMS.items():
            places = sum(p.quantity * len(fixed_by(p, kind)) for p in pieces if p.job == job.name)
            assert rows.get(item, 0) == places
    for piece in pieces:
        picture = ticket_picture(piece.pattern, marking(piece.pattern), piece.id, piece.fixings, 10.0)
        assert picture.count('class="fixing ') == len(piece.fixings)
        assert len(fixing_signs(piece.fixings, lambda at: at)) == len(piece.fixings)


def test_a_left_hand_is_held_where_its_right_hand_is():
    _, pieces = planned("abutment")
    by_id = {piece.id: piece for piece in pieces}
    pairs = [(p, by_id.get(p.id.replace("-R", "-L"))) for p in pieces if "-R" in p.id]
    for right, left in [(a, b) for a, b in pairs if b is not None]:
        width = bounds_mm(right.pattern.outline)[2]
        mirrored = sorted((round(width - f.at[0], 4), round(f.at[1], 4), f.kind) for f in right.fixings)
        assert mirrored == sorted((round(f.at[0], 4), round(f.at[1], 4), f.kind) for f in left.fixings)


def sheet(width, height, *uses, folds=(), marks=()):
    """A plain sheet from its lower left corner: edges below, right, above and left, each of a use."""
    ring = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    edges = tuple(Edge(name, use) for name, use in zip(("below", "right", "above", "left"), uses, strict=True))
    return FlatPattern(
        "apron", PartKind.LENGTH, ring, edges, (), (), tuple(folds), tuple(marks), (), LabelBox((0, 0), 0, 1, 1),
        width, (0.0, 0.0), False,
    )  # fmt: skip


OWN = EdgeUse.OWN


def fold(use, start, end):
    return Fold("fold", use, start, end, 90.0, FoldWay.BACK)


def step(x0, x1):
    return fold(FoldUse.STEP_TURN_IN, (x0, 150.0), (x1, 150.0))


def straight(x0, x1):
    return fold(FoldUse.TURN_IN, (x0, 150.0), (x1, 150.0))


@pytest.mark.parametrize(
    ("folds", "places"),
    [
        ([], []),
        ([straight(0, 1000)], [25, 1000 / 3, 2000 / 3, 975]),  # three spaces of no more than 450
        ([straight(0, 900)], [25, 450, 875]),
        ([straight(0, 60)], [15, 45]),  # at a quarter where 25 would be more
        ([step(100, 180), step(200, 300)], [140, 250]),  # in the middle of each
        ([step(100, 180)], [120, 160]),  # two to a piece at the least
        ([step(0, 1000)], [1000 / 6, 500, 5000 / 6]),
        ([step(100, 150), step(200, 200)], [112.5, 137.5]),  # no fold, no wedge
        ([step(300, 380), straight(0, 300)], [320, 25]),  # round the arris: near it, and near the free end
        ([step(300, 1300), straight(300, 0)], [325, 650, 975, 25]),
        ([straight(0, 500), straight(500, 1100)], [25, 250, 500, 800, 1075]),  # one at the arris between them
        ([straight(500, 1100), straight(500, 0)], [800, 1075, 25, 250, 500]),
    ],
)
def test_where_wedges_stand(folds, places):
    """By the rules as published: 450 apart, one to a step, two to a piece, 25 from an end."""
    found = wedges(sheet(1400.0, 175.0, OWN, OWN, OWN, OWN, folds=folds), practice())
    assert [w.at for w in found] == [(pytest.approx(x), 150.0) for x in places]
    assert all(w.rule == ("wedges_a_step" if is_step(w.on) else "wedge_spacing") for w in found)


def test_where_clips_stand():
    """Of free edges, 500 apart and 25 from their ends; on a rising one as far as the sheet does not stand on a wall."""
    wall = fold(FoldUse.WALL, (0.0, 100.0), (1000.0, 100.0))
    pattern = sheet(1000.0, 150.0, EdgeUse.FREE, EdgeUse.COVER, OWN, EdgeUse.FREE, folds=[wall])
    found = [(c.on.name, *map(round, c.at)) for c in clips(pattern, practice())]
    assert found == [
        ("below", 25, 0), ("below", 500, 0), ("below", 975, 0),
        ("right", 1000, 25), ("right", 1000, 75), ("left", 0, 75), ("left", 0, 25),
    ]  # fmt: skip
    short = fold(FoldUse.WALL, (0.0, 60.0), (1000.0, 60.0))
    found = clips(sheet(1000.0, 150.0, OWN, EdgeUse.FREE, OWN, OWN, folds=[short]), practice())
    assert [c.at for c in found] == [(1000.0, 15.0), (1000.0, 45.0)], "at a quarter where 25 would be more"
    low = fold(FoldUse.WALL, (0.0, 0.0), (1000.0, 0.0))
    assert clips(sheet(1000.0, 150.0, OWN, EdgeUse.FREE, OWN, EdgeUse.FREE, folds=[low]), practice()) == ()
    assert len(clips(sheet(1000.0, 150.0, OWN, EdgeUse.FREE, OWN, OWN), practice())) == 2


def test_where_nails_stand():
    """25 below a head of 200, from 25 to 175 along it; then between the wall's fold and the foot of a fillet."""
    plain = sheet(200.0, 150.0, OWN, OWN, EdgeUse.HEAD, OWN)
    assert [n.at for n in nails(plain, practice())] == [(x, 125.0) for x in (175.0, 137.5, 100.0, 62.5, 25.0)]
    sides = [
        fold(FoldUse.WALL, (40.0, 0.0), (40.0, 150.0)),
        fold(FoldUse.FILLET_FOOT, (160.0, 150.0), (160.0, 0.0)),
    ]
    between = nails(sheet(200.0, 150.0, OWN, OWN, EdgeUse.HEAD, OWN, folds=sides), practice())
    assert [n.at[0] for n in between] == pytest.approx([135, 335 / 3, 265 / 3, 65])


def test_seams_that_are_welded():
    """Of a sheet 100 x 50: its length, and edges that meet count as one corner."""
    weld, over = EdgeUse.WELD, EdgeUse.SEAM_OVER
    for uses, length, corners in (
        ((weld, OWN, over, OWN), 200.0, 2),
        ((weld, weld, OWN, OWN), 150.0, 1),
        ((weld, OWN, OWN, weld), 150.0, 1),
        ((weld, weld, weld, weld), 300.0, 1),
        ((OWN, OWN, OWN, EdgeUse.WELD_BESIDE), 0.0, 0),
    ):
        pattern = sheet(100.0, 50.0, *uses)
        assert (weld_mm(pattern), welded_corners(pattern)) == (length, corners)


def test_the_joint_of_a_run_is_counted_once_where_lengths_lap():
    """Aslant at 30 deg: two lengths of 1000 that lap by 100, the second drawn the other way; then one 10 mm beside."""

    def length(start, end, beside=0.0, back=False):
        at = [(t * math.cos(math.pi / 6) - beside / 2, t * 0.5 + beside * math.sqrt(0.75)) for t in (start, end)]
        return sheet(10.0, 10.0, OWN, OWN, OWN, OWN, folds=[fold(FoldUse.TURN_IN, *(at[::-1] if back else at))])

    lengths = [length(0, 1000), length(900, 1900, back=True)]
    assert run_mm((one, 0.0) for one in lengths) == pytest.approx(1900)
    assert run_mm((one, 0.0) for one in [*lengths, length(500, 800, beside=10.0)]) == pytest.approx(2200)
    assert run_mm([(length(0, 1000), 0.0), (length(1500, 1600), 0.0)]) == pytest.approx(1100)
    assert run_mm([(length(5, 5), 0.0)]) == 0
    left = [replace(one, mirrored=True) for one in (straight_piece(0.0), straight_piece(900.0))]
    assert run_mm((one, 1000.0) for one in left) == pytest.approx(1900)


def straight_piece(offset):
    """A length of 1000 with its turn-in from 0 to 990, so far along its run."""
    return replace(sheet(1000.0, 175.0, OWN, OWN, OWN, OWN, folds=[straight(0, 1000)]), run_offset=(offset, 0.0))


def test_the_core_of_a_roll_is_as_long_as_its_mark():
    mark = Mark("undercloak", MarkKind.ROLL, ((0.0, 0.0), (30.0, 0.0), (30.0, 40.0)), MarkUse.UNDERCLOAK)
    other = replace(mark, use=MarkUse.OVERCLOAK)
    assert roll_mm(sheet(100.0, 50.0, OWN, OWN, OWN, OWN, marks=[mark, other])) == 50.0
