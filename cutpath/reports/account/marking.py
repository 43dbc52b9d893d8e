"""A piece marked out by hand: its points on a square blank in whole millimetres, and the lines that join them.

Terminology
-----------
Along: in mm from the blank's corner at the lower end (left; right for a left hand), on the straight edge.
Up: in mm square to that edge.
Step points: of step n (its bed joint's number), ``na`` is the foot of the riser on the water line, ``nb`` its head,
where the fold begins, ``nc`` and ``nd`` are the two top corners of the turn-in; the fold ends at the foot of the next
riser, or at ``ne`` on the last step. All other points have capitals.
Curve: short chords that turn little. Only so many of its points are marked that straight joints between them stand
off by `CURVE_MARK_MM` at most.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import chain, pairwise
from math import floor

from cutpath.plane import bounds_mm, distance_mm
from cutpath.reports.account.plain_shapes import Ellipse, curve_runs, ellipse_of, is_rectangle, turn_deg
from cutpath.tolerances import CURVE_MARK_MM, CURVE_TURN_DEG, FILE_DECIMALS, ONE_MARK_MM, POINT_MM, STRAIGHT_DEG
from cutpath.values.pattern import (
    Edge,
    EdgeUse,
    FlatPattern,
    FoldUse,
    MarkKind,
    Point,
    Polyline,
    SnipUse,
    Station,
    StationUse,
)

_STEP_STATIONS: tuple[tuple[str, StationUse, FoldUse | None], ...] = (
    ("a", StationUse.RISER_FOOT, None),
    ("b", StationUse.START, FoldUse.STEP_TURN_IN),
    ("c", StationUse.TOP_START, FoldUse.STEP_TURN_IN),
    ("d", StationUse.TOP_END, FoldUse.STEP_TURN_IN),
)
_STEP_END = ("e", StationUse.END, FoldUse.STEP_TURN_IN)
_CAPITALS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Letters of points: no I and no O, which are read as 1 and 0 beside figures."""


class LineKind(StrEnum):
    """What is done along a line."""

    OUTLINE = "outline"
    HOLE = "hole"
    SNIP = "snip"
    FOLD = "fold"
    MARK = "mark"


@dataclass(frozen=True, slots=True)
class MarkedPoint:
    """A point with its short ``key``, its name, and its place; whole figures are a half rounded upwards.

    ``step`` is the joint's number of the step that it belongs to, ``use`` which of its points it is; None of others.
    """

    key: str
    name: str
    along_exact_mm: float
    square_exact_mm: float
    step: int | None = None
    use: StationUse | None = None

    @property
    def along_mm(self) -> int:
        """Along, to the nearest whole millimetre."""
        return whole_mm(self.along_exact_mm)

    @property
    def square_mm(self) -> int:
        """Up, to the nearest whole millimetre."""
        return whole_mm(self.square_exact_mm)

    @property
    def rounding_mm(self) -> float:
        """The larger of its two roundings."""
        return max(abs(self.along_mm - self.along_exact_mm), abs(self.square_mm - self.square_exact_mm))


@dataclass(frozen=True, slots=True)
class MarkedLine:
    """A line through points by their keys; an outline or hole returns from its last point to its first.

    ``ellipse`` is what an outline or a hole is where it is one; ``use`` says what a mark tells, and what a snip is for.
    """

    kind: LineKind
    name: str
    keys: tuple[str, ...]
    ellipse: Ellipse | None = None
    use: MarkKind | SnipUse | None = None


