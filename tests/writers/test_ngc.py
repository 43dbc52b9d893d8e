"""RS-274/NGC: what an interpreter makes of it, and what our strict check makes of spoilt programs."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import pytest
import shapely

from cutpath.drawing.arcs import flattened
from cutpath.drawing.paths import tool_paths
from cutpath.drawing.sheet import draw
from cutpath.errors import Refused
from cutpath.profiles import lead_table
from cutpath.values.drawing import Role
from cutpath.values.machine import Axis, Corner
from cutpath.writers.bed import limits_mm
from cutpath.writers.machine_files import machine_files
from cutpath.writers.ngc import to_ngc
from cutpath.writers.ngc_check import Box, faults_of
from tests.drawing.machines import made
from tests.drawing.specimens import PIECES, full_sheet
from tests.writers.readers import read_ngc
from tests.writers.rs274ngc import held, interpret

FULL = draw(full_sheet(), PIECES)
ROOM = Box((0.0, 0.0, -2.0), (1610.0, 660.0, 5.0))


def programs(name, **changes):
    machine = made(name, **changes).over(1.5)
    paths = tool_paths(FULL, machine)
    return machine, paths, [to_ngc(paths, f, machine) for f in paths.frames]


def joined(passes):
    """Head and way of every stretch from head down to head up: passes that go on from each other are one."""
    ways = []
    for before, p in itertools.pairwise([None, *passes]):
        way = flattened(p.start, p.steps, 1e-4)
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
            assert shapely.hausdorff_distance(shapely.LineString(points), wanted, densify=0.1) < 0.005


@pytest.mark.parametrize("name", ["flatbed-knife", "flatbed-drag-knife"])
def test_an_operator_would_stand_for_every_move(name) -> None:
    machine, _, texts = programs(name)
    (x0, y0), (x1, y1) = limits_mm(machine)
    for text in texts:
        assert held(interpret(text), (x0, y0, -2.0), (x1, y1, 5.0), clear_mm=5.0) == ()


def test_knife_cuts_of_the_interpreter_make_the_outlines() -> None:
    (text,) = programs("flatbed-knife", bed={"length_mm": 3000.0}, shared_once=False)[2]
    runs = shapely.union_all([shapely.LineString(points) for tool, points in read_ngc(text) if tool == 2])
    for stroke in FULL.strokes:
        if stroke.name == "outline":
            wanted = shapely.LinearRing(stroke.points)
            near = runs.intersection(wanted.buffer(0.02))
            assert shapely.hausdorff_distance(near, wanted, densify=0.02) < 0.05
            assert near.length >= wanted.length - 0.1
    cuts = [shapely.LinearRing(s.points) if s.closed else shapely.LineString(s.points)
            for s in FULL.strokes if s.role in (Role.INNER, Role.OUTER)]  # fmt: skip
    assert shapely.hausdorff_distance(runs, shapely.union_all(cuts), densify=0.1) < 0.02


@pytest.mark.parametrize("origin", list(Corner))
@pytest.mark.parametrize("along", list(Axis))
def test_every_origin_stays_in_reach_and_keeps_the_hand(origin, along) -> None:
    machine, paths, texts = programs("flatbed-drag-knife", bed={"origin": origin, "along": along})
    low, high = limits_mm(machine)
    assert low[0] <= 0 <= high[0]
    for frame, text in zip(paths.frames, texts, strict=True):
        xy = [(float(x), float(y)) for x, y in re.findall(r"^G[0-3] X(\S+) Y(\S+)", text, re.MULTILINE)]
        assert all(low[0] <= x <= high[0] and low[1] <= y <= high[1] for x, y in xy)
        # The sense of every arc is that of the sheet: a mirrored program would have it turned round.
        arcs = re.findall(r"^(G[23]) ", text, re.MULTILINE)
        whole = [s.ccw for p in frame.passes for s in p.steps if s.centre is not None]
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
    (data, *_) = machine_files("a", FULL, machine, thickness_mm=thickness_mm).files.values()
    pen, knife = data.decode().split("T2 M6")
    assert {float(z) for z in re.findall(r"G1 Z(\S+)", pen)} == {0.0}
    assert {float(z) for z in re.findall(r"G1 Z(\S+)", knife)} == {-round(thickness_mm + 0.5, 4)}
    assert f"{thickness_mm + 0.5:.2f} mm down" in pen


def test_a_machine_that_is_set_for_no_sheet_writes_nothing() -> None:
    machine = made("flatbed-knife")
    paths = tool_paths(FULL, machine)
    with pytest.raises(ValueError, match="set for a sheet"):
        to_ngc(paths, paths.frames[0], machine)


def test_a_head_without_a_speed_is_refused_until_the_shop_gives_its_own() -> None:
    spindle = made("spindle-table", bed={"length_mm": 3000.0}).over(1.8)
    paths = tool_paths(FULL, spindle)
    with pytest.raises(Refused, match="speed_mm_min of your own"):
        to_ngc(paths, paths.frames[0], spindle)
    own = made("spindle-table", bed={"length_mm": 3000.0}, head={"speed_mm_min": 600.0}).over(1.8)
    text = to_ngc(tool_paths(FULL, own), tool_paths(FULL, own).frames[0], own)
    assert "poison" in text
    assert set(re.findall(r"G1 Z(\S+)", text)) == {"-1.1500", "-2.3000"}


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
