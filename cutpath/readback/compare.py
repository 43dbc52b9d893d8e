"""What was read from a file held against what was to be written: drawings by lines, runs of a machine by ways."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain

import numpy as np

from cutpath import sure
from cutpath.readback.lines import Lines, MisreadError, Reach, Run
from cutpath.values.drawing import LETTERING, Drawing, Role, Stroke
from cutpath.values.looks import OF_ROLE, Look
from cutpath.values.machine import Axis, Corner, Head, Machine
from cutpath.values.pattern import Point
from cutpath.values.toolpath import Frame, Pass, ToolMove

_SHORT_ARC_MM = 0.02
"""Shorter arcs may be written as straight ways: twice the least stroke that is run."""


def against_drawing(
    read: Mapping[str, Lines], drawing: Drawing, places: Mapping[Role, str], slack_mm: float, corner: Point = (0.0, 0.0)
) -> Iterator[str]:
    """Tell where lines of a file are not the strokes of a drawing, each layer or group in their order.

    Parameters
    ----------
    read : mapping of str to Lines
        By layer or group.
    drawing : Drawing
    places : mapping of Role to str
        The layer or group of each role; what is drawn of other roles is not for the file.
    slack_mm : float
        How far a coordinate may be off: half of the last decimal.
    corner : Point
        Where the file's corner lies in the drawing.
    """
    wanted: dict[str, list[Stroke]] = {}
    for stroke in drawing.strokes:
        wanted.setdefault(places[stroke.role], []).append(stroke)
    looks = {places[role]: OF_ROLE[role] for role in places}
    for name in dict.fromkeys([*wanted, *(n for n, own in read.items() if own.counts)]):
        strokes, lines = wanted.get(name, []), read.get(name, Lines())
        if len(strokes) != len(lines.counts):
            yield f"{name}: {len(lines.counts)} lines, drawn are {len(strokes)}"
        elif lines.counts and not _looks(lines, looks[name]):
            yield f"{name}: colour {lines.colour}, or a width, that is not of its kind"
        elif [s.closed for s in strokes] != list(lines.closed) or [len(s.points) for s in strokes] != list(
            lines.counts
        ):
            yield f"{name}: lines with other points, or closed where they are open"
        elif lines.dashes and [_dashes_mm(s) for s in strokes] != list(lines.dashes):
            yield f"{name}: lines that are solid, or broken, otherwise than lines of their kind are"
        else:
            titles = zip(lines.titles, strokes, strict=True)
            yield from (f"{name}: {s.piece} is called {title}" for title, s in titles if title not in ("", s.piece))
            yield from _moved(name, strokes, lines, slack_mm, corner)


def _looks(lines: Lines, look: Look) -> bool:
    """Tell whether lines have the colour of their kind, which DXF names by its index, and its width."""
    return lines.colour in (look.colour, str(look.index)) and lines.width_mm in (None, look.width_mm)


def _dashes_mm(stroke: Stroke) -> tuple[float, ...]:
    """Return how a stroke is broken; letters are solid."""
    return () if stroke.name == LETTERING else OF_ROLE[stroke.role].dashes_mm


def _moved(name: str, strokes: Sequence[Stroke], lines: Lines, slack_mm: float, corner: Point) -> Iterator[str]:
    drawn = np.fromiter(
        chain.from_iterable(chain.from_iterable(s.points for s in strokes)), float, 2 * len(lines.xs)
    ).reshape(-1, 2)
    off = np.maximum(abs(drawn[:, 0] - lines.xs - corner[0]), abs(drawn[:, 1] - lines.ys - corner[1]))
    if not (off <= slack_mm).all():
        worst = int(np.argmax(np.nan_to_num(off, nan=np.inf)))
        stroke = strokes[int(np.searchsorted(np.cumsum(lines.counts), worst, side="right"))]
        yield f"{name}: {stroke.piece} {stroke.name} is off by {off[worst]:.7g} mm"


def against_passes(read: Sequence[Run], frame: Frame, machine: Machine, slack_mm: float) -> Iterator[str]:
    """Tell where the runs of a machine's file are not the passes of a frame, way by way in their order."""
    wanted: list[list[Pass]] = []
    for p in frame.passes:
        if wanted and p.goes_on_from(wanted[-1][-1]):
            wanted[-1].append(p)
        else:
            wanted.append([p])
    if len(wanted) != len(read):
        yield f"{len(read)} runs with the head down, planned are {len(wanted)}"
        return
    places = {head.name: _on_sheet(machine, frame, head) for head in machine.heads}
    for run, passes in zip(read, wanted, strict=True):
        head = machine.head(passes[0].head)
        named = f"{passes[0].piece} {passes[0].name}".strip() or passes[0].role.value
        if run.tool != head.number:
            yield f"{named}: tool {run.tool} in the place of {head.number}"
            continue
        try:
            _walk(run, passes, places[head.name], slack_mm, machine.sagitta_mm)
        except MisreadError as error:
            yield f"{named}: {error}"