@dataclass(frozen=True, slots=True)
class Marking:
    """All points and lines of a piece.

    Attributes
    ----------
    length_mm, width_mm : float
        The square-cornered blank.
    corner : str
        ``lower left`` or ``lower right``: from where everything is measured.
    steps : tuple of int
        Numbers of the steps that have points a to d, from the lower end.
    points : tuple of MarkedPoint
        Step points first, then capitals in the order in which the outline meets them, then the rest. Points that are
        told by a curve or an ellipse have the last capitals, for nobody reads those.
    lines : tuple of MarkedLine
        Outline first; it runs from the corner's end along the straight edge.
    curved : bool
        Points of a curve were left out.
    curves : tuple of tuple of str
        Keys of the points on each curve, in the order of their ring; an ellipse is none of them.
    rectangle : bool
        The outline is the blank itself, and nothing is curved but ellipses.
    """

    length_mm: float
    width_mm: float
    corner: str
    steps: tuple[int, ...]
    points: tuple[MarkedPoint, ...]
    lines: tuple[MarkedLine, ...]
    curved: bool
    curves: tuple[tuple[str, ...], ...]
    rectangle: bool

    @property
    def lettered(self) -> tuple[MarkedPoint, ...]:
        """Points with capitals that are on no curve and no ellipse, or are the end of a line as well."""
        told = _told_by_shape(self.lines, self.curves)
        return tuple(p for p in self.points if p.step is None and p.key not in told)

    def place_of(self, point: MarkedPoint) -> str:
        """Say where a point stands, by its letter or by the curve that it is on; empty on an ellipse."""
        if point.step is not None or point in self.lettered:
            return f"at {point.key}"
        return next((f"on curve {n}" for n, run in enumerate(self.curves, 1) if point.key in run), "")

    @property
    def worst(self) -> MarkedPoint:
        """The point whose figures are rounded most."""
        return max(self.points, key=lambda point: point.rounding_mm)

    def point(self, key: str) -> MarkedPoint:
        """Return a point by its key.

        Raises
        ------
        KeyError
            When there is none.
        """
        for point in self.points:
            if point.key == key:
                return point
        raise KeyError(key)

    def fold_end(self, step: int) -> MarkedPoint:
        """Return the point where a step's fold ends: the foot of the next riser, its own point e on the last step."""
        later = [n for n in self.steps if n > step]
        return self.point(f"{later[0]}a" if later else f"{step}e")


class _Points:
    """Points while they are gathered: each place once, under the first name that it gets."""

    def __init__(self, length_mm: float, *, mirrored: bool) -> None:
        self._length, self._mirrored = length_mm, mirrored
        self._capitals = 0
        self._cells: dict[tuple[int, int], list[int]] = {}  # places in `found` by squares as wide as one mark
        self.found: list[MarkedPoint] = []

    def place(self, at: Point) -> Point:
        return (self._length - at[0] if self._mirrored else at[0], at[1])

    def on_bench(self, at: Point) -> Point:
        """Return where a place lies as the blank lies before the worker, which is from right to left of a left hand."""
        along, square = self.place(at)
        return (-along if self._mirrored else along, square)

    def step(self, station: Station, letter: str) -> None:
        """Take the point of a step up, where there is none yet at its place."""
        self.key(station.at, station.name, station, letter)

    def key(self, at: Point, name: str, station: Station | None = None, letter: str = "") -> str:
        """Return the key of the point at a place of the pattern, a new one where there is none yet."""
        along, square = self.place(at)
        column, row = floor(along / ONE_MARK_MM), floor(square / ONE_MARK_MM)
        beside = (self._cells.get((column + i, row + j), ()) for i in (-1, 0, 1) for j in (-1, 0, 1))
        near = [
            place
            for place in chain.from_iterable(beside)
            if distance_mm((self.found[place].along_exact_mm, self.found[place].square_exact_mm), (along, square))
            < ONE_MARK_MM
        ]
        if near:
            return self.found[min(near)].key
        self._cells.setdefault((column, row), []).append(len(self.found))
        if station is not None:
            key = f"{station.number}{letter}"
            self.found.append(MarkedPoint(key, name, along, square, station.number, station.use))
        else:
            self.found.append(MarkedPoint(_capital(self._capitals), name, along, square))
            self._capitals += 1
        return self.found[-1].key


