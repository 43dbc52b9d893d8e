"""A strict reader of RS-274/NGC programs, which shares no code with the writer and runs on all that it writes.

It finds what an ordinary interpreter lets pass: no unit, comments that are not in brackets, travel with the head
down, arcs that miss their own radius or run more than half a turn, words that this dialect does not have.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

ARC_RADIUS_MM = 0.002
"""How far the ends of an arc may differ in radius: the rule of common controllers (from memory, unverified)."""

LONGEST_LINE = 256
_MODAL = "G21 G17 G90 G94 G40 G49 G80"
_SLACK_MM = 1e-3  # of the reach: coordinates are rounded
_LINE = re.compile(r"(?:[A-Z]-?\d+(?:\.\d+)?)(?: [A-Z]-?\d+(?:\.\d+)?)*")


@dataclass(frozen=True, slots=True)
class Box:
    """Least and greatest x, y, z in mm."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(slots=True)
class _State:
    at: list[float] = field(default_factory=lambda: [math.nan, math.nan, math.nan])
    speed: float = 0.0
    modal: bool = False
    tool: bool = False


def faults_of(text: str, room: Box, *, safe_mm: float) -> tuple[str, ...]:
    """Give every fault of a program, each with its line number.

    Parameters
    ----------
    text : str
    room : Box
        What the machine reaches.
    safe_mm : float
        Height from which the head counts as up.
    """
    lines = text.split("\n")
    out = []
    if lines[-1] != "":
        out.append("the last line does not end")
    lines = lines[:-1] if lines[-1] == "" else lines
    if len(lines) < 4 or lines[0] != "%" or lines[-1] != "%" or lines.count("%") != 2:
        out.append("it does not begin and end with %, each once")
    if len(lines) < 2 or lines[-2] != "M2":
        out.append("M2 does not stand before the last %")
    state = _State()
    for number, line in enumerate(lines, 1):
        out += [f"line {number}: {fault}" for fault in _line(line, state, room, safe_mm)]
    return tuple(out)


def _line(line: str, state: _State, room: Box, safe_mm: float) -> Iterator[str]:
    if len(line) > LONGEST_LINE:
        yield f"{len(line)} characters"
    if not line.isascii() or not line.isprintable():
        yield "a character that is not plain ASCII"
        return
    if line == "%" or re.fullmatch(r"\([^()]*\)", line):
        return
    if not _LINE.fullmatch(line):
        yield f"not understood: {line[:40]}"
        return
    words = [(w[0], float(w[1:])) for w in line.split(" ")]
    up = state.at[2] >= safe_mm - _SLACK_MM
    if line == _MODAL:
        state.modal = True
    elif line == "M2":
        if not up:
            yield "the end with the head down"
    elif [w for w, _ in words] == ["T", "M"] and words[1][1] == 6:
        if state.tool and not up:
            yield "a change of heads with the head down"
        state.tool = True
    else:
        yield from _move(words, state, room, up=up)


def _move(words: list[tuple[str, float]], state: _State, room: Box, *, up: bool) -> Iterator[str]:
    code, rest = words[0], dict(words[1:])
    if code[0] != "G" or code[1] not in (0, 1, 2, 3):
        yield f"{code[0]}{code[1]:g} is not a word of this dialect"
        return
    if len(rest) != len(words) - 1:
        yield "a letter stands twice"
    if not state.modal:
        yield "a move before the line of units and modes"
    arc = code[1] in (2, 3)
    allowed = {0: "XYZ", 1: "XYZF"}.get(int(code[1]), "XYIJ")
    if not rest or set(rest) - set(allowed):
        yield f"G{code[1]:g} with {''.join(rest) or 'nothing'}"
        return
    to = [rest.get(axis, old) for axis, old in zip("XYZ", state.at, strict=True)]
    if code[1] == 0 and {"X", "Y"} & set(rest) and ("Z" in rest or not up):
        yield "travel with the head down"
    state.speed = rest.get("F", state.speed)
    if code[1] and not state.speed > 0:
        yield "a cut without a speed"
    if arc:
        yield from _arc(state.at, to, rest, clockwise=code[1] == 2)
    for axis, value, low, high in zip("XYZ", to, room.low, room.high, strict=True):
        if axis in rest and not low - _SLACK_MM <= value <= high + _SLACK_MM:
            yield f"{axis}{value:g} is beyond the reach, {low:g} to {high:g}"
    if code[1] and any(math.isnan(v) for v in to):
        yield "a cut from an unknown place"
    if code[1] and to == state.at:
        yield "a move of no length"
    state.at = to


def _arc(start: list[float], end: list[float], words: dict[str, float], *, clockwise: bool) -> Iterator[str]:
    if set(words) != set("XYIJ"):
        yield "an arc without X, Y, I and J"
        return
    cx, cy = start[0] + words["I"], start[1] + words["J"]
    first, last = math.hypot(words["I"], words["J"]), math.hypot(end[0] - cx, end[1] - cy)
    if abs(first - last) > ARC_RADIUS_MM or first <= ARC_RADIUS_MM:
        yield f"an arc with radii {first:.4f} and {last:.4f} mm"
        return
    turn = math.atan2(end[1] - cy, end[0] - cx) - math.atan2(-words["J"], -words["I"])
    turn = (-turn if clockwise else turn) % math.tau
    if turn > math.pi + ARC_RADIUS_MM:
        yield f"an arc of {math.degrees(turn):.1f} deg"
