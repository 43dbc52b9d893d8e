"""RS-274/NGC: what an interpreter makes of it, and what our strict check makes of spoilt programs."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from functools import cache

import pytest
import shapely

from cutpath.drawing.arcs import flattened
from cutpath.drawing.paths import tool_paths
from cutpath.drawing.sheet import draw
from cutpath.errors import Refused
from cutpath.machines import unready
from cutpath.profiles import lead_table
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.values.machine import Axis, Corner, ToolHeights
from cutpath.writers.bed import limits_mm
from cutpath.writers.machine_files import machine_files
from cutpath.writers.ngc import to_ngc
from cutpath.writers.ngc_check import Box, faults_of
from tests.drawing.machines import made, paths_of
from tests.drawing.near import apart_mm
from tests.drawing.specimens import PIECES, full, place, sheet
from tests.writers.readers import read_ngc
from tests.writers.rs274ngc import held, interpret

FULL = full()
PART = draw(
    sheet([place("A-S1-R1", 1), place("A-S1-L1", 1, left=1000.0), place("B-P1-1", 1, left=2050.0)], drawn=2650.0),
    PIECES,
)
"""Both hands of a step flashing and a plate with holes, of the whole sheet."""
APART = draw(sheet([place("A-S1-R1", 1, left=20.0, low=20.0)], width=450.0, drawn=900.0), PIECES)
ROOM = Box((0.0, 0.0, -2.0), (1610.0, 660.0, 5.0))


def programs(name, drawing=PART, **changes):
    machine = made(name, **changes).over(1.5)
    paths = paths_of(drawing, machine)
    return machine, paths, [to_ngc(paths, f, machine) for f in paths.frames]


def joined(passes):
    """Head and way of every stretch from head down to head up: passes that go on from each other are one."""
    ways = []
    for before, p in itertools.pairwise([None, *passes]):
        way = flattened(p.start, p.moves, 1e-4)
        if before is not None and before.head == p.head and math.dist(before.end, p.start) < 1e-6:
            ways[-1][1].extend(way[1:])
        else:
            ways.append((p.head, list(way)))
    return ways


@pytest.mark.parametrize("name", ["flatbed-knife", "flatbed-drag-knife"])
def test_an_interpreter_runs_every_pass_where_it_should(name) -> None:
    machine, paths, texts = programs(name)
    inset = machine.bed.inset_mm
    for frame, text in zip(paths.frames, texts, strict=True):
        runs = read_ngc(text)
        wanted_runs = joined(frame.passes)
        assert len(runs) == len(wanted_runs)
        for (tool, points), (head, way) in zip(runs, wanted_runs, strict=True):
            assert tool == machine.head(head).number
            wanted = shapely.affinity.translate(shapely.LineString(way), inset - frame.start_mm, inset)
            assert apart_mm(shapely.LineString(points), wanted, 0.1) < 0.005


@pytest.mark.parametrize("name", ["flatbed-knife", "flatbed-drag-knife"])
def test_an_operator_would_stand_for_every_move(name) -> None:
    machine, _, texts = programs(name)
    (x0, y0), (x1, y1) = limits_mm(machine)
    for text in texts:
        assert held(interpret(text), (x0, y0, -2.0), (x1, y1, 5.0), clear_mm=5.0) == ()


def test_knife_cuts_of_the_interpreter_make_the_outlines() -> None:
    (text,) = programs("flatbed-knife", bed={"length_mm": 3000.0}, shared_once=False)[2]
    runs = shapely.union_all([shapely.LineString(points) for tool, points in read_ngc(text) if tool == 2])
    for stroke in PART.strokes:
        if stroke.name == "outline":
            wanted = shapely.LinearRing(stroke.points)
            near = runs.intersection(wanted.buffer(0.02))
            assert apart_mm(near, wanted, 0.02) < 0.05
            assert near.length >= wanted.length - 0.1
    cuts = [shapely.LinearRing(s.points) if s.closed else shapely.LineString(s.points)
            for s in PART.strokes if s.role in (Role.INNER, Role.OUTER)]  # fmt: skip
    assert apart_mm(runs, shapely.union_all(cuts), 0.1) < 0.02


@pytest.mark.parametrize("origin", list(Corner))
@pytest.mark.parametrize("along", list(Axis))
def test_every_origin_stays_in_reach_and_keeps_the_hand(origin, along) -> None:
    machine, paths, texts = programs("flatbed-drag-knife", bed={"origin": origin, "along": along})
    low, high = limits_mm(machine)
    assert low[0] <= 0 <= high[0]
    assert len(paths.frames) > 1
    for frame, text in zip(paths.frames, texts, strict=True):
        xy = [(float(x), float(y)) for x, y in re.findall(r"^G[0-3] X(\S+) Y(\S+)", text, re.MULTILINE)]
        assert all(low[0] <= x <= high[0] and low[1] <= y <= high[1] for x, y in xy)
        # The sense of every arc is that of the sheet: a mirrored program would have it turned round.
        arcs = re.findall(r"^(G[23]) ", text, re.MULTILINE)
        whole = [s.ccw for p in frame.passes for s in p.moves if s.centre is not None]
        assert arcs.count("G3") == pytest.approx(sum(whole), abs=2)
        assert arcs.count("G2") == pytest.approx(len(whole) - sum(whole), abs=2)


def test_heads_beside_each_other_on_the_carriage_reach_the_same_place() -> None:
    plain = programs("flatbed-knife")[2][0]
    aside = programs("flatbed-knife", head={"at_mm": (30.0, -10.0)})[2][0]
    a, b = (re.findall(r"X(\S+) Y(\S+)", t[t.index("T2 M6") :]) for t in (plain, aside))
    assert {(round(float(p[0]) - float(q[0]), 3), round(float(p[1]) - float(q[1]), 3))
            for p, q in zip(a, b, strict=True)} == {(30.0, -10.0)}  # fmt: skip


@pytest.mark.parametrize("name", ["flatbed-knife", "flatbed-drag-knife"])
@pytest.mark.parametrize("code", [3, 5, 8])
def test_the_knife_goes_through_the_sheet_of_its_code_and_half_a_millimetre_into_the_mat(name, code) -> None:
    thickness_mm = lead_table()[code].thickness_mm
    machine = made(name)
    assert machine.heads[-1].mat_mm == 0.5
    (data, *_) = machine_files("a", APART, machine, thickness_mm=thickness_mm).files.values()
    pen, knife = data.decode().split("T2 M6")
    assert {float(z) for z in re.findall(r"G1 Z(\S+)", pen)} == {0.0}
    swivels = {-machine.heads[-1].swivel_mm} - {0.0}
    assert {float(z) for z in re.findall(r"G1 Z(\S+)", knife)} == {-round(thickness_mm + 0.5, 4)} | swivels
    assert f"{thickness_mm + 0.5:.2f} mm down" in pen


def test_a_machine_that_is_set_for_no_sheet_writes_nothing() -> None:
    machine = made("flatbed-knife")
    paths = paths_of(PART, machine)
    with pytest.raises(ValueError, match="set for a sheet"):
        to_ngc(paths, paths.frames[0], machine)


def test_a_machine_without_its_users_figures_writes_nothing() -> None:
    spindle = made("spindle-table", bed={"length_mm": 3000.0}).over(1.8)
    paths = paths_of(PART, spindle)
    with pytest.raises(ValueError, match="figures of its user"):
        to_ngc(paths, paths.frames[0], spindle)
    assert len(unready(spindle)) == 2
    with pytest.raises(Refused, match="speed_mm_min of your own"):
        machine_files("a", APART, spindle, thickness_mm=1.8)


SPINDLE = {"bed": {"length_mm": 3000.0}, "head": {"speed_mm_min": 600.0, "spindle_rpm": 9000.0, "spin_up_s": 4.0}}


def test_a_spindle_turns_before_it_goes_down_and_stops_before_the_end() -> None:
    own = made("spindle-table", **SPINDLE).over(1.8)
    paths = paths_of(APART, own)
    text = to_ngc(paths, paths.frames[0], own)
    assert "poison" in text
    assert set(re.findall(r"G1 Z(\S+)", text)) == {"-1.1500", "-2.3000"}
    assert text.index("S9000 M3\nG4 P4.0\n") < text.index("G1 Z")
    assert text.endswith("G0 Z5.0000\nM5\nM2\n%\n")
    program = interpret(text)
    (x0, y0), (x1, y1) = limits_mm(own)
    assert held(program, (x0, y0, -2.3), (x1, y1, 5.0), clear_mm=5.0, spinning=[1]) == ()
    assert {m.spindle_rpm for m in program.moves if not m.rapid} == {9000.0}


STILL = {
    "a still spindle": (r"^S9000 M3\n", "", "stands still"),
    "no speed": (r"^S9000 M3", "S0 M3", "no speed"),
    "left running": (r"^M5\n", "", "spindle running"),
    "no time": (r"^G4 P4.0", "G4 P0.0", "not a word"),
}


@pytest.mark.parametrize("name", STILL)
def test_a_spoilt_spindle_is_caught(name) -> None:
    own = made("spindle-table", **SPINDLE).over(1.8)
    paths = paths_of(APART, own)
    pattern, new, words = STILL[name]
    text = first(pattern, new)(to_ngc(paths, paths.frames[0], own))
    room = Box((0.0, 0.0, -2.3), (3020.0, 1270.0, 5.0))
    found = faults_of(text, room, safe_mm=5.0, spinning=frozenset({1}))
    assert any(words in f for f in found), found


# Heights of several tools


def test_every_tool_calls_up_its_own_length() -> None:
    for text in programs("flatbed-knife")[2]:
        assert re.findall(r"T(\d) M6\nG43 H(\d)\n", text) == [("1", "1"), ("2", "2")]
        down = {m.tool: m.length_offset for m in interpret(text).moves if not m.rapid}
        assert down == {1: 1, 2: 2}


def test_the_length_of_another_tool_is_caught() -> None:
    text = first(r"^G43 H2", "G43 H1")(good())
    assert any("length of tool 1 for tool 2" in f for f in faults_of(text, ROOM, safe_mm=5.0))


def test_without_a_table_of_lengths_each_tool_has_its_file_in_the_order_of_work() -> None:
    own = made("flatbed-knife", tool_heights=ToolHeights.FILES)
    out = machine_files("a", PART, own, thickness_mm=1.8)
    frames = len(out.paths.frames)
    assert len(out.files) == 2 * frames
    assert list(out.files) == sorted(out.files)
    assert [p.split("_")[-2] for p in out.files] == ["a-pen", "b-knife"] * frames
    both = machine_files("a", PART, made("flatbed-knife"), thickness_mm=1.8)
    for k, data in enumerate(out.files.values()):
        text = data.decode()
        assert "G43" not in text
        assert interpret(text).tools == (1 + k % 2,)
    assert sum(len(interpret(d.decode()).moves) for d in out.files.values()) >= sum(
        len(interpret(d.decode()).moves) for d in both.files.values()
    )
    marks = [entry.machine.register_mm for entry in out.listed]
    assert marks[0::2] == [entry.machine.register_mm for entry in both.listed]


# A knife that the file turns


@pytest.mark.parametrize("axis", ["A", "C"])
@pytest.mark.parametrize("along", list(Axis))
def test_a_turned_knife_points_along_every_cut(axis, along) -> None:
    own = made("flatbed-knife", bed={"along": along}, head={"axis": axis, "lift_over_deg": 20.0}).over(1.8)
    paths = paths_of(FULL, own)
    column = 3 + "ABC".index(axis)
    cuts = 0
    for frame in paths.frames:
        program = interpret(to_ngc(paths, frame, own))
        (x0, y0), (x1, y1) = limits_mm(own)
        assert held(program, (x0, y0, -2.3), (x1, y1, 5.0), clear_mm=5.0) == ()
        for m in program.moves:
            dx, dy = m.end[0] - m.start[0], m.end[1] - m.start[1]
            if m.tool == 2 and not m.rapid and math.hypot(dx, dy):
                away = math.remainder(m.end[column] - math.degrees(math.atan2(dy, dx)), 360.0)
                assert abs(away) < 0.01
                assert m.start[column] == m.end[column]
                cuts += 1
            if m.tool == 2 and not m.rapid and m.end[2] < 0 and m.start[column] != m.end[column]:
                assert abs(m.end[column] - m.start[column]) <= 20.0 + 1e-6
    assert cuts > 100


def test_a_turned_knife_still_cuts_every_line() -> None:
    own = made("flatbed-knife", head={"axis": "C", "lift_over_deg": 20.0}).over(1.8)
    plain = made("flatbed-knife").over(1.8)
    ways = [
        shapely.union_all([
            shapely.affinity.translate(shapely.LineString(points), frame.start_mm, 0)
            for frame in paths.frames for tool, points in read_ngc(to_ngc(paths, frame, machine)) if tool == 2
        ])
        for machine in (own, plain) for paths in (paths_of(PART, machine),)
    ]  # fmt: skip
    assert apart_mm(*ways, 0.1) < 0.6  # all but overcuts of half a millimetre
    assert ways[1].difference(ways[0].buffer(0.01)).length < 0.6 * len(PART.strokes)


def test_a_rotary_word_that_the_machine_has_not_is_caught() -> None:
    text = first(r"^G0 (X\S+ Y\S+)$", r"G0 C45.0000\nG0 \1")(good())
    assert any("G0 with C" in f for f in faults_of(text, ROOM, safe_mm=5.0))
    assert faults_of(text, ROOM, safe_mm=5.0, rotary="C") == ()


# A knife that trails


def test_the_blade_is_brought_round_in_waste_before_the_first_cut_of_every_frame() -> None:
    machine, paths, texts = programs("flatbed-drag-knife")
    knife = machine.heads[-1]
    pieces = [shapely.Polygon(s.points) for s in PART.strokes if s.name == "outline"]
    assert len(paths.frames) > 1
    for frame, text in zip(paths.frames, texts, strict=True):
        stroke = next(p for p in frame.passes if p.head == "knife")
        assert stroke.line == ()
        (a, b) = stroke.start, stroke.end
        assert math.dist(a, b) >= 10 * knife.offset_mm - 1e-6
        blade = shapely.LineString([a, b]).buffer(knife.offset_mm)
        assert not any(blade.intersects(p) for p in pieces)
        assert all(blade.distance(shapely.Point(m)) > 5 for m in frame.register)
        runs = [points for tool, points in read_ngc(text) if tool == 2]
        assert len(runs[0]) == 2


def test_a_blade_of_any_heading_but_straight_back_points_along_the_stroke_in_the_end() -> None:
    for turn_deg in (170, 90, -120, 5):
        tip, pivot = [-math.cos(math.radians(turn_deg)), -math.sin(math.radians(turn_deg))], 0.0
        while pivot < 10.0:
            pivot += 1e-3
            gap = math.hypot(pivot - tip[0], tip[1])
            tip = [pivot + (tip[0] - pivot) / gap, tip[1] / gap]
        assert abs(math.degrees(math.atan2(-tip[1], pivot - tip[0]))) < 0.2


def test_where_there_is_no_waste_for_it_the_finding_says_so() -> None:
    plate = Stroke(Role.OUTER, ((0, 0), (900, 0), (900, 450), (0, 450)), True, "A", "outline")
    paths = tool_paths(Drawing("full", 900.0, 450.0, (plate,)), made("flatbed-drag-knife"))
    (said,) = [f for f in paths.findings if f.code == "CP607"]
    assert "brings the blade" in said.found
    assert all(p.line for f in paths.frames for p in f.passes)


def test_swivels_are_shallow_and_cuts_are_deep() -> None:
    machine, _, texts = programs("flatbed-drag-knife", FULL)
    shallow = deep = 0
    for text in texts:
        for m in interpret(text).moves:
            if m.tool == 2 and not m.rapid and m.start[:2] != m.end[:2]:
                if m.centre is not None and math.degrees(m.turn_rad) > 15.1:
                    assert m.end[2] == -0.3
                    shallow += 1
                elif m.centre is None:
                    assert m.end[2] == -2.0
                    deep += 1
    assert shallow > 20
    assert deep > 100
    assert machine.heads[-1].swivel_mm == 0.3


def test_swivels_go_no_deeper_than_a_thin_sheet() -> None:
    assert made("flatbed-drag-knife").over(0.2).heads[-1].swivel_mm == 0.2


def test_three_decimals_can_fail_the_check_and_then_nothing_is_written() -> None:
    # Not every program has an arc that misses by rounding, so coarser ones are made until the check speaks.
    with pytest.raises(Refused, match="radii"):
        programs("flatbed-drag-knife", decimals=1)


def test_marks_to_set_the_sheet_by_are_named() -> None:
    _, paths, texts = programs("flatbed-knife")
    assert texts[0].count("Set the sheet to the mark") == 0
    named = re.findall(r"Set the sheet to the mark at X(\S+) Y(\S+?)\)?$", texts[1], re.MULTILINE)
    frame = paths.frames[1]
    assert [(float(x) + frame.start_mm, float(y)) for x, y in named] == [
        pytest.approx(mark, abs=1e-4) for mark in frame.register
    ]
    assert len(named) == 2


@cache
def good():
    return programs("flatbed-drag-knife")[2][0]


def test_our_programs_pass_the_strict_check() -> None:
    assert faults_of(good(), ROOM, safe_mm=5.0) == ()


def first(pattern, new):
    def spoil(text):
        out, count = re.subn(pattern, new, text, count=1, flags=re.MULTILINE)
        assert count == 1
        return out

    return spoil


SPOILT = {
    "no unit": (first(r"^G21 ", ""), "not a word|before the line"),
    "no modes": (first(r"^G21 .*\n", ""), "before the line of units"),
    "inches": (first(r"^G21 ", "G20 "), "not a word|before the line"),
    "semicolon": (first(r"^T2 M6", "T2 M6 ; knife"), "not understood"),
    "open bracket": (first(r"^\(pen, a pen\)", "(pen"), "not understood"),
    "bracket in bracket": (first(r"^\(pen, a pen\)", "(pen (a pen))"), "not understood"),
    "no code": (first(r"^G1 (X\S+ Y\S+)$", r"\1"), "not a word"),
    "unknown code": (first(r"^G1 (X\S+ Y\S+)$", r"G5 \1"), "not a word"),
    "incremental": (first(r"^G1 (X\S+ Y\S+)$", r"G91 G1 \1"), "not a word"),
    "travel with the head down": (first(r"^(G1 X.*\n)G0 Z5.0000\n", r"\1"), "head down"),
    "slanting travel": (first(r"^G0 (X\S+ Y\S+)$", r"G0 \1 Z0.0000"), "head down"),
    "end with the head down": (first(r"^G0 Z5.0000\nM2", "M2"), "the end with the head down"),
    "change with the head down": (first(r"^G0 Z5.0000\n\(knife", "(knife"), "change of heads"),
    "no speed": (lambda t: re.sub(r" F\S+", "", t), "without a speed"),
    "zero speed": (first(r" F9000.0", " F0.0"), "without a speed"),
    "bent arc": (first(r"^(G[23] X\S+ Y\S+ I)-?[\d.]+", r"\g<1>9.0000"), "radii"),
    "arc without centre": (first(r"^(G[23] X\S+ Y\S+) I\S+ J\S+", r"\1"), "without X, Y, I and J"),
    "radius arc": (first(r"^(G[23] X\S+ Y\S+) I\S+ J\S+", r"\1 R2.0000"), "with"),
    "beyond the bed": (first(r"^G0 X\S+", "G0 X1700.0000"), "beyond the reach"),
    "too deep": (first(r"^G1 Z-2.0000", "G1 Z-3.0000"), "beyond the reach"),
    "no percent": (first(r"^%\n", ""), "%"),
    "truncated": (lambda t: t[: len(t) // 2], "M2"),
    "no M2": (first(r"^M2\n", ""), "M2"),
    "long line": (first(r"^\(pen, a pen\)", "(" + "x" * 300 + ")"), "302 characters"),
    "accent": (first(r"^\(pen, a pen\)", "(pén)"), "ASCII"),
    "no length": (first(r"^(G1 X\S+ Y\S+)$", r"\1\n\1"), "no length"),
    "exponent": (first(r"^G1 X\S+", "G1 X1e2"), "not understood"),
    "nan": (first(r"^G1 X\S+", "G1 Xnan"), "not understood"),
    "letter twice": (first(r"^G1 (X\S+) ", r"G1 \1 \1 "), "twice"),
}


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_program_is_caught(name) -> None:
    spoil, words = SPOILT[name]
    found = faults_of(spoil(good()), ROOM, safe_mm=5.0)
    assert any(re.search(words, f) for f in found), found


QUARTER = """%
G21 G17 G90 G94 G40 G49 G80
T1 M6
G0 Z5.0000
G0 X10.0000 Y10.0000
G1 Z-1.0000 F500.0
G3 X20.0000 Y20.0000 I0.0000 J10.0000
G0 Z5.0000
M2
%
"""


def test_an_arc_of_more_than_half_a_turn_is_caught() -> None:
    assert faults_of(QUARTER, ROOM, safe_mm=5.0) == ()
    (found,) = faults_of(QUARTER.replace("G3", "G2"), ROOM, safe_mm=5.0)
    assert "line 7: an arc of 270.0 deg" in found


def test_an_empty_frame_is_no_program() -> None:
    machine, paths, _ = programs("flatbed-knife")
    with pytest.raises(ValueError, match="nothing"):
        to_ngc(paths, replace(paths.frames[0], passes=()), machine)