@dataclass(frozen=True, slots=True)
class _Round:
    """A closed line: the points of it that are marked, what ellipse it is, whether it bends, and its curves."""

    kept: frozenset[Point]
    ellipse: Ellipse | None
    curved: bool
    curves: Sequence[Sequence[Point]]


def _round(ring: Sequence[Point], fixed: Sequence[Point], points: _Points) -> _Round:
    """Look at a closed line; points that are ``fixed`` are marked whatever becomes of the others."""
    kept = _thinned(ring, fixed)
    ellipse = ellipse_of([points.place(at) for at in ring])
    return _Round(kept, ellipse, _bends(ring, kept), [] if ellipse else curve_runs(ring, kept))


def marking(pattern: FlatPattern) -> Marking:
    """Mark a pattern out: every corner, fold end, snip end and mark end, and every station of its own."""
    _, _, length, width = bounds_mm(pattern.outline)
    points = _Points(length, mirrored=pattern.mirrored)
    steps = step_numbers(pattern)
    there = {station.what: station for station in pattern.stations}
    for n in steps:
        for letter, use, fold in (*_STEP_STATIONS, *((_STEP_END,) if n == steps[-1] else ())):
            points.step(there[use, fold, n, None], letter)
    names = {points.place(station.at): station.name for station in pattern.stations}

    def key_at(at: Point, otherwise: str) -> str:
        place = points.place(at)
        name = next((name for p, name in names.items() if distance_mm(p, place) < ONE_MARK_MM), otherwise)
        return points.key(at, name)

    fixed = [
        *(s.at for s in pattern.stations),
        *(at for kind, _, ends, _ in _inner(pattern) if kind is not LineKind.HOLE for at in ends),
    ]
    corners = _ring(pattern, points)
    ring = [at for at, _ in corners]
    outline = _round(ring, fixed, points)
    keys = tuple(key_at(at, name) for at, name in corners if at in outline.kept)
    rounds, lines = [outline], [MarkedLine(LineKind.OUTLINE, "outline", keys, outline.ellipse)]
    for kind, name, ends, use in _inner(pattern):
        ellipse = None
        if kind is LineKind.HOLE:
            hole = _round(ends, fixed, points)
            rounds.append(hole)
            ellipse, ends = hole.ellipse, tuple(at for at in ends if at in hole.kept)
        ways = _end_names(kind, [points.on_bench(at) for at in ends])
        named = [(at, _name_of_end(name, way, _edge_at(pattern, at))) for at, way in zip(ends, ways, strict=True)]
        lines.append(MarkedLine(kind, name, tuple(key_at(at, words) for at, words in named), ellipse, use))
    for station in pattern.stations:
        points.key(station.at, station.name)
    curves = tuple(tuple(points.key(at, "") for at in run) for one in rounds for run in one.curves)
    letters = _letters(points.found, _told_by_shape(lines, curves))
    return Marking(
        length,
        width,
        "lower right" if pattern.mirrored else "lower left",
        steps,
        tuple(replace(point, key=letters[point.key]) for point in points.found),
        tuple(replace(line, keys=tuple(letters[key] for key in line.keys)) for line in lines),
        any(one.curved for one in rounds),
        tuple(tuple(letters[key] for key in run) for run in curves),
        rectangle=not steps and not curves and is_rectangle([points.place(at) for at in ring], length, width),
    )


def _told_by_shape(lines: Iterable[MarkedLine], curves: Iterable[Iterable[str]]) -> frozenset[str]:
    """Return the keys of points that only a curve or an ellipse tells, and that are the end of no other line."""
    told = {key for run in curves for key in run}
    ends = set()
    for line in lines:
        if line.ellipse:
            told |= set(line.keys)
        elif line.kind not in {LineKind.OUTLINE, LineKind.HOLE}:
            ends |= set(line.keys)
    return frozenset(told - ends)


