"""A plain outline from a DXF drawing: named layers for outline, cuts and folds; anything else is a finding.

Terminology
-----------
Bulge: the tangent of a quarter of an arc's angle, positive when the arc bends left (DXF).
Sagitta: how far a chord stands off its arc.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from cutpath import sure
from cutpath.ceilings import (
    BINARY_DRAWING_BYTES,
    DRAWING_BYTES,
    DRAWING_ENTITIES,
    OUTLINE_POINTS,
    bytes_text,
)
from cutpath.errors import Finding, Severity
from cutpath.families.desk import Desk, LeftOutError
from cutpath.intake.files import read_bytes
from cutpath.tolerances import CHORD_SAGITTA_MM, POINT_MM
from cutpath.trade.plausible import LONGEST_RUN_MM
from cutpath.units import MM_PER_UNIT, written
from cutpath.values.leadwork import PlainOutline
from cutpath.values.pattern import Point, Polyline
from cutpath.values.survey import DetailHead

if TYPE_CHECKING:
    from ezdxf.document import Drawing

    from cutpath.families.outline.job import OutlineTable

_UNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
"""$INSUNITS of the DXF reference to our units; zero means that the drawing does not say."""
_LEAST_CORNERS = 3


@dataclass(slots=True)
class _Found:
    """What the named layers hold, in mm, while a drawing is read; ``wrong`` says what cannot be used."""

    outlines: list[Polyline] = field(default_factory=list)
    holes: list[Polyline] = field(default_factory=list)
    cuts: list[Polyline] = field(default_factory=list)
    folds: list[tuple[Point, Point]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    passed_over: set[str] = field(default_factory=set)
    points: int = 0


class _FigureError(Exception):
    """An arc or circle whose size is no size: zero, endless, or beyond any building."""


def read_outline(desk: Desk, path: str, head: DetailHead, table: OutlineTable) -> PlainOutline:
    """Read the drawing that a plain outline names; arcs become chords, nothing is closed or repaired.

    Parameters
    ----------
    desk : Desk
    path : str
        Key path of the drawing's name.
    head : DetailHead
    table : OutlineTable
        Name of the drawing beside the job file, layers, unit and fold angle.

    Returns
    -------
    PlainOutline
        In mm, in the drawing's own frame.

    Raises
    ------
    LeftOutError
        When the drawing cannot be used; the findings (CP110) say why.
    """
    name = str(table.dxf)
    layers = table.layers
    roles = {layers.outline.upper(): "outline", layers.cut.upper(): "cut", layers.fold.upper(): "fold"}
    try:
        found = _read(desk, path, table, roles)
    except LeftOutError:
        raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise desk.refuse(
            "CP110",
            path,
            f"{name} cannot be read: {reason.lower()}",
            "a DXF drawing beside the job file",
            "Check the name; it is looked for from the job file's folder. Name another folder with --drawings FOLDER.",
        ) from error
    except Exception as error:  # a broken drawing makes the reader fail in many ways of its own, early or late
        raise desk.refuse(
            "CP110",
            path,
            f"{name} is not a whole DXF drawing: {written(str(error) or type(error).__name__)}",
            "a DXF drawing",
            "Save it again as DXF.",
        ) from error
    if len(found.outlines) != 1:
        found.wrong.append(f"{len(found.outlines)} closed outlines on layer {table.layers.outline}; one is needed")
    if found.wrong:
        desk.add(_unusable(desk, path, wrong) for wrong in found.wrong)
        raise LeftOutError(path)
    if found.passed_over:
        desk.add(
            [
                _passed_over(
                    desk,
                    path,
                    f"layers {', '.join(sorted(found.passed_over))} passed over",
                    f"read: {', '.join(sorted(roles))}",
                    "Name the layers of outline, cut and fold where these are meant.",
                )
            ]
        )
    return PlainOutline(
        head=head,
        outline=found.outlines[0],
        holes=tuple(found.holes),
        cuts=tuple(found.cuts),
        folds=tuple((start, end, table.fold_angle) for start, end in found.folds),
        may_flip=table.may_flip,
    )


def _passed_over(
    desk: Desk,
    path: str,
    found: str,
    accepted: str = "a drawing that is whole",
    remedy: str = "See on the pattern that nothing is missing; save the drawing again as DXF.",
) -> Finding:
    return desk.finding("CP110", path, found, accepted, remedy, Severity.NOTE)


def _unusable(desk: Desk, path: str, found: str) -> Finding:
    return desk.finding(
        "CP110",
        path,
        found,
        "one closed polyline or circle for the outline; polylines, circles and lines for cuts; lines for folds; all "
        "flat and not mirrored",
        "Alter the drawing; nothing is repaired without your say.",
    )


def _read(desk: Desk, path: str, table: OutlineTable, roles: Mapping[str, str]) -> _Found:
    """Sort everything in a drawing by the role of its layer; the reader's own errors pass through."""
    drawing = desk.folder / str(table.dxf)
    data = read_bytes(drawing, DRAWING_BYTES, inside=desk.folder)
    desk.reads.append(drawing)
    _count_entities(desk, path, data)
    with _listening() as told:
        document = _document(data)
    if told:
        desk.add([_passed_over(desk, path, f"passed over by the reader: {'; '.join(dict.fromkeys(told))}")])
    scale = _scale(desk, path, document, table)
    found = _Found()
    for entity in document.modelspace():
        layer = str(entity.dxf.layer).upper()
        if layer in roles:
            _take(found, entity, roles[layer], scale)
            if found.points > OUTLINE_POINTS:
                break  # the survey says so
        else:
            found.passed_over.add(layer)
    return found


