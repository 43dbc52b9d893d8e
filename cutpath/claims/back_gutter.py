"""Back gutters against stack and roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely import box
from shapely.geometry.base import BaseGeometry

from cutpath.folding.claim import Claims, InSpace
from cutpath.folding.due import DueMark, Points, arrises, both_ends, key, of_folds, open_edge
from cutpath.folding.flat import Flat
from cutpath.folding.gap import (
    Ends,
    Gap,
    Wanted,
    at_ends,
    corners_at,
    cos_sin,
    from_to,
    missing,
    on,
    square_ends,
    unknown,
    upstand,
)
from cutpath.folding.on_roofs import up_roof
from cutpath.folding.sides import level_mm, side_of
from cutpath.folding.space import Array, Folded, axes
from cutpath.recheck.counts import side_gussets
from cutpath.recheck.second import UNLISTED, Second
from cutpath.recheck.sizes import check_fillet, width_of_stack
from cutpath.values.leadwork import BackGutter, CornerWork
from cutpath.values.pattern import OVER_FILLET, FoldUse, MarkKind, MarkUse, PartKind, Side, StationUse
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Chimney


def back_gutter_gaps(survey: BackGutter, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a back gutter: upstand on the back face, level sole, up the roof over the fillet, returns."""
    c, s = cos_sin(survey.pitch_deg)
    up, width, sole, side = survey.upstand_mm, survey.width_mm, survey.sole_mm, survey.side_mm
    arrises: dict[Side | None, float] = {Side.LEFT: 0.0, Side.RIGHT: width}
    # A welded corner's wing lies on the roof beside the sole, in one with the part up the roof.
    wing = sole if survey.corners is CornerWork.WELDED and side and any(ends) else 0.0
    back, whole = _run(survey, ends)
    roof: dict[FoldUse | None, tuple[str, Array, Array]] = {}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [*upstand(face, up), from_to(x, *back, "the upstand does not reach from end to end")]
        elif face.use is FoldUse.WALL:
            found += [
                on(y, "the sole is not level"),
                from_to(z, 0.0, sole, f"the sole is not {sole:g} mm wide"),
                from_to(x, *back, "the sole does not reach from end to end"),
                square_ends(face, "an end of the sole is not square"),
            ]
        elif face.use is FoldUse.ARRIS and face.side in arrises:
            found += [
                on(x, f"the return at the {face.name} stands off the side", arrises[face.side]),
                from_to(z, -side, 0.0, f"the return at the {face.name} does not reach {side:g} mm"),
                from_to(y, 0.0, up, f"the return at the {face.name} is not {up:g} mm high"),
            ]
        elif face.use in (FoldUse.SOLE, *OVER_FILLET):
            roof[face.use] = (face.name, (z - sole) * c + y * s, y * c - (z - sole) * s)
            found += [
                from_to(x, *whole, "the part up the roof does not reach from end to end"),
                square_ends(face, "an end up the roof is not square"),
            ]
        else:
            found.append(unknown(face))
    parts = [roof[use] for use in (FoldUse.SOLE, *OVER_FILLET) if use in roof]
    found += up_roof(parts, survey.fillet, survey.up_roof_mm, -wing)
    wanted: Wanted = {(FoldUse.WALL, None): sole, (FoldUse.SOLE, None): sole}
    return [*found, *missing(faces, wanted | at_ends(FoldUse.ARRIS, (side, side), ends))]


def _run(survey: BackGutter, ends: Ends) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ends of a length, between the arrises and past them; two lengths meet over a roll in the middle.

    The lower one goes on from its foot of the roll by the undercloak, the upper one from the other by the overcloak.
    """
    middle, half = survey.width_mm / 2, survey.roll_core_mm / 2
    low = 0.0 if ends[0] else middle + half - survey.roll_over_mm
    high = survey.width_mm if ends[1] else middle - half + survey.roll_under_mm
    past = survey.side_mm
    return (low, high), (low - past if ends[0] else low, high + past if ends[1] else high)


def back_gutter_gusset_gaps(survey: BackGutter, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the side of the stack, between the level of the sole and the roof, and to the roof below.

    Seen square to the stack's side: x down the roof from where sole and roof meet, y square to the roof.
    """
    c, s = cos_sin(survey.pitch_deg)
    sole, level = survey.sole_mm, survey.sole_mm + survey.side_mm
    on_side = [(0.0, 0.0), (sole, 0.0), (level / c, 0.0), (level * c, level * s), (sole * c, sole * s)]
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [
                on(z, "the gusset stands off the side"),
                corners_at(face, on_side, "the gusset misses its opening"),
            ]
        elif face.use is FoldUse.ROOF_LINE:
            found += [
                on(y, "the gusset's foot stands off the roof"),
                square_ends(face, "an end of the gusset's foot is not square"),
                from_to(z, 0.0, survey.side_mm, f"the gusset's foot is not {survey.side_mm:g} mm wide"),
                from_to(x, sole, level / c, "the gusset's foot misses its length"),
            ]
        else:
            found.append(unknown(face))
    return [*found, *missing(faces, {(FoldUse.ROOF_LINE, None): survey.side_mm})]


