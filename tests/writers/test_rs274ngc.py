"""The interpreter itself, on programs written by hand from NIST IR 6556: what it gives, and what it refuses."""

from __future__ import annotations

import math

import pytest

from tests.writers.rs274ngc import NotRead, held, interpret

MODES = "G21 G17 G90 G94 G40 G49"
ROOM = {"low": (0.0, 0.0, -3.0), "high": (200.0, 200.0, 30.0), "clear_mm": 5.0}


def program(*lines: str, modes: str = MODES) -> str:
    return "\n".join(["%", modes, "T1 M6", "G0 Z10", *lines, "M2", "%", ""])


def test_a_square_cut_is_five_moves_after_the_way_there() -> None:
    moves = interpret(program("G0 X10 Y10", "G1 Z-2 F500", "X60", "Y40", "X10", "Y10", "G0 Z10")).moves
    assert [m.rapid for m in moves] == [True, True, False, False, False, False, False, True]
    assert moves[2].start[:2] == moves[2].end[:2] == (10.0, 10.0)
    assert [m.end[:2] for m in moves[3:7]] == [(60.0, 10.0), (60.0, 40.0), (10.0, 40.0), (10.0, 10.0)]
    assert {m.feed_mm_min for m in moves[2:7]} == {500.0}
    assert {m.tool for m in moves} == {1}


def test_blanks_and_small_letters_change_nothing_and_words_come_in_any_order() -> None:
    plain = interpret(program("G0 X10 Y10", "G1 Z-2 F500", "G1 X60"))
    loose = interpret(program("y1 0 g0x10", "f500 z-2. g 1", "N20 X+60.0 G01"))
    assert [(m.start[1:], m.end, m.rapid) for m in plain.moves[2:]] == [
        (m.start[1:], m.end, m.rapid) for m in loose.moves[2:]
    ]


def test_inches_and_increments_are_understood() -> None:
    moves = interpret(program("G20 G0 X1 Y1", "G91 G1 X2 F10", modes="G17 G90 G94 G40 G49 G21")).moves
    assert moves[-1].end[0] == pytest.approx(3 * 25.4)
    assert moves[-1].feed_mm_min == pytest.approx(254.0)


@pytest.mark.parametrize(
    ("line", "turn_deg", "middle"),
    [
        ("G3 X20 Y20 I0 J10", 90.0, (10 + 10 * math.sin(math.pi / 4), 20 - 10 * math.cos(math.pi / 4))),
        ("G2 X20 Y20 I0 J10", 270.0, None),
        ("G3 X10 Y10 I10 J0", 360.0, (30.0, 10.0)),
        ("G2 X30 Y10 I10 J0", 180.0, (20.0, 20.0)),
    ],
)
def test_arcs_go_round_their_centre(line, turn_deg, middle) -> None:
    (arc,) = [m for m in interpret(program("G0 X10 Y10", "G1 Z-1 F500", line)).moves if m.centre]
    assert math.degrees(arc.turn_rad) == pytest.approx(turn_deg)
    points = arc.points()
    radius = math.dist(points[0], arc.centre)
    assert all(math.dist(p, arc.centre) == pytest.approx(radius, abs=1e-9) for p in points)
    if middle is not None:
        assert min(math.dist(p, middle) for p in points) < 0.1


def test_the_spindle_turns_from_m3_to_m5_and_a_change_stops_it() -> None:
    text = program("S12000 M3", "G0 X10 Y10", "G1 Z-1 F500", "M5", "G0 Z10", "S100 M4", "G0 X20", "T2 M6", "G0 Z10")
    moves = interpret(text).moves
    assert [m.spindle_rpm for m in moves] == [0, 12000, 12000, 0, -100, 0]
    assert [m.tool for m in moves] == [1, 1, 1, 1, 1, 2]
    assert interpret(text).tools == (1, 2)


def test_a_length_that_only_the_machine_knows_leaves_the_height_open() -> None:
    moves = interpret(program("G43 H2", "G1 X1 Y1 F10", "G0 Z8")).moves
    assert math.isnan(moves[1].start[2])
    assert moves[1].length_offset == 2
    assert moves[2].end[2] == 8.0


def test_comments_are_kept_in_order() -> None:
    assert interpret(program("(one) G0 X1 (two)", "(three)")).comments == ("one", "two", "three")