def _count_entities(desk: Desk, path: str, data: bytes) -> None:
    """Refuse a drawing that would keep its reader busy for minutes, before it is given to it.

    In text every second line is a group code, and code 0 begins whatever the drawing holds.

    Raises
    ------
    LeftOutError
        When it holds too much.
    """
    codes = data.split(b"\n")[::2]
    count = sum(code.strip() == b"0" for code in codes)
    if count > DRAWING_ENTITIES:
        found, most = f"a drawing of {count:,} entities", f"{DRAWING_ENTITIES:,} entities"
    elif b"\0" in data and len(data) > BINARY_DRAWING_BYTES:
        found, most = f"a binary drawing of {bytes_text(len(data))}", bytes_text(BINARY_DRAWING_BYTES)
    else:
        return
    raise desk.refuse(
        "CP110", path, found, f"accepted: {most} at most", "Save the one shape that is meant to a drawing of its own."
    )


@contextmanager
def _listening() -> Iterator[list[str]]:
    """Gather what the library would write to the terminal of what it passes over, in place of its doing so."""
    told: list[str] = []
    log, ear = logging.getLogger("ezdxf"), logging.Handler(logging.WARNING)
    ear.emit = lambda record: told.append(_words(record.getMessage()))  # type: ignore[method-assign]
    spread, log.propagate = log.propagate, False
    log.addHandler(ear)
    try:
        yield told
    finally:
        log.removeHandler(ear)
        log.propagate = spread


def _words(message: str) -> str:
    return message.removeprefix("DXF Structure Warning: ").removesuffix(", ignored by ezdxf.").removesuffix(".")


def _document(data: bytes) -> Drawing:
    """Read a drawing, text or binary, as it was when it was read.

    Raises
    ------
    OSError
        When it is none.
    """
    from ezdxf.filemanagement import readfile

    with TemporaryDirectory() as folder:  # the library finds out by itself what is in a file, but not in bytes
        file = Path(folder) / "drawing.dxf"
        file.write_bytes(data)
        try:
            return readfile(file)
        except OSError as error:
            raise OSError(0, "it is not a DXF drawing") from error


def _scale(desk: Desk, path: str, document: Drawing, table: OutlineTable) -> float:
    """Return mm in one unit of the drawing: as the drawing says, or as the job file says where it does not."""
    code = int(document.header.get("$INSUNITS", 0))
    said = _UNITS.get(code)
    if said is None and table.unit is None:
        found = f"unit {code} of the drawing" if code else "a drawing that does not say its unit"
        raise desk.refuse(
            "CP110",
            path.removesuffix(".dxf") + ".unit",
            found,
            "a drawing in mm, cm, m, in or ft, or unit beside it",
            'Add unit = "mm" (or what it was drawn in) to the detail.',
        )
    if said is not None and table.unit not in {None, said}:
        raise desk.refuse(
            "CP110",
            path.removesuffix(".dxf") + ".unit",
            f"unit {table.unit}, while the drawing says {said}",
            "one unit",
            "Take unit out, or correct the drawing.",
        )
    return MM_PER_UNIT[table.unit or said or "mm"]


