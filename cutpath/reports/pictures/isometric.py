"""The folded piece as it is seen from in front and above, from the faces that its proof has folded up in space.

The three axes stand 120 degrees apart and are all drawn to the same scale (isometric axonometry, ISO 5456-3; the
standard's own text was not read). Back gutters and saddles, whose roofs would be seen edge-on there, are looked at
from higher up; then only lengths along the wall are to scale. Each face is plain where its weather face is towards
the viewer, hatched where its back is; what is bossed is cross-hatched. Faces further away are drawn first, so
that nearer ones cover them. Thickness is neglected.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from itertools import combinations
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.paper.dimensions import FIGURE, hatching
from cutpath.paper.ink import MARGIN, Contours, Ink, Words, line, picture
from cutpath.paper.markup import number
from cutpath.paper.text import unbroken
from cutpath.plane import bounds_mm, turned
from cutpath.reports.account.shape import alike
from cutpath.reports.pictures.bossing import BOSSED, worked_parts
from cutpath.reports.pictures.pattern_picture import fold_groups
from cutpath.tolerances import AREA_MM2, POINT_MM, SURE_DECIMALS
from cutpath.values.batch import Batch
from cutpath.values.pattern import Fold, Point, Stance
from cutpath.values.piece import Piece
from cutpath.values.proof import FoldedFace, Proof, SpacePoint
from cutpath.workers import each

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

WIDEST, TALLEST = 74.0, 34.0
"""Room for a folded piece on paper, in mm: with the legend of its folds below it, little taller than its pattern."""

SCALES = (1.0, 2.0, 5.0, 8.0, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0)
"""Scales to choose from: millimetres along an axis to one of paper; the bar is there to measure by."""

_HATCH = 1.0
_LEAST_SHOWN = 0.25  # share of a face that must be seen for it to count as shown
_LEAST_BACK = 4.0  # mm2 of paper at which the hatching of a back is seen as such
_LETTER = 2.2
_BARS = (50.0, 100.0, 200.0, 500.0)


@dataclass(frozen=True, slots=True)
class _Camera:
    """Parallel projection square to the picture, for a viewer in front, above and to the right (left: x turned over).

    ``aside_deg`` from straight in front, ``high_deg`` above level; the x axis is drawn true.
    """

    aside_deg: float
    high_deg: float
    along: str

    def seen(self, point: SpacePoint) -> tuple[Point, float]:
        """Return the place on the picture plane, and the depth, greater towards the viewer."""
        x, y, z = point
        (ca, sa), (ch, sh) = (turned(((1.0, 0.0),), turn)[0] for turn in (self.aside_deg, self.high_deg))
        true = math.hypot(ca, sa * sh)
        away = x * sa + z * ca
        return ((x * ca - z * sa) / true, (y * ch - away * sh) / true), (away * ch + y * sh) / true


_ISOMETRIC = _Camera(45.0, math.degrees(sure.asin(sure.tan(math.radians(30.0)))), "each axis")
_HIGH_UP = _Camera(32.0, 55.0, "the wall")


@dataclass(frozen=True, slots=True)
class Folded:
    """A folded piece as it is drawn: its parts, letters of its folds, scale bar, the scale, and words for a caption."""

    parts: tuple[Ink, ...]
    letters: tuple[Ink, ...]
    bar: tuple[Ink, ...]
    scale: float
    words: str

    @property
    def size_mm(self) -> tuple[float, float]:
        """Breadth and height of the picture without letters, on paper."""
        x0, y0, x1, y1 = bounds_mm(point for ink in (*self.parts, *self.bar) for point in ink.points)
        return x1 - x0 + 2 * MARGIN, y1 - y0 + 2 * MARGIN

    def picture(self, title: str, *, lettered: bool = True) -> str:
        """Return it as SVG, with the letters of its folds or without."""
        inks = [*self.parts, *(self.letters if lettered else ()), *self.bar]
        return picture(inks, f"{title}, folded", scale=number(self.scale))


@dataclass(frozen=True)
class _Seen:
    """A face as the viewer sees it, in mm on the picture plane, x to the right and y upwards.

    ``plane`` gives the depth at (x, y) as a + b x + c y, greater towards the viewer; ``weather`` tells whether the
    weather face is seen.
    """

    face: FoldedFace
    outline: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...]
    plane: tuple[float, float, float]
    weather: bool

    @cached_property
    def shape(self) -> Polygon:
        from shapely import Polygon

        return Polygon(self.outline, self.holes)

    def depth(self, at: Point) -> float:
        """Return the depth at a point, so that what lies in one plane is equal on every machine."""
        a, b, c = self.plane
        return round(a + b * at[0] + c * at[1], SURE_DECIMALS)


def folded_pieces(batch: Batch) -> dict[str, Folded]:
    """Draw each kind of piece of a batch folded up, by the number of the first of that kind."""
    proofs = {proof.piece: proof for proof in batch.proofs}
    firsts = [group[0] for group in alike(batch.pieces) if group[0].id in proofs]
    asked = [(piece, proofs[piece.id]) for piece in firsts]
    drawn = each("drawn folded", _folded, None, asked, len(asked))
    return {piece.id: folded for piece, folded in zip(firsts, drawn, strict=True) if folded is not None}


def _folded(_: None, asked: tuple[Piece, Proof]) -> Folded | None:
    return folded_up(*asked)


def folded_up(piece: Piece, proof: Proof) -> Folded | None:
    """Draw a folded piece with the letters of its folds and a scale bar; None where nothing is folded.

    Of the two sides from which a piece may be seen, that one is taken which shows more of its faces; a step flashing
    is seen from its lower end where both show as much.
    """
    if len(proof.faces) < 2:
        return None
    camera = _HIGH_UP if piece.pattern.stance is Stance.BEFORE_A_ROOF else _ISOMETRIC
    worked = worked_parts(piece.pattern, proof.faces)
    sides = (1, -1) if piece.pattern.mirrored else (-1, 1)
    seen, other = (_seen(piece, (*proof.faces, *worked), side, camera) for side in sides)
    shown = _visible(seen)
    if (count := _shown(shown)) < len(other) and _shown(turned := _visible(other)) > count:
        shown = turned
    faces = [face for face, _ in shown]
    x0, y0, x1, y1 = bounds_mm(point for face in faces for point in face.outline)
    fit = max((x1 - x0) / WIDEST, (y1 - y0) / TALLEST)
    scale = next((s for s in SCALES if s >= fit - POINT_MM), SCALES[-1])
    letters = {fold: group.letter for group in fold_groups(piece.pattern) for fold in group.folds}
    high = camera is _HIGH_UP
    said = [
        "folded, seen from high up" if high else "folded, isometric",
        unbroken(f"1 : {number(scale)}") + f" along {camera.along}",
    ]
    backs = (left.area for face, left in shown if not face.weather and not face.face.worked)
    said += ["back of the sheet hatched"] if max(backs, default=0.0) >= _LEAST_BACK * scale * scale else []
    if worked:
        said.append("bossed lead cross-hatched; shape only indicated")
    elif proof.unproved:
        said.append("worked corners left out")
    return Folded(
        tuple(_faces(faces, scale)),
        tuple(_letters(shown, letters, scale)),
        tuple(_bar((x0, y0, x1), scale, camera)),
        scale,
        ", ".join(said),
    )


def _axes(piece: Piece, point: SpacePoint) -> SpacePoint:
    """Return right, plumb and towards the viewer as the piece is fitted; a left hand leaves the proof's mirror.

    What lies on a roof or a bench has z up in its space, all else y.
    """
    x, y, z = point
    if piece.pattern.mirrored:
        x = -x
    return (x, z, -y) if piece.pattern.stance is Stance.LYING else (x, y, z)


def _seen(piece: Piece, faces: Sequence[FoldedFace], side: int, camera: _Camera) -> list[_Seen]:
    """Project faces for a viewer who stands in front, above, and to the right (``side`` 1) or left (-1)."""
    found = []

    def projected(ring: Iterable[SpacePoint]) -> tuple[list[Point], list[float]]:
        placed = [camera.seen((side * x, y, z)) for x, y, z in (_axes(piece, corner) for corner in ring)]
        flat = [(round(side * at[0], SURE_DECIMALS), round(at[1], SURE_DECIMALS)) for at, _ in placed]
        return flat, [depth for _, depth in placed]

    for face in faces:
        flat, depths = projected(face.corners)
        holes = tuple(tuple(projected(hole)[0]) for hole in face.holes)
        area = math.fsum(a[0] * b[1] - a[1] * b[0] for a, b in zip(flat, [*flat[1:], flat[0]], strict=True)) / 2
        if abs(area) > AREA_MM2:
            found.append(_Seen(face, tuple(flat), holes, _plane(flat, depths), area > 0))
    return found


def _plane(flat: Sequence[Point], depths: Sequence[float]) -> tuple[float, float, float]:
    """Return depth as a + b x + c y through the corners of a plane face, by its areas seen along each axis."""
    corners = [(x, y, depth) for (x, y), depth in zip(flat, depths, strict=True)]
    sides = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    across, up, ahead = (
        math.fsum((p[i] - q[i]) * (p[j] + q[j]) for p, q in sides) for i, j in ((1, 2), (2, 0), (0, 1))
    )
    b, c = -across / ahead, -up / ahead
    return math.fsum(z - b * x - c * y for x, y, z in corners) / len(corners), b, c


def _visible(faces: Sequence[_Seen]) -> list[tuple[_Seen, BaseGeometry]]:
    """Order faces so that each comes after those that it covers, and give with each what is left of it to be seen."""
    from shapely import difference, union_all

    over = _meetings(faces)
    behind: dict[int, set[int]] = {i: set() for i in range(len(faces))}
    beside: dict[int, set[int]] = {i: set() for i in range(len(faces))}
    for i, j, at in over:
        ahead = faces[i].depth(at) > faces[j].depth(at)
        front, back = (i, j) if ahead else (j, i)
        behind[front].add(back)
        beside[i].add(j)
        beside[j].add(i)
    try:
        order = list(TopologicalSorter(behind).static_order())
    except CycleError:  # faces that cover each other in a ring: the mean depth must do
        order = sorted(behind, key=lambda i: math.fsum(map(faces[i].depth, faces[i].outline)) / len(faces[i].outline))
    found: list[tuple[_Seen, BaseGeometry]] = []
    later = set(order)
    for i in order:
        later.discard(i)
        # On a grid, since faces of worked lead may be seen all but edge-on, and share edges in space with others.
        cover = [faces[j].shape for j in sorted(beside[i] & later)]
        left: BaseGeometry = faces[i].shape
        if cover:
            left = difference(left, union_all(cover, grid_size=POINT_MM), grid_size=POINT_MM)
        found.append((faces[i], left))
    return found


def _meetings(faces: Sequence[_Seen]) -> list[tuple[int, int, Point]]:
    """Return each two faces that lie over each other as they are seen, by their places, with a point of both."""
    import shapely

    shapes = [face.shape for face in faces]
    boxes = [shape.bounds for shape in shapes]
    pairs = [
        (i, j)
        for i, j in combinations(range(len(faces)), 2)
        if boxes[i][0] < boxes[j][2]
        and boxes[j][0] < boxes[i][2]
        and boxes[i][1] < boxes[j][3]
        and boxes[j][1] < boxes[i][3]
    ]
    if not pairs:
        return []
    both = shapely.intersection([shapes[i] for i, _ in pairs], [shapes[j] for _, j in pairs], grid_size=POINT_MM)
    found = []
    for (i, j), part, area in zip(pairs, both, shapely.area(both), strict=True):
        if area > AREA_MM2:
            at = part.representative_point()
            found.append((i, j, (at.x, at.y)))
    return found


def _shown(faces: Sequence[tuple[_Seen, BaseGeometry]]) -> int:
    """Count the faces of which enough is seen."""
    return sum(left.area >= _LEAST_SHOWN * face.shape.area - AREA_MM2 for face, left in faces)


def _faces(faces: Sequence[_Seen], scale: float) -> Iterable[Ink]:
    from shapely import Polygon

    for face in faces:
        rings = tuple(tuple((x / scale, -y / scale) for x, y in ring) for ring in (face.outline, *face.holes))
        side = "weather" if face.weather else "back"
        look = BOSSED if face.face.worked else side
        yield Contours(rings, f"folded {look}", closed=True, data=(("face", face.face.name), ("side", side)))
        for turn in {"weather": (), "back": (60.0,), BOSSED: (30.0, -30.0)}[look]:
            yield Contours(tuple(hatching(Polygon(rings[0], rings[1:]), _HATCH, turn)), "back-hatch")


def _letters(faces: Sequence[tuple[_Seen, BaseGeometry]], letters: dict[Fold, str], scale: float) -> Iterable[Ink]:
    """Letter each folded part where there is room for its fold's letter on what is seen of it."""
    from shapely import Polygon, maximum_inscribed_circle

    for face, left in faces:
        parts = [part for part in getattr(left, "geoms", [left]) if isinstance(part, Polygon) and part.area]
        letter = letters.get(face.face.fold) if face.face.fold else None
        if letter is None or not parts:
            continue
        part = max(parts, key=lambda part: part.area)
        middle = part.centroid
        room = part.boundary.distance(middle) if part.contains(middle) else 0.0
        x, y = middle.x, middle.y
        if 2 * room / scale < _LETTER:
            ray = maximum_inscribed_circle(part, tolerance=scale * 0.05)
            (x, y), _ = ray.coords
            room = ray.length
        if 2 * room / scale >= _LETTER:
            at = (x / scale, -y / scale + 0.35 * _LETTER)
            yield Words(letter, at, "letter", _LETTER)


def _bar(extent: tuple[float, float, float], scale: float, camera: _Camera) -> Iterable[Ink]:
    """Draw a scale bar below the piece."""
    x0, y0, x1 = extent
    bar = max((b for b in _BARS if b <= 0.4 * max(x1 - x0, _BARS[0] / 0.4)), default=_BARS[0])
    left, low = x0 / scale, -y0 / scale + 4.0
    end = (left + bar / scale, low)
    yield line("dimension", (left, low), end, bar=number(bar))
    yield line("dimension", (left, low - 1.0), (left, low + 1.0))
    yield line("dimension", (end[0], low - 1.0), (end[0], low + 1.0))
    yield Words(
        f"{number(bar)} mm along {camera.along}", (end[0] + 1.5, low + 0.35 * FIGURE), "figure", FIGURE, "start"
    )