BROKEN = {
    "two moves in a line": ("G0 G1 X5", "group of motion"),
    "two units in a line": ("G20 G21", "group of units"),
    "a letter twice": ("G0 X1 X2", "X twice"),
    "no feed": ("G1 X5 Y5", "without a feed"),
    "a feed of nothing": ("G1 X5 Y5 F0", "without a feed"),
    "an unknown code": ("G5 X5", "not known"),
    "an unknown function": ("M99", "not known"),
    "an exponent": ("G0 X1E2", "no word"),
    "a bare letter": ("G0 X", "no word"),
    "no number": ("G0 Xnan", "no word"),
    "an open comment": ("(open", "not closed"),
    "a comment in a comment": ("(a (b) c)", "not closed"),
    "a semicolon": ("G0 X1 ; there", "no word"),
    "a parameter": ("#1=2", "no word"),
    "a bent arc": ("G1 X10 Y10 F5\nG3 X20 Y20 I0 J10.01", "from its centre"),
    "an arc without a centre": ("G1 X10 Y10 F5\nG3 X20 Y20", "centre"),
    "an arc by its radius": ("G1 X10 Y10 F5\nG3 X20 Y20 R10", "R without use"),
    "an arc across the plane": ("G1 X10 Y10 F5\nG3 X20 Z1 I5 K5", "in the plane"),
    "an arc from nowhere": ("G3 X20 Y20 I0 J10 F5", "from its centre"),
    "another plane": ("G18\nG1 X10 Y10 F5\nG3 X20 Z1 I5 K5", "XY plane"),
    "axes without a move": ("G80\nX10", "axes without a move"),
    "a centre without an arc": ("G0 X1 Y1 I2", "centre without"),
    "an offset without a number": ("G43", "without H"),
    "half a tool": ("T1.5", "whole"),
    "a tool below none": ("T-1", "negative"),
    "inverse time": ("G93", "inverse"),
    "radius compensation": ("G41", "radius"),
    "a long line": ("(" + "x" * 300 + ")", "302 characters"),
    "an accent": ("(é)", "ASCII"),
    "work after the end": ("M2\nG0 X1", "after the end"),
    "five functions": ("M3 M7 M48 M6 M0", "four"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_what_breaks_the_language_is_refused(name) -> None:
    line, words = BROKEN[name]
    with pytest.raises(NotRead, match=words):
        interpret(program(line))


@pytest.mark.parametrize("text", ["%\nG0 X1\n", "G0 X1\n", "", "G0 X1\n%\n"])
def test_a_program_has_an_end(text) -> None:
    with pytest.raises(NotRead):
        interpret(text)


def test_a_sound_program_is_let_pass() -> None:
    text = program("S900 M3", "G0 X10 Y10", "G1 Z-2 F500", "G1 X60", "G0 Z10", "M5")
    assert held(interpret(text), **ROOM, spinning=[1]) == ()


DANGEROUS = {
    "units left to chance": (program("G0 X1 Y1", modes="G17 G90 G94 G40 G49"), "units"),
    "distance left to chance": (program("G0 X1 Y1", modes="G21 G17 G94 G40 G49"), "distance"),
    "travel in the sheet": (program("G0 X1 Y1", "G1 Z-1 F9", "G0 X5"), "head down"),
    "slanting travel": (program("G0 X1 Y1 Z1"), "head down"),
    "travel at no known height": ("%\n" + MODES + "\nT1 M6\nG0 X1 Y1\nM2\n%\n", "unknown height"),
    "a plunge": (program("G0 X1 Y1", "G0 Z-1"), "rapid move into"),
    "too deep": (program("G0 X1 Y1", "G1 Z-3.5 F9"), "Z beyond"),
    "too far": (program("G0 X201 Y1"), "X beyond"),
    "an arc that bulges off the bed": (program("G0 X5 Y50", "G1 Z-1 F9", "G3 X5 Y30 I0 J-10"), "X beyond"),
    "a still cutter": (program("G0 X1 Y1", "G1 Z-1 F9"), "does not turn"),
    "a change without a way back": (program("G0 X1 Y1", "T2 M6", "G1 Z-1 F9"), "unknown place"),
}


@pytest.mark.parametrize("name", DANGEROUS)
def test_what_is_lawful_and_dangerous_is_said(name) -> None:
    text, words = DANGEROUS[name]
    found = held(interpret(text), **ROOM, spinning=[1])
    assert any(words in f for f in found), found