def _letters(points: Sequence[MarkedPoint], last: frozenset[str]) -> dict[str, str]:
    """Return the key of each point as people read it: capitals without a gap, those in ``last`` after all others."""
    capitals = [point.key for point in points if point.step is None]
    order = sorted(capitals, key=lambda key: key in last)
    found = {point.key: point.key for point in points}
    return found | {key: _capital(number) for number, key in enumerate(order)}


def whole_mm(length_mm: float) -> int:
    """Round a half upwards, as told by the files' decimals, so that both hands of a piece round alike."""
    return floor(round(length_mm, FILE_DECIMALS) + 0.5)


def _capital(number: int) -> str:
    """Return the letters of a point, counted from 0: A, B ... AA, AB ... AAA."""
    first, last = divmod(number, len(_CAPITALS))
    return (_capital(first - 1) if first else "") + _CAPITALS[last]


def _on_side(name: str) -> str:
    """Write the side in a name so that another may follow: "roof line on the left", not "roof line, left"."""
    what, comma, side = name.rpartition(", ")
    return f"{what} on the {side}" if comma and side in {"left", "right"} else name


def _name_of_end(line: str, place: str, edge: Edge | None) -> str:
    """Name the end of a line: by the edge on which it stands, else by its place on the blank."""
    if edge is None or edge.use is EdgeUse.OWN:
        return f"{_on_side(line)}, {place}"
    return f"{_on_side(line)}, at the {edge.name}"


def _edge_at(pattern: FlatPattern, at: Point) -> Edge | None:
    """Return the edge of the outline on which a point stands; None inside."""
    found = ((distance_mm(a, at) + distance_mm(at, b) - distance_mm(a, b), edge) for edge, a, b in pattern.sides())
    return next((edge for detour, edge in found if detour < POINT_MM), None)


def _told_apart(names: Sequence[str], ring: Sequence[Point]) -> list[str]:
    """Say of two corners of one name which is on the left, and which on the right."""
    named: dict[str, list[Point]] = {}
    for name, at in zip(names, ring, strict=True):
        named.setdefault(name, []).append(at)

    def side(name: str, x: float) -> str:
        (x0, y0), (x1, y1) = named[name][0], named[name][-1]
        beside = len(named[name]) == 2 and abs(x1 - x0) > abs(y1 - y0)
        return "" if not beside else ", left" if x == min(x0, x1) else ", right"

    return [name + side(name, x) for name, (x, _) in zip(names, ring, strict=True)]


def _name_of_corner(first: Edge, second: Edge) -> str:
    """Name a corner of the outline by the edges that meet there; a user's own bear numbers that no drawing shows.

    >>> _name_of_corner(Edge("mitre", EdgeUse.MITRE), Edge("turn-in", EdgeUse.TURN_IN))
    'turn-in meets the mitre'
    """
    if EdgeUse.OWN in {first.use, second.use}:
        return "corner"
    edges = sorted((first, second), key=lambda edge: list(EdgeUse).index(edge.use))
    return " meets the ".join(dict.fromkeys(edge.name for edge in edges))


def _end_names(kind: LineKind, ends: Sequence[Point]) -> list[str]:
    """Name the points of a line by where they lie on the blank, as it lies before the worker; corners of a hole count.

    >>> _end_names(LineKind.MARK, [(100.0, 0.0), (90.0, 50.0), (90.0, 150.0)])
    ['bottom', 'bend', 'top']
    """
    if kind is LineKind.HOLE:
        return [f"corner {number}" for number in range(1, len(ends) + 1)]
    (x0, y0), (x1, y1) = ends[0], ends[-1]
    low, high = ("left end", "right end") if abs(x1 - x0) > abs(y1 - y0) else ("bottom", "top")
    first, last = (low, high) if (x1 - x0 if low == "left end" else y1 - y0) > 0 else (high, low)
    bends = ["bend"] if len(ends) == 3 else [f"bend {number}" for number in range(1, len(ends) - 1)]
    return [first, *bends, last]