def _on_sheet(machine: Machine, frame: Frame, head: Head) -> Callable[[float, float], Point]:
    """Return the map from the numbers of a file to the sheet under the head.

    The machine's x runs to the right and its y up from its corner; the roll along y has its own y to the left.
    """
    bed, up = machine.bed, machine.bed.along is Axis.Y
    sides = (bed.length_mm + 2 * bed.inset_mm, bed.width_mm + 2 * bed.inset_mm)
    wide, high = reversed(sides) if up else sides
    right = bed.origin in (Corner.LOWER_RIGHT, Corner.UPPER_RIGHT)
    top = bed.origin in (Corner.UPPER_LEFT, Corner.UPPER_RIGHT)

    def place(x: float, y: float) -> Point:
        from_left, from_foot = x + head.at_mm[0] + wide * right, y + head.at_mm[1] + high * top
        along, across = (from_foot, wide - from_left) if up else (from_left, from_foot)
        return (along - bed.inset_mm + frame.start_mm, across - bed.inset_mm)

    return place


def _walk(
    run: Run, passes: Sequence[Pass], place: Callable[[float, float], Point], slack_mm: float, sagitta_mm: float
) -> None:
    """Follow a run along its passes; ways too short for the file's figures may be missing from it.

    Raises
    ------
    MisreadError
    """
    here = place(run.x, run.y)
    if not _at(here, passes[0].start, slack_mm):
        raise MisreadError(f"it begins {math.dist(here, passes[0].start):.4f} mm off")
    ways = iter(run.steps)
    way = next(ways, None)
    for move in chain.from_iterable(p.moves for p in passes):
        start, done = here, False
        while way is not None and not done:
            there = place(way.x, way.y)
            ends = _at(there, move.to, slack_mm)
            if not ends and (
                move.centre is None or way.centre is not None or not _on_arc(start, there, move, slack_mm)
            ):
                break
            _same_kind(way, here, move, place, slack_mm, sagitta_mm)
            here, way, done = there, next(ways, None), ends
        if not done and not _at(here, move.to, slack_mm):
            raise MisreadError(f"it leaves its way before x {move.to[0]:.3f}, y {move.to[1]:.3f} mm")
    while way is not None and _at(place(way.x, way.y), here, slack_mm):
        way = next(ways, None)
    if way is not None:
        raise MisreadError("it runs on beyond its end")


def _at(one: Point, other: Point, slack_mm: float) -> bool:
    return abs(one[0] - other[0]) <= slack_mm and abs(one[1] - other[1]) <= slack_mm


def _on_arc(start: Point, at: Point, move: ToolMove, slack_mm: float) -> bool:
    """Tell whether a point lies on the arc of a move, between its start and its end."""
    assert move.centre is not None  # noqa: S101 - asked of arcs only
    radius = math.dist(move.centre, move.to)
    if abs(math.dist(move.centre, at) - radius) > 2 * slack_mm:
        return False
    whole, part = _turn(start, move.to, move), _turn(start, at, move)
    return 0 <= part <= whole + 2 * slack_mm / max(radius, slack_mm)


def _turn(start: Point, at: Point, move: ToolMove) -> float:
    assert move.centre is not None  # noqa: S101 - asked of arcs only
    cx, cy = move.centre
    turn = sure.atan2(at[1] - cy, at[0] - cx) - sure.atan2(start[1] - cy, start[0] - cx)
    return (turn if move.ccw else -turn) % math.tau


def _same_kind(
    way: Reach,
    here: Point,
    move: ToolMove,
    place: Callable[[float, float], Point],
    slack_mm: float,
    sagitta_mm: float,
) -> None:
    if way.centre is None:
        if move.centre is None:
            return
        chord, radius = math.dist(here, place(way.x, way.y)), math.dist(move.centre, move.to)
        rise = radius - math.sqrt(max(0.0, radius**2 - chord**2 / 4))
        if chord > _SHORT_ARC_MM and rise > sagitta_mm + 2 * slack_mm:
            raise MisreadError(f"a chord leaves its arc by {rise:.3f} mm")
    elif move.centre is None or way.ccw is not move.ccw or not _at(place(*way.centre), move.centre, 4 * slack_mm):
        raise MisreadError("another arc than planned")
