"""Tool paths of whole sheets: order of the work, nothing lost, nothing twice, nothing off the bed."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import groupby, pairwise

import pytest
import shapely

from cutpath.drawing.arcs import flattened
from cutpath.drawing.paths import tool_paths
from cutpath.drawing.sheet import draw
from cutpath.errors import faults
from cutpath.machines import machine_names
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.values.machine import Tabs
from tests.drawing.machines import made, paths_of
from tests.drawing.near import apart_mm
from tests.drawing.specimens import PIECES, full, place, sheet, sheets
from tests.properties.surveys import for_all

FULL = full()
LONG_BED = {"length_mm": 20000.0, "width_mm": 2000.0}


def passes_of(paths):
    return [p for f in paths.frames for p in f.passes]


def strokes_union(drawing, role):
    lines = [s.points + (s.points[:1] if s.closed else ()) for s in drawing.strokes if s.role is role]
    return shapely.union_all([shapely.LineString(line) for line in lines])


def run_union(paths, role, *, marks=False):
    own = [p for p in passes_of(paths) if p.role is role and (marks or p.name != "registration mark")]
    return shapely.union_all([shapely.LineString(p.line) for p in own])


def same_lines(a, b, within=0.02):
    """The largest distance from any point of one to the other."""
    return apart_mm(a, b, 0.05) <= within


@pytest.mark.parametrize("name", [n for n in machine_names() if n not in ("jet-table", "spindle-table")])
def test_every_line_is_run_and_none_that_was_not_drawn(name) -> None:
    paths = paths_of(FULL, made(name, perforation=None, edge_cuts=True))
    assert not faults(paths.findings)
    for role in (Role.MARK, Role.FOLD, Role.INNER, Role.OUTER):
        assert same_lines(strokes_union(FULL, role), run_union(paths, role))
    assert not [p for p in passes_of(paths) if p.role is Role.REFERENCE]


def test_a_line_that_neighbours_share_is_cut_once() -> None:
    once = paths_of(FULL, made("flatbed-knife", bed=LONG_BED, edge_cuts=True))
    outer = [shapely.LineString(p.line) for p in passes_of(once) if p.role is Role.OUTER]
    assert math.fsum(line.length for line in outer) == pytest.approx(shapely.union_all(outer).length, abs=0.01)
    each = paths_of(FULL, made("flatbed-knife", bed=LONG_BED, shared_once=False))
    twice = math.fsum(shapely.LineString(p.line).length for p in passes_of(each) if p.role is Role.OUTER)
    shared = 175.0 + 175.0 + 2 * 40.0  # two pairs of soakers, and the feet of two gussets on the plate
    assert twice - shapely.union_all(outer).length == pytest.approx(shared, abs=0.01)


def test_the_rolls_own_edges_are_left_uncut_where_asked() -> None:
    left = paths_of(FULL, made("flatbed-knife", bed=LONG_BED, edge_cuts=False))
    cuts = shapely.union_all([shapely.LineString(p.line) for p in passes_of(left) if p.head == "knife"])
    all_cuts = shapely.union_all([strokes_union(FULL, Role.INNER), strokes_union(FULL, Role.OUTER)])
    edges = shapely.MultiLineString([((0, 0), (2650, 0)), ((0, 450), (2650, 450))])
    assert all_cuts.intersection(edges).length > 2000
    assert cuts.intersection(edges).length < 1e-6
    assert same_lines(cuts, all_cuts.difference(edges.buffer(1e-6)))
    marks = run_union(left, Role.MARK)
    assert same_lines(marks, strokes_union(FULL, Role.MARK))


def test_heads_follow_each_other_pens_first() -> None:
    paths = paths_of(FULL, made("flatbed-knife"))
    for frame in paths.frames:
        assert [k for k, _ in groupby(p.head for p in frame.passes)] == ["pen", "knife"]
    assert paths.report.changes == 2 * len(paths.frames) - 1


@pytest.mark.parametrize("name", ["flatbed-knife", "office-printer"])
def test_a_piece_is_finished_before_the_next_and_roles_keep_their_order(name) -> None:
    paths = paths_of(FULL, made(name, bed=LONG_BED))
    rank = list(Role)
    for _, run in groupby(passes_of(paths), key=lambda p: p.head):
        runs = [(piece, list(own)) for piece, own in groupby(run, key=lambda p: p.piece)]
        names = [piece for piece, _ in runs]
        assert len(names) == len(set(names))
        for _, own in runs:
            roles = [rank.index(p.role) for p in own]
            assert roles == sorted(roles)


def test_where_outlines_stay_whole_pens_finish_a_piece_and_knives_go_from_the_innermost_cuts_outwards() -> None:
    (frame,) = paths_of(FULL, made("drawing-table", bed=LONG_BED)).frames
    drawn = [p.piece for p in frame.passes if p.head == "pen"]
    assert len([k for k, _ in groupby(drawn)]) == len(set(drawn))
    cuts = [p.role for p in frame.passes if p.head == "knife"]
    assert [k for k, _ in groupby(cuts)] == [Role.INNER, Role.OUTER]


@pytest.mark.parametrize("name", ["drawing-table", "flatbed-knife"])
def test_neighbours_free_no_piece_before_its_snips_and_holes_are_cut(name) -> None:
    # Three plates across the whole roll, which only each other and the mill edges hold: the last of them hangs by
    # nothing of its own. So it is once more with three plates in the hole of one.
    def plate(low, high, bottom, top, piece, name="outline"):
        points = ((low, bottom), (high, bottom), (high, top), (low, top))
        hole = name != "outline"
        return Stroke(Role.INNER if hole else Role.OUTER, points[::-1] if hole else points, True, piece, name)

    def snip(x, low, high, piece):
        return Stroke(Role.INNER, ((x, low), (x, high)), False, piece, "snip")

    strokes = (
        *(plate(*span, 0, 200, name) for name, *span in (("A", 0, 300), ("B", 300, 900), ("C", 900, 1200))),
        *(snip(x, 200, 170, name) for name, x in (("A", 150), ("B", 600), ("C", 1050))),
        plate(350, 800, 50, 150, "B", "hole"),
        *(plate(*span, 50, 150, name) for name, *span in (("a", 350, 500), ("b", 500, 650), ("c", 650, 800))),
        *(snip(x, 150, 120, name) for name, x in (("a", 425), ("b", 575), ("c", 725))),
    )
    passes = passes_of(tool_paths(Drawing("t", 1200.0, 200.0, strokes), made(name, edge_cuts=True)))
    edges = shapely.box(0, 0, 1200, 200).exterior
    held = {s.piece: shapely.LinearRing(s.points).difference(edges) for s in strokes if s.role is Role.OUTER}
    for p in passes:
        if p.role is Role.INNER:
            assert held[p.piece].length > 1, f"{p.piece} hangs by nothing when its {p.name} is cut"
        way = shapely.LineString(p.line).buffer(1e-6)
        held = {piece: line.difference(way) for piece, line in held.items()}
    assert all(line.length < 1e-3 for line in held.values())
    in_hole = [k for k, p in enumerate(passes) if p.piece in ("a", "b", "c")]
    assert max(in_hole) < min(k for k, p in enumerate(passes) if p.name == "hole")


def ring(x, y, size, piece, role=Role.OUTER, name="outline"):
    points = ((x, y), (x + size, y), (x + size, y + size), (x, y + size))
    return Stroke(role, points if role is Role.OUTER else points[::-1], True, piece, name)


def test_what_lies_deepest_is_cut_first() -> None:
    # A piece in the hole of a piece that lies in the hole of a third; and a neighbour between in the listing.
    strokes = (
        ring(0, 0, 400, "big"), ring(50, 50, 300, "big", Role.INNER, "hole"),
        ring(500, 0, 100, "beside"),
        ring(100, 100, 200, "middle"), ring(150, 150, 100, "middle", Role.INNER, "hole"),
        ring(170, 170, 50, "small"),
    )  # fmt: skip
    paths = tool_paths(Drawing("t", 700.0, 450.0, strokes), made("flatbed-knife"))
    order = [(p.piece, p.name) for p in passes_of(paths) if p.piece != "beside"]
    assert order == [
        ("small", "outline"),
        ("middle", "hole"),
        ("middle", "outline"),
        ("big", "hole"),
        ("big", "outline"),
    ]
    position = [p.piece for p in passes_of(paths)].index("beside")
    assert position in (0, 5)


@for_all(sheets(), gate=8)
def test_any_sheet_is_run_whole(cut) -> None:
    drawing = draw(cut, PIECES)
    paths = tool_paths(drawing, made("flatbed-drag-knife", bed={**LONG_BED, "width_mm": 950.0}, edge_cuts=True))
    assert not faults(paths.findings)
    for role in (Role.MARK, Role.FOLD, Role.INNER, Role.OUTER):
        if any(s.role is role for s in drawing.strokes):
            assert same_lines(strokes_union(drawing, role), run_union(paths, role))
    assert paths.report.order_mm <= paths.report.nest_order_mm + 1e-6


def test_the_nests_own_order_stands_where_it_is_shorter() -> None:
    """What is shortest for the pen ends where the knife is far."""
    alone = sheet([place("B-A1-G1", 1, turn=180.0, flipped=True)], width=900.0, drawn=950.0)
    tool = made("flatbed-drag-knife", bed={**LONG_BED, "width_mm": 950.0}, edge_cuts=True)
    report = tool_paths(draw(alone, PIECES), tool).report
    assert report.order_mm <= report.nest_order_mm + 1e-6


def test_frames_cut_off_what_stands_across_and_say_so() -> None:
    paths = paths_of(FULL, made("pen-marker"))
    assert len(paths.frames) > 2
    assert {(f.code, f.where) for f in paths.findings} == {("CP609", "code4-01"), ("CP609", "pen-marker")}
    for frame in paths.frames:
        for p in frame.passes:
            assert all(frame.start_mm - 1e-6 <= x <= frame.end_mm + 1e-6 for x, _ in p.line)
    crosses = [p for p in passes_of(paths) if p.name == "registration mark"]
    assert len(crosses) == 4 * (len(paths.frames) - 1)
    for before, after in pairwise(paths.frames):
        drawn = {tuple(map(tuple, p.line)) for p in before.passes if p.name == "registration mark"}
        for x, y in after.register:
            assert any(abs((a[0] + b[0]) / 2 - x) < 1e-9 and abs((a[1] + b[1]) / 2 - y) < 1e-9 for a, b in drawn)
            assert after.start_mm <= x - 5


def test_a_seam_parts_no_letter_and_no_word_that_a_frame_reaches() -> None:
    def word(x, letters):
        return [
            Stroke(Role.MARK, ((x + 9 * k, 40.0), (x + 9 * k + 6, 50.0)), False, "A", "lettering")
            for k in range(letters)
        ]

    plate = Stroke(Role.OUTER, ((0, 0), (1500, 0), (1500, 90), (0, 90)), True, "A", "outline")
    # 800 mm are reached, and of what goes on the seam is at 780: a word on it that ends in time; one that does not, so
    # that the seam is laid before it; one beyond; one longer than any frame, of which the letters stay whole.
    short, long, beyond, endless = word(760, 4), word(731, 12), word(785, 2), word(10, 100)
    for drawn, frames in ((short, [1] * 4), (long, [2] * 12), (beyond, [2] * 2), (endless, [1] * 86 + [2] * 14)):
        paths = tool_paths(Drawing("t", 1500.0, 90.0, (*drawn, plate)), made("pen-marker"))
        at = {frozenset(p.line): f.number for f in paths.frames for p in f.passes if p.name == "lettering"}
        assert [at.pop(frozenset(s.points)) for s in drawn] == frames
        assert not at


def test_a_knife_alone_leaves_the_marks_to_the_shop() -> None:
    knife = made("flatbed-knife", bed={"length_mm": 1000.0})
    knife = replace(knife, heads=knife.heads[1:], tasks=knife.tasks[2:])
    paths = paths_of(FULL, knife)
    assert not [p for p in passes_of(paths) if p.name == "registration mark"]
    assert any("by hand" in f.remedy for f in paths.findings)


@pytest.mark.parametrize(
    ("bed", "words"),
    [({"width_mm": 300.0}, "wide"), ({"length_mm": 1000.0, "roll_feed": False}, "feeds no roll")],
)
def test_a_sheet_that_the_bed_does_not_reach_is_refused(bed, words) -> None:
    (found,) = faults(paths_of(FULL, made("flatbed-knife", bed=bed)).findings)
    assert found.code == "CP603"
    assert words in found.found


def test_a_pivot_that_would_leave_the_bed_is_refused() -> None:
    found = paths_of(FULL, made("flatbed-drag-knife", bed={"inset_mm": 1.0})).findings
    assert [f.code for f in faults(found)] == ["CP603"]


def apart():
    return draw(
        sheet(
            [place("A-S1-R1", 1, left=20.0, low=20.0), place("B-P1-1", 1, left=950.0, low=20.0)],
            width=450.0,
            drawn=1700.0,
        ),
        PIECES,
    )


def test_a_jet_begins_and_ends_in_waste_and_leaves_tabs() -> None:
    jet = made("jet-table", tabs=None)
    paths = tool_paths(apart(), jet)
    assert not paths.findings
    pieces = [shapely.Polygon(s.points) for s in apart().strokes if s.role is Role.OUTER]
    pieces[1] = shapely.Polygon(
        pieces[1].exterior, [s.points for s in apart().strokes if s.role is Role.INNER and s.closed]
    )
    closed = [p for p in passes_of(paths) if p.head == "jet" and p.line[0] == p.line[-1]]
    assert len(closed) == 4
    for p in closed:
        way = shapely.LineString(flattened(p.start, p.moves, 0.01))
        assert min(way.distance(shape) for shape in pieces) >= 0.6 - 1e-5
        assert math.dist(p.start, p.line[0]) == pytest.approx(4.0)
        assert math.dist(p.end, p.line[-1]) == pytest.approx(2.0)


def test_a_jet_begins_snips_at_the_outline() -> None:
    paths = tool_paths(apart(), made("jet-table"))
    edges = shapely.union_all([shapely.LinearRing(s.points) for s in apart().strokes if s.role is Role.OUTER])
    snips = [p for p in passes_of(paths) if p.role is Role.INNER and p.line[0] != p.line[-1]]
    assert len(snips) == 4
    for p in snips:
        assert edges.distance(shapely.Point(p.start)) < 1e-6
        assert edges.distance(shapely.Point(p.end)) > 1


def test_what_is_left_between_kerfs_is_the_piece() -> None:
    paths = tool_paths(apart(), made("jet-table", tabs=None, leads=None))
    outer = [p for p in passes_of(paths) if p.role is Role.OUTER]
    for p in outer:
        (stroke,) = [s for s in apart().strokes if s.piece == p.piece and s.role is Role.OUTER]
        left = shapely.Polygon(p.line).buffer(-0.6, join_style="mitre")
        assert left.symmetric_difference(shapely.Polygon(stroke.points)).area < 1e-3


def test_tabs_break_the_outer_cut_only() -> None:
    paths = tool_paths(apart(), made("jet-table", leads=None, tabs=Tabs(1.5, 400.0, 6.0, 2)))
    counts = {(p.piece, p.role): 0 for p in passes_of(paths)}
    for p in passes_of(paths):
        counts[(p.piece, p.role)] += 1
    assert counts[("B-P1-1", Role.INNER)] == 2
    assert counts[("B-P1-1", Role.OUTER)] == math.ceil(1804.8 / 400) + 1


def test_passes_are_repeated_and_counted_once_in_the_account() -> None:
    one = tool_paths(apart(), made("flatbed-knife"))
    three = tool_paths(apart(), made("flatbed-knife", head={"passes": 3}))
    assert three.report.totals == one.report.totals
    cuts = [p for p in passes_of(three) if p.head == "knife"]
    assert len(cuts) == 3 * len([p for p in passes_of(one) if p.head == "knife"])
    assert [p.number for p in cuts[:3]] == [1, 2, 3]


def test_folds_of_card_are_perforated_and_those_of_lead_are_not() -> None:
    drawing = draw(sheet([place("A-S1-R1", 1), place("A-K1-1", 1, left=1000.0)], drawn=1200.0), PIECES)
    card = tool_paths(drawing, made("roll-plotter", bed=LONG_BED, coordinate_limit=None))
    dashes = [p for p in passes_of(card) if p.role is Role.FOLD]
    assert len(dashes) > 40
    assert all(math.dist(*p.line) == pytest.approx(4.0) for p in dashes)
    assert strokes_union(drawing, Role.FOLD).buffer(0.01).covers(run_union(card, Role.FOLD))
    lead = tool_paths(drawing, made("flatbed-knife", bed=LONG_BED))
    assert {p.head for p in passes_of(lead) if p.role is Role.FOLD} == {"pen"}


def test_time_is_told_from_the_speeds_or_not_at_all() -> None:
    drawing = Drawing("t", 300.0, 300.0, (ring(0, 0, 100, "A"),))
    head = {"speed_mm_min": 1200.0, "lift_s": 2.0, "overcut_mm": 0.0}
    quick = made("flatbed-knife", travel_mm_min=6000.0, head=head, edge_cuts=True)
    assert tool_paths(drawing, quick).report.seconds == pytest.approx(400 / 20 + 2.0)
    assert tool_paths(drawing, made("flatbed-knife", head={"speed_mm_min": None})).report.seconds is None
    assert tool_paths(apart(), made("jet-table")).report.seconds is None
