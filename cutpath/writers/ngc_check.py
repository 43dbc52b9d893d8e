"""A strict reader of RS-274/NGC programs, which shares no code with the writer and runs on all that it writes.

It finds what an ordinary interpreter lets pass: no unit, comments that are not in brackets, travel with the head
down, arcs that miss their own radius or run more than half a turn, words that this dialect does not have.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from cutpath import sure

ARC_RADIUS_MM = 0.002
"""How far the ends of an arc may differ in radius: the rule of common controllers (from memory, unverified)."""

LONGEST_LINE = 256
_MODAL = "G21 G17 G90 G94 G40 G49 G80"
_SLACK_MM = 1e-3  # of the reach: coordinates are rounded
_STRAIGHT = re.compile(r"G([01]) X(-?[0-9]+\.[0-9]+) Y(-?[0-9]+\.[0-9]+)")
_LINE = re.compile(r"(?:[A-Z]-?\d+(?:\.\d+)?)(?: [A-Z]-?\d+(?:\.\d+)?)*")


@dataclass(frozen=True, slots=True)
class Box:
    """Least and greatest x, y, z in mm."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class _Rules:
    """What holds for a whole program."""

    room: Box
    safe_mm: float
    spinning: frozenset[int]
    rotary: str


@dataclass(slots=True)
class _State:
    at: dict[str, float] = field(default_factory=lambda: dict.fromkeys("XYZABC", math.nan))
    speed: float = 0.0
    modal: bool = False
    tool: int | None = None
    spins: bool = False