def _take(found: _Found, entity: Any, role: str, scale: float) -> None:  # noqa: ANN401 - ezdxf's own classes
    """Sort one entity of a named layer, or note why it cannot be used."""
    kind = entity.dxftype()
    layer = str(entity.dxf.layer)
    if tuple(entity.dxf.get("extrusion", (0, 0, 1))) != (0, 0, 1):
        found.wrong.append(f"a mirrored {kind} on layer {layer}")
        return
    try:
        shape = _shape(entity, kind, scale)
    except _FigureError:
        found.wrong.append(f"a {kind} of no proper size on layer {layer}")
        return
    if shape is None:
        found.wrong.append(f"{kind} on layer {layer}")
        return
    points, closed = shape
    found.points += len(points)
    if not all(abs(value) <= LONGEST_RUN_MM for point in points for value in point):
        found.wrong.append(f"a {kind} farther than {LONGEST_RUN_MM / 1000:g} m from zero on layer {layer}")
    elif closed and len(points) < _LEAST_CORNERS:
        found.wrong.append(f"a closed {kind} of {len(points)} points on layer {layer}")
    elif not closed and len(points) > 1 and math.dist(points[0], points[-1]) <= POINT_MM:
        found.wrong.append(f"a {kind} on layer {layer} whose ends meet but which is not closed")
    elif role == "fold" and not closed and len(points) == 2:
        found.folds.append((points[0], points[1]))
    elif role == "cut" and closed:
        found.holes.append(points)
    elif role == "cut" and len(points) > 1:
        found.cuts.append(points)
    elif role == "outline" and closed:
        found.outlines.append(points)
    else:
        state = "closed" if closed else "open"
        found.wrong.append(f"a {state} {kind} of {len(points)} points on the {role} layer {layer}")


def _shape(entity: Any, kind: str, scale: float) -> tuple[Polyline, bool] | None:  # noqa: ANN401
    """Return the points of an entity in mm and whether it is closed; None when it is of no use here."""
    if kind == "LINE":
        ends = (entity.dxf.start, entity.dxf.end)
        return None if any(end.z for end in ends) else (tuple((end.x * scale, end.y * scale) for end in ends), False)
    if kind == "CIRCLE":
        centre = entity.dxf.center
        return None if centre.z else (_circle((centre.x * scale, centre.y * scale), entity.dxf.radius * scale), True)
    if kind == "LWPOLYLINE":
        if entity.dxf.elevation:
            return None
        corners = [(float(x) * scale, float(y) * scale, float(b)) for x, y, b in entity.get_points("xyb")]
        return _polyline(corners, closed=bool(entity.closed))
    if kind == "POLYLINE" and entity.is_2d_polyline:
        places = [(vertex.dxf.location, float(vertex.dxf.get("bulge", 0))) for vertex in entity.vertices]
        if any(place.z for place, _ in places):
            return None
        return _polyline([(p.x * scale, p.y * scale, bulge) for p, bulge in places], closed=bool(entity.is_closed))
    return None


def _polyline(corners: Sequence[tuple[float, float, float]], *, closed: bool) -> tuple[Polyline, bool]:
    points: list[Point] = []
    for place, (x, y, bulge) in enumerate(corners):
        points.append((x, y))
        last = place == len(corners) - 1
        if bulge and (closed or not last):
            end = corners[0 if last else place + 1]
            points.extend(_arc((x, y), (end[0], end[1]), bulge))
    return tuple(points), closed


def _chords(angle: float, radius_mm: float) -> int:
    """Return the number of chords over ``angle`` (radians) that stand off the arc by the sagitta at most.

    Half the angle of such a chord is acos(1 - e / R), written so that it stays exact on nearly straight arcs.

    Raises
    ------
    _FigureError
        When the arc has no length, or more than any run.
    """
    if not 0 < angle * radius_mm <= 2 * math.pi * LONGEST_RUN_MM:
        raise _FigureError
    half = 2 * sure.asin(math.sqrt(min(1.0, CHORD_SAGITTA_MM / (2 * radius_mm))))
    return max(1, math.ceil(angle / (2 * half)))


def _arc(start: Point, end: Point, bulge: float) -> Iterator[Point]:
    """Yield the points between the ends of an arc, on the arc."""
    chord = math.dist(start, end)
    if not chord:
        return
    angle = 4 * sure.atan(bulge)
    radius = chord / (2 * sure.sin(abs(angle) / 2))
    away = (1 - bulge * bulge) / (4 * bulge)
    centre = (
        (start[0] + end[0]) / 2 - away * (end[1] - start[1]),
        (start[1] + end[1]) / 2 + away * (end[0] - start[0]),
    )
    first = sure.atan2(start[1] - centre[1], start[0] - centre[0])
    count = _chords(abs(angle), radius)
    for step in range(1, count):
        turn = first + angle * step / count
        yield centre[0] + radius * sure.cos(turn), centre[1] + radius * sure.sin(turn)


def _circle(centre: Point, radius_mm: float) -> Polyline:
    count = max(_LEAST_CORNERS, _chords(2 * math.pi, radius_mm))
    return tuple(
        (
            centre[0] + radius_mm * sure.cos(2 * math.pi * step / count),
            centre[1] + radius_mm * sure.sin(2 * math.pi * step / count),
        )
        for step in range(count)
    )
