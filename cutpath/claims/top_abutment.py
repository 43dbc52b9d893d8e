"""Flashings over the top of a lean-to against wall and roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from shapely import box
from shapely.geometry.base import BaseGeometry

from cutpath.folding.claim import Claims
from cutpath.folding.due import DueMark, Points, arrises, both_ends, of_folds, open_edge, turned_in
from cutpath.folding.flat import Flat
from cutpath.folding.gap import (
    Ends,
    Gap,
    PlaneLine,
    Wanted,
    at_ends,
    cos_sin,
    edges_on,
    from_to,
    in_joint,
    missing,
    on,
    reach,
    square_ends,
    unknown,
    upstand,
    within,
)
from cutpath.folding.on_walls import on_falling_roof
from cutpath.folding.space import Folded
from cutpath.recheck.second import Second
from cutpath.recheck.sizes import check_stop_ends
from cutpath.recheck.slopes import check_cover
from cutpath.values.leadwork import CornerWork, TopAbutment
from cutpath.values.pattern import FoldUse, MarkKind, Side, StationUse
from cutpath.values.survey import BedJoint


def abutment_gaps(survey: TopAbutment, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a length of a top-edge abutment; its stop ends stand against the walls across its ends."""
    c, s = cos_sin(survey.pitch_deg)
    up, stops = survey.upstand_mm, (survey.stop_left_mm, survey.stop_right_mm)
    run = (0.0, survey.length_mm)
    walls: dict[Side | None, tuple[float, float]] = {Side.LEFT: (run[0], stops[0]), Side.RIGHT: (run[1], stops[1])}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [*upstand(face, up), reach(x, run, ends, "the upstand does not reach from end to end")]
        elif face.use is FoldUse.FRONT:
            found += on_falling_roof(face, survey.pitch_deg, survey.cover_mm)
            found.append(reach(x, run, ends, "the cover does not reach from end to end"))
        elif face.use is FoldUse.STOP_END and face.side in walls:
            (wall, height), off_roof, down = walls[face.side], y * c + z * s, z * c - y * s
            found += [
                on(x, f"the {face.name} stands off its wall", wall),
                within(z, 0.0, math.inf, f"the {face.name} runs into the wall behind"),
                within(off_roof, 0.0, math.inf, f"the {face.name} runs into the roof"),
            ]
            if face.parent is not None and face.parent.use is FoldUse.FRONT:
                found.append(from_to(off_roof, 0.0, height, f"the {face.name} is not {height:g} mm high"))
                if survey.corners is CornerWork.WELDED:
                    profile = np.column_stack([down, off_roof])
                    found.append(edges_on(profile, _stop_lines(survey, height), f"the {face.name} has a stray edge"))
        elif face.use is FoldUse.TURN_IN:
            found += in_joint(face.name, y - up, -z, survey.turn_in_mm)
            found.append(square_ends(face, "an end of the turn-in is not square"))
        else:
            found.append(unknown(face))
    wanted: Wanted = {(FoldUse.FRONT, None): survey.cover_mm, (FoldUse.TURN_IN, None): survey.turn_in_mm}
    wanted |= at_ends(FoldUse.STOP_END, stops, ends)
    return [*found, *missing(faces, wanted)]


def _stop_lines(survey: TopAbutment, height_mm: float) -> list[PlaneLine]:
    """Return the lines that bound a welded stop end: (down the roof, square to it).

    The roof, its top, the end of the cover, plumb in the corner, and down from the head of the upstand to the top
    where the upstand's corner is lower than that.
    """
    c, s = cos_sin(survey.pitch_deg)
    lines: list[PlaneLine] = [((0.0, 0.0), (1.0, 0.0)), ((0.0, height_mm), (1.0, 0.0))]
    lines += [((survey.cover_mm, 0.0), (0.0, 1.0)), ((0.0, 0.0), (-s, c))]
    if survey.upstand_mm * c < height_mm:
        lines.append(((0.0, height_mm), (-survey.upstand_mm * s, survey.upstand_mm * c - height_mm)))
    return lines


def _marks(survey: TopAbutment, flat: Flat) -> Iterator[DueMark]:
    """Yield the plumb line seen on the stop end: it leans up the roof, as far as upstand and stop end go."""
    if survey.corners is not CornerWork.BOSSED:
        return
    c, s = cos_sin(survey.pitch_deg)
    for side, x, out in arrises(survey.length_mm, flat):
        height = survey.stop_left_mm if out < 0 else survey.stop_right_mm
        if height:
            plumb = min(survey.upstand_mm, height / c)
            far = [x + out * plumb * c, plumb * s]
            yield DueMark(MarkKind.BOSSING, np.array([[x, 0.0], far]), side=side)


def _points(_: TopAbutment, flat: Flat, __: Sequence[BedJoint]) -> Points:
    yield from open_edge(flat, float(flat.ring[:, 1].min()))
    yield from both_ends(flat, FoldUse.FRONT)
    yield from turned_in(flat)
    yield from of_folds(flat, FoldUse.STOP_END, ends=(StationUse.START,))


def _sheet(survey: TopAbutment, flat: Flat) -> BaseGeometry:
    left, right = flat.ends_or(-survey.stop_left_mm, survey.length_mm + survey.stop_right_mm)
    up = survey.upstand_mm
    strip = box(max(left, 0.0), up, min(right, survey.length_mm), up + survey.turn_in_mm)
    return box(left, -survey.cover_mm, right, up).union(strip)


CLAIMS = Claims(
    gaps=lambda survey, piece: abutment_gaps(survey, piece.faces, piece.ends),
    levels=lambda survey: (-survey.cover_mm, survey.upstand_mm),
    marks=_marks,
    points=_points,
    sheet=_sheet,
    worked_about=lambda survey: [(0.0, 0.0), (survey.length_mm, 0.0)],
)

SECOND = Second(
    "abutment",
    sizes=(
        ("length", "length_mm", ""),
        ("upstand", "upstand_mm", "upstand"),
        ("turn_in", "turn_in_mm", "turn_in"),
    ),
    run_mm=lambda flashing: flashing.length_mm + flashing.stop_left_mm + flashing.stop_right_mm,
    further=lambda asked, flashing: (*check_stop_ends(asked, flashing), *check_cover(asked, flashing)),
    on_wall=True,
)