def _gaps(survey: BackGutter, piece: InSpace) -> list[Gap]:
    if piece.part is PartKind.GUSSET:
        return back_gutter_gusset_gaps(survey, piece.faces)
    return back_gutter_gaps(survey, piece.faces, piece.ends)


def _marks(survey: BackGutter, flat: Flat) -> Iterator[DueMark]:
    if flat.part is PartKind.GUSSET:
        return
    if survey.corners is CornerWork.BOSSED and survey.side_mm:
        for side, x, _ in arrises(survey.width_mm, flat):
            yield DueMark(MarkKind.BOSSING, np.array([[x, 0.0], [x, -survey.sole_mm]]), side=side)
    if flat.ends == (True, True):
        return
    half = survey.roll_core_mm / 2
    x = survey.width_mm / 2 + (-half if flat.ends[0] else half)
    use = MarkUse.UNDERCLOAK if flat.ends[0] else MarkUse.OVERCLOAK
    points = [[x, -survey.sole_mm - survey.up_roof_mm], [x, survey.upstand_mm]]
    yield DueMark(MarkKind.ROLL, np.array(points), use)


def _points(survey: BackGutter, flat: Flat, _: Sequence[BedJoint]) -> Points:
    yield from _gusset_points(survey, flat) if flat.part is PartKind.GUSSET else _own_points(flat)


def _own_points(flat: Flat) -> Points:
    yield from open_edge(flat, float(flat.ring[:, 1].min()))
    yield from both_ends(flat, FoldUse.SOLE)
    yield from both_ends(flat, FoldUse.WALL)
    yield from of_folds(flat, FoldUse.ARRIS, ends=(StationUse.END,))
    for use in OVER_FILLET:
        yield from of_folds(flat, use)
    for mark, points in flat.marks:
        if mark.kind is MarkKind.ROLL:
            yield key(StationUse.ROLL_FOOT), points[np.argmin(points[:, 1])]


def _gusset_points(survey: BackGutter, flat: Flat) -> Points:
    c, s = cos_sin(survey.pitch_deg)
    level = survey.sole_mm + survey.side_mm
    yield key(StationUse.GUSSET_TIP), (0.0, 0.0)
    yield from both_ends(flat, FoldUse.ROOF_LINE)
    yield key(StationUse.GUSSET_ARRIS), (survey.sole_mm * c, survey.sole_mm * s)
    yield key(StationUse.GUSSET_HEEL), (level * c, level * s)


def _sheet(survey: BackGutter, flat: Flat) -> BaseGeometry:
    left, right = flat.ends_or(-survey.side_mm, survey.width_mm + survey.side_mm)
    return box(left, -survey.sole_mm - survey.up_roof_mm, right, survey.upstand_mm)


def _worked_about(survey: BackGutter) -> list[tuple[float, float]]:
    return [(x, y) for x in (0.0, survey.width_mm) for y in (0.0, -survey.sole_mm)]


def _places(survey: BackGutter, chimney: Chimney, piece: Piece) -> list[Array]:
    c, s = cos_sin(chimney.pitch_deg)
    level, depth = level_mm(survey, chimney), chimney.depth_mm
    if piece.pattern.part is not PartKind.GUSSET:
        return [axes((-1, 0, 0), (0, 1, 0), (0, 0, -1), (chimney.width_mm, level, -depth))]
    # Seen from beside the stack with the roof rising to the left; its mirror image is the other side's.
    x0, out = side_of(chimney, right=piece.pattern.mirrored)
    return [axes((0, -s, c), (0, c, s), (out, 0, 0), (x0, level, -depth - survey.sole_mm))]


def _worked_down(survey: BackGutter) -> bool:
    return survey.corners is CornerWork.BOSSED and survey.side_mm > 0


CLAIMS = Claims(
    gaps=_gaps,
    window=lambda survey: (0.0, survey.width_mm),
    over_a_roll=True,
    gussets_in_pairs=True,
    marks=_marks,
    points=_points,
    sheet=_sheet,
    worked_about=_worked_about,
    places=_places,
    worked_down=_worked_down,
)

SECOND = Second(
    "back_gutter",
    longest=UNLISTED,
    sizes=(
        ("width", "width_mm", ""),
        ("side", "side_mm", "gutter_side"),
        ("upstand", "upstand_mm", "gutter_upstand"),
        ("sole", "sole_mm", "gutter_sole"),
        ("up_roof", "up_roof_mm", "gutter_up_roof"),
        ("turn_over", "turn_over_mm", "gutter_turn_over"),  # from here on no key of a job
        ("roll_core", "roll_core_mm", "roll_core"),
        ("roll_under", "roll_under_mm", "roll_undercloak"),
        ("roll_over", "roll_over_mm", "roll_overcloak"),
    ),
    settled=frozenset({"upstand"}),
    parts=side_gussets,
    further=lambda asked, gutter: check_fillet(asked, gutter.fillet, "gutter_fillet_foot"),
    on_stack=lambda asked, gutter: width_of_stack(asked, gutter.width_mm),
)
