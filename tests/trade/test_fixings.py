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
from cutpath.profiles import practice, rolls_list
from cutpath.reports.account.marking import marking
from cutpath.reports.account.quantities import quantities
from cutpath.reports.pictures.ticket_picture import ticket_picture
from cutpath.trade.fixings import is_step, nails, turn_ins, with_fixings
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.piece import fixed_by
from cutpath.values.survey import Soakers
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