def step_numbers(pattern: FlatPattern) -> tuple[int, ...]:
    """Return the numbers of the steps whose points all stand among the stations, from the lower end."""
    there = {station.what for station in pattern.stations}
    numbers = [s.number for s in pattern.stations if s.use is StationUse.RISER_FOOT and s.number is not None]
    wanted = (*_STEP_STATIONS, _STEP_END)
    whole = all((use, fold, n, None) in there for n in numbers for _, use, fold in wanted)
    return tuple(numbers) if whole else ()


def _ring(pattern: FlatPattern, points: _Points) -> list[tuple[Point, str]]:
    """Return the outline's corners from the lowest and nearest to the corner, along the straight edge first."""
    ring = pattern.outline
    before, after = (0, -1) if pattern.mirrored else (-1, 0)
    names = [_name_of_corner(pattern.edges[i + before], pattern.edges[i + after]) for i in range(len(ring))]
    corners = list(zip(ring, _told_apart(names, ring), strict=True))
    if pattern.mirrored:
        corners.reverse()
    places = [points.place(at) for at, _ in corners]
    first = min(range(len(corners)), key=lambda i: (round(places[i][1], 6), places[i][0]))
    return corners[first:] + corners[:first]


def _thinned(ring: Sequence[Point], fixed: Iterable[Point]) -> frozenset[Point]:
    """Return the points of a ring that are marked: every true corner and fixed point, and enough of each curve."""
    held = list(fixed)
    count = len(ring)
    corner = [
        abs(turn_deg(ring[i - 1], ring[i], ring[(i + 1) % count])) >= CURVE_TURN_DEG
        or any(distance_mm(ring[i], at) < ONE_MARK_MM for at in held)
        for i in range(count)
    ]
    stops = [i for i in range(count) if corner[i]] or [0]
    kept: list[int] = []
    for first, last in zip(stops, (*stops[1:], stops[0] + count), strict=True):
        kept += _divided(ring, first, last)
    return frozenset(ring[i % count] for i in kept)


def _divided(ring: Sequence[Point], first: int, last: int) -> list[int]:
    """Divide a stretch of a ring evenly into the fewest straight joints that keep near it; its last end is left out."""
    for parts in range(1, last - first):
        stops = [first + round((last - first) * i / parts) for i in range(parts + 1)]
        if all(_keeps_near(ring, a, b) for a, b in pairwise(stops)):
            return stops[:-1]
    return list(range(first, last))


def _bends(ring: Sequence[Point], kept: frozenset[Point]) -> bool:
    """Tell whether points were left out at which the ring turns, which makes it a curve."""
    count = len(ring)
    return any(
        ring[i] not in kept and abs(turn_deg(ring[i - 1], ring[i], ring[(i + 1) % count])) > STRAIGHT_DEG
        for i in range(count)
    )


def _keeps_near(ring: Sequence[Point], first: int, last: int) -> bool:
    """Tell whether a straight joint from one point of a ring to another keeps near all points between them."""
    a, b = ring[first % len(ring)], ring[last % len(ring)]
    size = distance_mm(a, b)
    if size < ONE_MARK_MM:
        return False
    between = (ring[i % len(ring)] for i in range(first + 1, last))
    return all(abs((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / size <= CURVE_MARK_MM for x, y in between)


def _inner(pattern: FlatPattern) -> Iterable[tuple[LineKind, str, Polyline, MarkKind | SnipUse | None]]:
    for number, hole in enumerate(pattern.holes, 1):
        yield LineKind.HOLE, f"hole {number}" if len(pattern.holes) > 1 else "hole", hole, None
    for snip in pattern.snips:
        yield LineKind.SNIP, snip.name, snip.points, snip.use
    for fold in pattern.folds:
        yield LineKind.FOLD, fold.name, (fold.start, fold.end), None
    for mark in pattern.marks:
        yield LineKind.MARK, mark.name, mark.points, mark.kind
