"""An interpreter of RS-274/NGC for the tests, written from NIST IR 6556; it knows nothing of the writer or its check.

It reads as that report says a program is read: blanks anywhere, letters of either case, words in any order and carried
out in the report's order, one word of a modal group to a line. What the report leaves to a machine (where the axes
stand at first, how long a tool is) is unknown here, and a move that hangs on it is an error. Parameters, expressions,
canned cycles, radius compensation and inverse time feed are refused by name: no program of ours has use for them.

`interpret` gives the moves; `held` says what an operator would not stand for in moves that are lawful.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

LONGEST_LINE = 256
ARC_MM, ARC_INCH = 0.002, 0.0002
"""How far start and end of an arc may differ in their distance from its centre (3.5.3.2)."""

G_GROUPS = {
    "motion": "0 1 2 3 80",
    "plane": "17 18 19",
    "distance": "90 91",
    "feed mode": "93 94",
    "units": "20 21",
    "radius": "40 41 42",
    "length": "43 49",
    "system": "54 55 56 57 58 59 59.1 59.2 59.3",
    "path": "61 61.1 64",
    "non-modal": "4 53",
}
M_GROUPS = {"stop": "0 1 2 30 60", "change": "6", "spindle": "3 4 5", "coolant": "7 8 9", "override": "48 49"}

_GROUP_OF = {
    letter: {float(code): name for name, codes in groups.items() for code in codes.split()}
    for letter, groups in (("G", G_GROUPS), ("M", M_GROUPS))
}
_WORD = re.compile(r"([A-DF-NP-TX-Z])([+-]?(?:\d+\.?\d*|\.\d+))")
_AXES = "XYZABC"
_TURNS = {17: ("X", "Y", "I", "J"), 18: ("Z", "X", "K", "I"), 19: ("Y", "Z", "J", "K")}

Place = tuple[float, ...]
"""X, Y, Z in mm and A, B, C in degrees; nan: not known."""


class NotRead(Exception):  # noqa: N818 - what it says
    """The program breaks a rule of the language."""

    def __init__(self, line: int, what: str) -> None:
        super().__init__(f"line {line}: {what}")


@dataclass(frozen=True)
class Move:
    """One straight or circular move, in mm and degrees, and all that was in force while it was made.

    ``centre`` and ``ccw`` are of an arc in the XY plane; ``turn_rad`` is how far it goes round.
    """

    line: int
    rapid: bool
    start: Place
    end: Place
    tool: int
    spindle_rpm: float
    feed_mm_min: float
    length_offset: int | None
    stated: frozenset[str]
    centre: tuple[float, float] | None = None
    ccw: bool = False
    turn_rad: float = 0.0

    def points(self, most_mm: float = 1e-4) -> list[tuple[float, float]]:
        """X and Y along the move, its start first, an arc within ``most_mm``."""
        if self.centre is None:
            return [self.start[:2], self.end[:2]]
        x, y = self.centre
        radius = math.dist(self.start[:2], self.centre)
        from_rad = math.atan2(self.start[1] - y, self.start[0] - x)
        count = max(2, math.ceil(self.turn_rad / (2 * math.acos(1 - min(1.0, most_mm / radius)))))
        sense = 1 if self.ccw else -1
        angles = [from_rad + sense * self.turn_rad * k / count for k in range(1, count)]
        return [
            self.start[:2],
            *((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles),
            self.end[:2],
        ]


@dataclass(frozen=True)
class Program:
    """What a program does: its moves, its comments, and the names of the tools in the order of their changes."""

    moves: tuple[Move, ...]
    comments: tuple[str, ...]
    tools: tuple[int, ...]


@dataclass
class _Control:
    """What is in force."""

    at: dict[str, float] = field(default_factory=lambda: dict.fromkeys(_AXES, math.nan))
    modes: dict[str, float] = field(default_factory=dict)
    scale: float = math.nan
    feed: float = 0.0
    speed: float = 0.0
    sense: int = 0
    chosen: int = 0
    tool: int = 0
    offset: int | None = None
    ended: bool = False
    moves: list[Move] = field(default_factory=list)
    tools: list[int] = field(default_factory=list)


def interpret(text: str) -> Program:
    """Read and carry out a program.

    Raises
    ------
    NotRead
        At the first line that breaks a rule.
    """
    lines = text.splitlines()
    marks = [k for k, line in enumerate(lines) if line.strip() == "%"]
    marked = bool(lines) and bool(marks) and not "".join(lines[: marks[0]]).strip()
    if marked and len(marks) < 2:
        raise NotRead(len(lines), "it begins with % and does not end with %")
    first, last = (marks[0] + 1, marks[1]) if marked else (0, len(lines))
    control, comments = _Control(), []
    for number, line in enumerate(lines[first:last], first + 1):
        if control.ended:
            if line.strip():
                raise NotRead(number, "more after the end of the program")
            continue
        said, words = _read(number, line)
        comments += said
        _carry_out(number, words, control)
    if not control.ended and not marked:
        raise NotRead(len(lines), "it ends with neither %, M2 nor M30")
    return Program(tuple(control.moves), tuple(comments), tuple(control.tools))


def _read(number: int, line: str) -> tuple[list[str], list[tuple[str, float]]]:
    """Comments and words of a line."""
    if len(line) > LONGEST_LINE:
        raise NotRead(number, f"{len(line)} characters")
    if not line.isascii():
        raise NotRead(number, "a character that is not ASCII")
    comments = []
    if "(" in line or ")" in line:
        comments = re.findall(r"\(([^()]*)\)", line)
        line = re.sub(r"\([^()]*\)", "", line)
        if "(" in line or ")" in line:
            raise NotRead(number, "a comment in a comment, or one that is not closed")
    rest = line.replace(" ", "").replace("\t", "").upper()
    words = [(letter, float(value)) for letter, value in _WORD.findall(rest)]
    if left := _WORD.sub("", rest):
        raise NotRead(number, f"no word: {left[:12]}")
    if any(letter == "N" for letter, _ in words[1:]):
        raise NotRead(number, "a line number that is not first")
    return comments, [w for w in words if w[0] != "N"]


def _carry_out(number: int, words: Sequence[tuple[str, float]], control: _Control) -> None:
    """Do what a line says, in the order of the report (3.8)."""
    codes = _codes(number, words)
    rest = _rest(number, words)
    if codes.get("feed mode") == 93:
        raise NotRead(number, "inverse time feed is not known here")
    if codes.get("radius", 40) != 40:
        raise NotRead(number, "radius compensation is not known here")
    for group in ("feed mode", "units", "plane", "radius", "distance"):
        if group in codes:
            control.modes[group] = codes[group]
    length = 25.4 if control.modes.get("units") == 20 else 1.0
    if "F" in rest:
        control.feed = _not_negative(number, "F", rest.pop("F")) * length
    if "S" in rest:
        control.speed = _not_negative(number, "S", rest.pop("S"))
    if "T" in rest:
        control.chosen = _whole(number, "T", rest.pop("T"))
    _tools(codes, control)
    if codes.get("non-modal") == 4:
        _not_negative(number, "P", rest.pop("P", -1.0))
    control.scale = length
    _offset(number, codes, rest, control)
    _move(number, codes, rest, control)
    if codes.get("stop") in (2, 30):
        control.sense, control.ended = 0, True


def _codes(number: int, words: Sequence[tuple[str, float]]) -> dict[str, float]:
    codes: dict[str, float] = {}
    if sum(letter == "M" for letter, _ in words) > 4:
        raise NotRead(number, "more than four M words")
    for letter, value in words:
        if letter not in _GROUP_OF:
            continue
        group = _GROUP_OF[letter].get(round(value, 1))
        if group is None or abs(value - round(value, 1)) > 1e-9:
            raise NotRead(number, f"{letter}{value:g} is not known here")
        if group in codes:
            raise NotRead(number, f"two words of the group of {group}: {codes[group]:g} and {value:g}")
        codes[group] = value
    return codes


def _rest(number: int, words: Sequence[tuple[str, float]]) -> dict[str, float]:
    rest: dict[str, float] = {}
    for letter, value in words:
        if letter in _GROUP_OF:
            continue
        if letter in rest:
            raise NotRead(number, f"{letter} twice")
        rest[letter] = value
    return rest


def _not_negative(number: int, letter: str, value: float) -> float:
    if value < 0:
        raise NotRead(number, f"{letter}{value:g} is negative, or missing")
    return value


def _whole(number: int, letter: str, value: float) -> int:
    if value != int(_not_negative(number, letter, value)):
        raise NotRead(number, f"{letter}{value:g} is no whole number")
    return int(value)


def _tools(codes: dict[str, float], control: _Control) -> None:
    if codes.get("change") == 6:
        control.tool, control.sense = control.chosen, 0
        control.tools.append(control.tool)
        # A change may move the axes (3.6.3), and where they stand then is the machine's.
        control.at.update(dict.fromkeys("XYZ", math.nan))
    if "spindle" in codes:
        control.sense = {3: 1, 4: -1, 5: 0}[int(codes["spindle"])]


def _offset(number: int, codes: dict[str, float], rest: dict[str, float], control: _Control) -> None:
    if "length" not in codes:
        return
    control.modes["length"] = codes["length"]
    before = control.offset
    if codes["length"] == 43:
        if "H" not in rest:
            raise NotRead(number, "G43 without H")
        control.offset = _whole(number, "H", rest.pop("H"))
    else:
        control.offset = None
    if control.offset != before:
        control.at["Z"] = math.nan


def _move(number: int, codes: dict[str, float], rest: dict[str, float], control: _Control) -> None:
    motion = codes.get("motion", control.modes.get("motion"))
    if "motion" in codes:
        control.modes["motion"] = codes["motion"]
    axes = {letter: value for letter, value in rest.items() if letter in _AXES}
    centre = {letter: value for letter, value in rest.items() if letter in "IJK"}
    if left := set(rest) - set(axes) - set(centre):
        raise NotRead(number, f"{', '.join(sorted(left))} without use")
    if not axes:
        if codes.get("motion") in (0, 1, 2, 3) or centre:
            raise NotRead(number, "a move without an axis")
        return
    if motion is None or motion == 80:
        raise NotRead(number, "axes without a move")
    if centre and motion not in (2, 3):
        raise NotRead(number, "a centre without an arc")
    if motion and not control.feed:
        raise NotRead(number, "a feed move without a feed")
    end = dict(control.at)
    for letter, value in axes.items():
        size = value * (control.scale if letter in "XYZ" else 1.0)
        end[letter] = control.at[letter] + size if control.modes.get("distance") == 91 else size
    move = Move(
        line=number,
        rapid=not motion,
        start=tuple(control.at.values()),
        end=tuple(end.values()),
        tool=control.tool,
        spindle_rpm=control.sense * control.speed,
        feed_mm_min=control.feed,
        length_offset=control.offset,
        stated=frozenset(control.modes),
    )
    control.moves.append(_arc(number, move, motion == 3, axes, centre, control) if motion in (2, 3) else move)
    control.at = end


def _arc(
    number: int,
    move: Move,
    ccw: bool,
    axes: dict[str, float],
    centre: dict[str, float],
    control: _Control,
) -> Move:
    a, b, i, j = _TURNS[int(control.modes.get("plane", 17))]
    if (a, b) != ("X", "Y"):
        raise NotRead(number, "arcs outside the XY plane are not known here")
    if not {a, b} & set(axes) or not {i, j} & set(centre) or set(centre) - {i, j}:
        raise NotRead(number, "an arc without its end or its centre in the plane")
    (x0, y0), (x1, y1) = move.start[:2], move.end[:2]
    cx, cy = (s + centre.get(letter, 0.0) * control.scale for s, letter in ((x0, i), (y0, j)))
    first, last = math.dist((x0, y0), (cx, cy)), math.dist((x1, y1), (cx, cy))
    most = ARC_INCH * 25.4 if control.modes.get("units") == 20 else ARC_MM
    if not abs(first - last) <= most or not first:
        raise NotRead(number, f"an arc whose ends are {first:.4f} and {last:.4f} mm from its centre")
    turn = math.atan2(y1 - cy, x1 - cx) - math.atan2(y0 - cy, x0 - cx)
    turn = (turn if ccw else -turn) % math.tau
    if (x0, y0) == (x1, y1):
        turn = math.tau
    return replace(move, centre=(cx, cy), ccw=ccw, turn_rad=turn)


def held(
    program: Program,
    low: Sequence[float],
    high: Sequence[float],
    *,
    clear_mm: float,
    spinning: Sequence[int] = (),
) -> tuple[str, ...]:
    """Everything in a program that an operator would not stand for.

    Parameters
    ----------
    program : Program
    low, high : sequence of float
        The least and greatest X, Y and Z, in mm; the least Z is the depth to which anything may go.
    clear_mm : float
        Height over which a head may travel.
    spinning : sequence of int
        Tools that cut only while they turn.
    """
    return tuple(f"line {m.line}: {what}" for m in program.moves for what in _wrong(m, low, high, clear_mm, spinning))


def _wrong(
    m: Move, low: Sequence[float], high: Sequence[float], clear_mm: float, spinning: Sequence[int]
) -> Iterator[str]:
    lacking = {"units", "distance", "plane", "feed mode", "radius", "length"} - m.stated
    if lacking:
        yield f"a move while the program has not said {', '.join(sorted(lacking))}"
    if not m.rapid and any(map(math.isnan, (*m.start[:3], *m.end[:3]))):
        yield "a feed move from or to an unknown place"
    sideways = m.start[:2] != m.end[:2]
    if m.rapid and sideways and not all(z >= clear_mm - 1e-9 for z in (m.start[2], m.end[2])):
        yield "travel with the head down, or at an unknown height"
    if m.rapid and m.end[2] < 0:
        yield "a rapid move into the sheet"
    if not m.rapid and not sideways and m.start[2] < 0 < m.end[2]:
        yield "a feed move out of the sheet, where a rapid one would do"
    box = [*m.points(1e-3), m.end[:2]] if not m.rapid else [m.end[:2]]
    for axis, values in (("X", [p[0] for p in box]), ("Y", [p[1] for p in box]), ("Z", [m.end[2]])):
        k = "XYZ".index(axis)
        if any(v < low[k] - 1e-3 or v > high[k] + 1e-3 for v in values):
            yield f"{axis} beyond {low[k]:g} to {high[k]:g}"
    if not m.rapid and m.end[2] <= 0 and m.tool in spinning and not m.spindle_rpm:
        yield "a cut with a tool that does not turn"