def faults_of(
    text: str, room: Box, *, safe_mm: float, spinning: frozenset[int] = frozenset(), rotary: str = ""
) -> tuple[str, ...]:
    """Return every fault of a program, each with its line number.

    Parameters
    ----------
    text : str
    room : Box
        What the machine reaches.
    safe_mm : float
        Height from which the head counts as up.
    spinning : frozenset of int
        Tools that cut only while their spindle turns.
    rotary : str
        The letters of axes that turn a knife.
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
    state, rules = _State(), _Rules(room, safe_mm, spinning, rotary)
    for number, line in enumerate(lines, 1):
        if not _soundly_straight(line, state, rules):
            out += [f"line {number}: {fault}" for fault in _line(line, state, rules)]
    return tuple(out)


def _soundly_straight(line: str, state: _State, rules: _Rules) -> bool:
    """Follow a line that only goes straight to x and y, as most do, where nothing at all is wrong with it.

    It is a short way for `_line`, which looks at every other line.
    """
    found = _STRAIGHT.fullmatch(line)
    if found is None or len(line) > LONGEST_LINE or not state.modal:
        return False
    at, low, high = state.at, rules.room.low, rules.room.high
    x, y, z = float(found[2]), float(found[3]), at["Z"]
    if not (low[0] <= x <= high[0] and low[1] <= y <= high[1]):
        return False
    if found[1] == "0":
        sound = z >= rules.safe_mm
    else:
        sound = not math.isnan(z) and state.speed > 0 and (state.spins or state.tool not in rules.spinning)
        sound = sound and abs(x - at["X"]) + abs(y - at["Y"]) > 0  # never so from an unknown place
    if sound:
        at["X"], at["Y"] = x, y
    return sound


def _line(line: str, state: _State, rules: _Rules) -> Iterator[str]:
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
    up = state.at["Z"] >= rules.safe_mm - _SLACK_MM
    if line == _MODAL:
        state.modal = True
    elif words[0][0] in "TSM" or words[0] in (("G", 43), ("G", 4)):
        yield from _other(words, state, rules, up=up)
    else:
        yield from _move(words, state, rules, up=up)


def _other(words: list[tuple[str, float]], state: _State, rules: _Rules, *, up: bool) -> Iterator[str]:
    """Find fault with a line that moves nothing: change of tools, its length, the spindle, a wait, the end."""
    (first, value), *rest = words
    match "".join(f"{letter}{number:g}" if letter in "GM" else letter for letter, number in words):
        case "M2":
            yield from _at_rest(state, "the end", up=up)
        case "TM6":
            if state.tool is not None:
                yield from _at_rest(state, "a change of heads", up=up)
            state.tool = int(value)
            state.at.update(dict.fromkeys("XYZ", math.nan))
        case "G43H":
            if rest[0][1] != state.tool:
                yield f"the length of tool {rest[0][1]:g} for tool {state.tool}"
            state.at["Z"] = math.nan
        case "SM3":
            if state.tool not in rules.spinning or not value > 0 or not up:
                yield "a spindle started that is none, at no speed, or with the head down"
            state.spins = True
        case "M5":
            if not up:
                yield "the spindle stopped with the head down"
            state.spins = False
        case "G4P" if rest[0][1] > 0:
            pass
        case _:
            yield f"{first}{value:g} is not a word of this dialect"


def _at_rest(state: _State, what: str, *, up: bool) -> Iterator[str]:
    if not up:
        yield f"{what} with the head down"
    if state.spins:
        yield f"{what} with the spindle running"


def _move(words: list[tuple[str, float]], state: _State, rules: _Rules, *, up: bool) -> Iterator[str]:
    code, rest = words[0], dict(words[1:])
    if code[0] != "G" or code[1] not in (0, 1, 2, 3):
        yield f"{code[0]}{code[1]:g} is not a word of this dialect"
        return
    if len(rest) != len(words) - 1:
        yield "a letter stands twice"
    if not state.modal:
        yield "a move before the line of units and modes"
    allowed = {0: "XYZ" + rules.rotary, 1: "XYZF" + rules.rotary}.get(int(code[1]), "XYIJ")
    if not rest or set(rest) - set(allowed):
        yield f"G{code[1]:g} with {''.join(rest) or 'nothing'}"
        return
    to = {axis: rest.get(axis, old) for axis, old in state.at.items()}
    if code[1] == 0 and set(rest) - {"Z"} and ("Z" in rest or not up):
        yield "travel with the head down"
    state.speed = rest.get("F", state.speed)
    if code[1] in (2, 3):
        yield from _arc(state.at, to, rest, clockwise=code[1] == 2)
    for axis, low, high in zip("XYZ", rules.room.low, rules.room.high, strict=True):
        if axis in rest and not low - _SLACK_MM <= to[axis] <= high + _SLACK_MM:
            yield f"{axis}{to[axis]:g} is beyond the reach, {low:g} to {high:g}"
    if code[1]:
        yield from _cut(to, state, rules)
    state.at = to


def _cut(to: dict[str, float], state: _State, rules: _Rules) -> Iterator[str]:
    """Find fault with a move with the head down."""
    if not state.speed > 0:
        yield "a cut without a speed"
    if any(math.isnan(to[axis]) for axis in "XYZ"):
        yield "a cut from an unknown place"
    if all(to[axis] == old or math.isnan(old) for axis, old in state.at.items()):
        yield "a move of no length"
    if state.tool in rules.spinning and not state.spins:
        yield "a cut with a spindle that stands still"


def _arc(start: dict[str, float], end: dict[str, float], words: dict[str, float], *, clockwise: bool) -> Iterator[str]:
    if set(words) != set("XYIJ"):
        yield "an arc without X, Y, I and J"
        return
    cx, cy = start["X"] + words["I"], start["Y"] + words["J"]
    first, last = math.hypot(words["I"], words["J"]), math.hypot(end["X"] - cx, end["Y"] - cy)
    if abs(first - last) > ARC_RADIUS_MM or first <= ARC_RADIUS_MM:
        yield f"an arc with radii {first:.4f} and {last:.4f} mm"
        return
    turn = sure.atan2(end["Y"] - cy, end["X"] - cx) - sure.atan2(-words["J"], -words["I"])
    turn = (-turn if clockwise else turn) % math.tau
    if turn > math.pi + ARC_RADIUS_MM:
        yield f"an arc of {math.degrees(turn):.1f} deg"
