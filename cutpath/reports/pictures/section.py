"""Flashings and gutters cut square across: how their parts stand to each other, to wall and to roof.

Frame: x out of the wall, or to the right of a valley's middle, y plumb from the sole or the middle; of a gutter
beside a wall, whose section stands square to the slope, y is square to the roof.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import FIGURE, angle, between, hatching
from cutpath.paper.ink import Ink, Line, Words, line
from cutpath.paper.markup import number
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.plane import bounds_mm, moved, to_run_frame, turned
from cutpath.tolerances import FILE_DECIMALS, POINT_MM
from cutpath.values.pattern import FlatPattern, FoldWay, PartKind, Point, Polyline
from cutpath.values.piece import Piece
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    CoverFlashing,
    PipeSlate,
    TiltingFillet,
    TopAbutment,
    ValleyGutter,
)

_WALL_MM, _BEYOND_MM, _BELOW_MM = 75.0, 60.0, 25.0  # wall shown, roof beyond the lead, wall below it
_ROOM = (150.0, 110.0)  # on paper
_SMALLEST = 5.0  # scale at which a section is made narrow enough to stand beside another picture
_HATCH = 1.6
_OVER = 0.9  # on paper, between a cover and the upstand behind it


def profile(pattern: FlatPattern, from_deg: float) -> tuple[Point, ...]:
    """Walk down a sheet from its upper edge over its level folds, as it lies when they are folded.

    Parameters
    ----------
    from_deg : float
        Direction of the first part, from x; -90 runs down a wall. A fold forward turns to the left of the way.

    Returns
    -------
    tuple of Point
        From (0, 0) on: the upper edge, each fold, the lower edge.
    """
    _, low, _, top = bounds_mm(to_run_frame(pattern, pattern.outline))
    folds: dict[float, float] = {}  # several folds may lie on one level, as turn-ins on three faces
    for fold in pattern.folds:
        (_, y0), (_, y1) = to_run_frame(pattern, (fold.start, fold.end))
        if abs(y0 - y1) <= POINT_MM:
            folds[round(y0, FILE_DECIMALS)] = fold.angle_deg if fold.way is FoldWay.FORWARD else -fold.angle_deg
    corners, way = [(0.0, 0.0)], from_deg
    for (above, _), (below, bend) in pairwise([(top, 0.0), *sorted(folds.items(), reverse=True), (low, 0.0)]):
        x, y = corners[-1]
        reach = above - below
        corners.append((x + reach * math.cos(math.radians(way)), y + reach * math.sin(math.radians(way))))
        way += bend
    return tuple(corners)


def back_section(
    survey: BackGutter, pattern: FlatPattern, cover: CoverFlashing | None, chase_mm: float, *, measured: bool
) -> Elevation:
    """Cut a back gutter and the cover flashing over it.

    Parameters
    ----------
    chase_mm : float
        Height of the cover's joint or chase above the sole.
    measured : bool
        The height is that of a measured joint.
    """
    lead = moved(profile(pattern, -90.0), 0.0, survey.upstand_mm)
    sole, pitch = survey.sole_mm, survey.pitch_deg
    slope = math.tan(math.radians(pitch))
    top = (chase_mm if cover else survey.upstand_mm) + _BEYOND_MM
    far = lead[-1][0] + _BEYOND_MM
    foot = -sole * slope

    def draw(view: View) -> list[Ink]:
        inks: list[Ink] = [*_cut_wall(view, foot - _BELOW_MM, top)]
        inks.append(line("roof-line", *view.all(((0.0, foot), (far, (far - sole) * slope)))))
        inks += _fillet(view, survey.fillet, (sole, 0.0), pitch)
        inks.append(line("section-lead", *view.all(lead), piece="gutter"))
        inks += between(view.at((0.0, 0.0)), view.at((0.0, survey.upstand_mm)), (-6.0, 0.0), _mm(survey.upstand_mm))
        inks += between(view.at((0.0, 0.0)), view.at((sole, 0.0)), (0.0, 9.0 - foot / view.scale), _mm(sole))
        # The sheet goes over the fillet, so that only the way to its foot is straight.
        end = _up(survey.fillet.foot_mm if survey.fillet else survey.up_roof_mm, pitch)
        off = (-math.sin(math.radians(pitch)) * 5.0, -math.cos(math.radians(pitch)) * 5.0)
        inks += between(view.at((sole, 0.0)), view.at((sole + end[0], end[1])), off, _mm(math.hypot(*end)))
        if cover is not None:
            hang = (_OVER, 0.0)
            at = [
                view.at(p) for p in ((-cover.turn_in_mm, chase_mm), (0.0, chase_mm), (0.0, chase_mm - cover.cover_mm))
            ]
            inks.append(line("section-lead", at[0], _off(at[1], hang), _off(at[2], hang), piece="cover"))
            inks += between(at[1], at[2], (8.0, 0.0), _mm(cover.cover_mm))
            inks.append(Words("cover flashing", (at[1][0] + 2.5, at[1][1] - 1.2), "words soft", FIGURE, "start"))
        inks.append(Words("stack", view.at((-_WALL_MM / 2, top + 2.0 * view.scale)), "words soft", FIGURE))
        level = view.at((sole, 0.0))
        inks.append(line("guide", level, (level[0] + 17.0, level[1])))
        inks += angle(level, -pitch, 0.0, 14.0, f"{number(round(pitch, 1))}°")
        return inks

    return fitted(
        draw,
        mirrored=False,
        title=f"{survey.head.label}: section through the back gutter",
        words="wall to the left, roof rising to the right",
        notes=_back_notes(survey, cover, measured=measured),
        room=_ROOM,
        smallest=_SMALLEST,
    )


def _back_notes(survey: BackGutter, cover: CoverFlashing | None, *, measured: bool) -> Iterable[str]:
    yield (
        f"the sole lies level, {_mm(survey.sole_mm * math.tan(math.radians(survey.pitch_deg)))} mm above the roof line "
        "at the wall, on a board"
    )
    if survey.fillet:
        f = survey.fillet
        yield (
            f"tilting fillet {_mm(f.width_mm)} wide and {_mm(f.height_mm)} high, its lower side {_mm(f.foot_mm)} mm "
            "up the roof from the sole"
        )
    if cover:
        yield f"the cover flashing is turned {_mm(cover.turn_in_mm)} mm into its joint and hangs over the upstand"
        if not measured:
            yield "the height of the joint for it was not measured: it is drawn at the top of the upstand"
    yield (
        f"up the roof: {_mm(survey.up_roof_mm)} mm of sheet, measured over the fillet"
        if survey.fillet
        else (f"up the roof: {_mm(survey.up_roof_mm)} mm")
    )


def flashing_section(survey: Apron | TopAbutment, pattern: FlatPattern) -> Elevation:
    """Cut an apron, or a flashing over the top of a lean-to, square to the wall."""
    corners = profile(pattern, 0.0)
    lead = moved(corners, -corners[1][0], survey.upstand_mm - corners[1][1])
    pitch, up, cover = survey.pitch_deg, survey.upstand_mm, survey.cover_mm
    far = lead[-1][0] + _BEYOND_MM
    drop = far * math.tan(math.radians(pitch))

    def draw(view: View) -> list[Ink]:
        inks: list[Ink] = [*_cut_wall(view, -_BELOW_MM, up + _BEYOND_MM)]
        inks.append(line("bed-joint", *view.all(((-_WALL_MM, up), (0.0, up)))))
        inks.append(line("roof-line", *view.all(((0.0, 0.0), (far, -drop)))))
        inks.append(line("section-lead", *view.all(lead), piece="flashing"))
        inks += between(view.at((0.0, 0.0)), view.at((0.0, up)), (6.0, 0.0), _mm(up))
        inks += between(view.at((-survey.turn_in_mm, up)), view.at((0.0, up)), (0.0, -5.0), _mm(survey.turn_in_mm))
        end = view.at((cover * math.cos(math.radians(pitch)), -cover * math.sin(math.radians(pitch))))
        off = (-math.sin(math.radians(pitch)) * 5.0, math.cos(math.radians(pitch)) * 5.0)
        inks += between(view.at((0.0, 0.0)), end, off, _mm(cover))
        corner = view.at((0.0, 0.0))
        inks.append(line("guide", corner, (corner[0] + 22.0, corner[1])))
        inks += angle(corner, 0.0, pitch, 19.0, f"{number(round(pitch, 1))}°")
        return inks

    stack = isinstance(survey, Apron)
    return fitted(
        draw,
        mirrored=False,
        title=f"{survey.head.label}: section through the {'apron' if stack else 'flashing'}",
        words=f"{'stack' if stack else 'wall'} to the left, roof falling to the right",
        notes=(),
        room=_ROOM,
        smallest=_SMALLEST,
    )


def valley_section(survey: ValleyGutter, pattern: FlatPattern) -> Elevation:
    """Cut a valley gutter square to the valley, seen by a person who looks up it."""
    right, left = valley_slopes_deg(survey)  # the second roof lies to the left of a person who looks up
    corners = profile(pattern, 0.0)
    _, low, _, top = bounds_mm(to_run_frame(pattern, pattern.outline))
    at = next(i for i, y in enumerate(_levels(pattern, low, top)) if abs(y) <= POINT_MM)
    (x0, y0), (x1, y1) = corners[at - 1], corners[at]  # the part of the second roof that comes down to the middle
    turn = -left - math.degrees(math.atan2(y1 - y0, x1 - x0))
    lead = turned(moved(corners, -x1, -y1), turn)
    reach = survey.width_mm / 2 + _BEYOND_MM

    def draw(view: View) -> list[Ink]:
        ends = [(-reach * math.cos(math.radians(left)), reach * math.sin(math.radians(left)))]
        ends.append((reach * math.cos(math.radians(right)), reach * math.sin(math.radians(right))))
        inks: list[Ink] = [line("roof-line", *view.all((ends[0], (0.0, 0.0), ends[1])))]
        inks += _fillet(view, survey.fillet, (0.0, 0.0), right)
        inks += _fillet(view, survey.fillet, (0.0, 0.0), left, side=-1)
        inks.append(line("section-lead", *view.all(lead), piece="gutter"))
        for end, slope, way in ((lead[0], left, -1.0), (lead[-1], right, 1.0)):
            foot = _up(survey.fillet.foot_mm if survey.fillet else math.hypot(*end), slope)
            square = math.radians(slope)
            off = (way * math.sin(square) * 5.0, math.cos(square) * 5.0)
            stretch = [(0.0, 0.0), (way * foot[0], foot[1])]
            a, b = view.all(stretch if way > 0 else reversed(stretch))
            inks += between(a, b, off, _mm(math.hypot(*foot)))
        origin = view.at((0.0, 0.0))
        # The angles stand farther out than the dimensions, which lie below the roofs too.
        out = (survey.fillet.foot_mm if survey.fillet else survey.width_mm / 2) / view.scale + 10.0
        inks.append(line("guide", (origin[0] - out - 2.0, origin[1]), (origin[0] + out + 2.0, origin[1])))
        inks += angle(origin, -right, 0.0, out, f"{number(round(right, 1))}°")
        inks += angle(origin, 180.0, 180.0 + left, out, f"{number(round(left, 1))}°")
        return inks

    over = ", measured over its fillet; figured is the foot of the fillet" if survey.fillet else ""
    notes = [f"half of the sheet, {_mm(survey.width_mm / 2)} mm, lies on each roof{over}"]
    notes.append("square to the valley the roofs stand flatter than their pitch: use these angles for a template only")
    return fitted(
        draw,
        mirrored=False,
        title=f"{survey.head.label}: section square to the valley",
        words="looking up the valley",
        notes=notes,
        room=_ROOM,
        smallest=_SMALLEST,
    )


def valley_slopes_deg(survey: ValleyGutter) -> tuple[float, float]:
    """Return the slopes of the first and second roof in a section square to the valley.

    Both roofs contain the valley, so each stands against the section's own level by the angle between its normal and
    the normal of the slope of the valley (derived).
    """
    t = math.radians(survey.true_pitch_deg)

    def across(pitch_deg: float) -> float:
        return math.degrees(math.acos(min(1.0, math.cos(math.radians(pitch_deg)) / math.cos(t))))

    return across(survey.pitch_deg), across(survey.other_pitch_deg)


def abutment_section(survey: AbutmentGutter, pattern: FlatPattern) -> Elevation:
    """Cut a gutter beside a wall square to the slope."""
    lead = moved(profile(pattern, -90.0), 0.0, survey.upstand_mm)
    far = survey.sole_mm + _BEYOND_MM

    def draw(view: View) -> list[Ink]:
        inks: list[Ink] = [*_cut_wall(view, -_BELOW_MM, survey.upstand_mm + _BEYOND_MM)]
        inks.append(line("roof-line", *view.all(((0.0, 0.0), (far, 0.0)))))
        inks.append(line("section-lead", *view.all(lead), piece="gutter"))
        inks += between(view.at((0.0, 0.0)), view.at((0.0, survey.upstand_mm)), (-6.0, 0.0), _mm(survey.upstand_mm))
        inks += between(view.at((0.0, 0.0)), view.at((survey.sole_mm, 0.0)), (0.0, 7.0), _mm(survey.sole_mm))
        edge = view.at((survey.sole_mm, 0.0)), view.at((survey.sole_mm, survey.edge_mm))
        inks += between(*edge, (6.0, 0.0), _mm(survey.edge_mm))
        return inks

    return fitted(
        draw,
        mirrored=False,
        title=f"{survey.head.label}: section square to the slope",
        words="wall to the left, sole on the roof",
        notes=["the outer edge is turned up under the covering", "a cover flashing over the upstand is not part of it"],
        room=_ROOM,
        smallest=_SMALLEST,
    )


def pipe_section(survey: PipeSlate, pieces: Sequence[Piece]) -> Elevation:
    """Cut a lead slate up the roof through the middle of the pipe; x = 0 is its axis."""
    p = math.radians(survey.pitch_deg)
    bore, sleeve = survey.pipe_mm / 2, survey.pipe_mm / 2 + survey.clearance_mm
    top = sleeve * math.tan(p) + survey.sleeve_mm
    low, high = (
        _up(way * (sleeve / math.cos(p) + reach), survey.pitch_deg)
        for way, reach in ((-1, survey.below_mm), (1, survey.above_mm))
    )
    feet = [(-sleeve, -sleeve * math.tan(p)), (sleeve, sleeve * math.tan(p))]
    ids = {piece.pattern.part: piece.id for piece in reversed(pieces)}
    base, tube = ids.get(PartKind.BASE, ""), ids.get(PartKind.SLEEVE, "")

    def draw(view: View) -> list[Ink]:
        beyond = _BEYOND_MM * math.cos(p), _BEYOND_MM * math.sin(p)
        ends = (low[0] - beyond[0], low[1] - beyond[1]), (high[0] + beyond[0], high[1] + beyond[1])
        inks: list[Ink] = [line("roof-line", *view.all(ends))]
        pipe = (((x, -_BEYOND_MM), (x, top + _BEYOND_MM / 2)) for x in (-bore, bore))
        inks += (line("wall-edge", *view.all(side)) for side in pipe)
        for end, foot in zip((low, high), feet, strict=True):
            inks.append(line("section-lead", *view.all((end, foot)), piece=base))
            inks.append(line("section-lead", *view.all((foot, (foot[0], top))), piece=tube))
        off = (math.sin(p) * 5.0, math.cos(p) * 5.0)
        inks += between(view.at(low), view.at(feet[0]), off, _mm(survey.below_mm))
        inks += between(view.at(feet[1]), view.at(high), off, _mm(survey.above_mm))
        inks += between(view.at(feet[1]), view.at((sleeve, top)), (8.0, 0.0), _mm(survey.sleeve_mm))
        lower = survey.sleeve_mm + feet[1][1] - feet[0][1]
        inks += between(view.at(feet[0]), view.at((-sleeve, top)), (-8.0, 0.0), _mm(lower))
        inks += between(view.at((-bore, top)), view.at((bore, top)), (0.0, -7.0), _mm(survey.pipe_mm))
        inks.append(Words(tube, view.at((0.0, top / 2)), "id", FIGURE))
        x, y = view.at(high)
        inks.append(Words(base, (x, y - 3.0), "id", FIGURE))
        return inks

    return fitted(
        draw,
        mirrored=False,
        title=f"{survey.head.label}: section through the lead slate",
        words=f"through the middle of the pipe, roof rising to the right at {number(round(survey.pitch_deg, 1))}°",
        notes=(
            f"the sleeve stands {_mm(survey.clearance_mm)} mm clear of the pipe all round and is welded to the base",
            f"the base reaches {_mm(survey.side_mm)} mm to either side of the sleeve",
        ),
        room=_ROOM,
        smallest=10.0,
    )


def _levels(pattern: FlatPattern, low: float, top: float) -> list[float]:
    ends = [to_run_frame(pattern, (f.start, f.end)) for f in pattern.folds]
    return [top, *sorted((a[1] for a, b in ends if abs(a[1] - b[1]) <= POINT_MM), reverse=True), low]


def _cut_wall(view: View, low: float, high: float) -> Iterable[Ink]:
    """Hatch the wall where it is cut."""
    from shapely import Polygon

    ring: Polyline = ((-_WALL_MM, low), (0.0, low), (0.0, high), (-_WALL_MM, high))
    on_paper = view.all(ring)
    yield Line(tuple(hatching(Polygon(on_paper), _HATCH, 45.0)), "brick")
    yield line("wall-edge", on_paper[1], on_paper[2])


def _fillet(view: View, fillet: TiltingFillet | None, foot: Point, slope_deg: float, side: int = 1) -> Iterable[Ink]:
    """Draw a fillet's section on a roof that rises from ``foot``, to the right or (``side`` -1) to the left."""
    if fillet is None:
        return
    c, s = math.cos(math.radians(slope_deg)), math.sin(math.radians(slope_deg))
    run = fillet.height_mm / math.tan(math.radians(fillet.face_deg))
    corners = ((0.0, 0.0), (run, fillet.height_mm), (fillet.width_mm, 0.0))
    placed = [(fillet.foot_mm + a, b) for a, b in corners]
    ring = [(foot[0] + side * (a * c - b * s), foot[1] + a * s + b * c) for a, b in placed]
    yield line("wood", *view.all(ring), closed=True)


def _up(length_mm: float, pitch_deg: float) -> Point:
    return length_mm * math.cos(math.radians(pitch_deg)), length_mm * math.sin(math.radians(pitch_deg))


def _off(point: Point, by: Point) -> Point:
    return point[0] + by[0], point[1] + by[1]


def _mm(length_mm: float) -> str:
    return millimetres(length_mm)
