"""Aprons against stack and roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from cutpath.errors import Finding, Severity
from cutpath.folding.claim import Claims, InSpace
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
    unknown,
    upstand,
    within,
)
from cutpath.folding.on_walls import depth_behind, mitred, on_falling_roof, turned_in_round
from cutpath.folding.space import Array, Folded
from cutpath.recheck.counts import side_gussets
from cutpath.recheck.second import Second
from cutpath.recheck.sizes import width_of_stack
from cutpath.recheck.slopes import check_cover
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import Apron, CornerWork
from cutpath.values.pattern import FoldUse, MarkKind, PartKind, Side
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Chimney


def apron_gaps(survey: Apron, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a length of apron; its returns stand on the roof, which rises at the pitch beside the stack."""
    c, s = cos_sin(survey.pitch_deg)
    up, width, side = survey.upstand_mm, survey.width_mm, survey.side_mm
    arrises: dict[Side | None, float] = {Side.LEFT: 0.0, Side.RIGHT: width}
    back = min(side, up * c / s)  # a return ends where the roof beside the stack has risen to its joint
    profile: list[PlaneLine] = [((0.0, 0.0), (c, s)), ((0.0, up), (1.0, 0.0)), ((0.0, 0.0), (0.0, 1.0))]
    profile.append(((back, 0.0), (0.0, 1.0)))
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [
                *upstand(face, up),
                reach(x, (0.0, width), ends, "the upstand does not reach from arris to arris"),
            ]
        elif face.use is FoldUse.FRONT:
            found += on_falling_roof(face, survey.pitch_deg, survey.cover_mm)
            past = side if survey.corners is CornerWork.WELDED else 0.0  # beside bossed corners the lead is worked
            found.append(reach(x, (-past, width + past), ends, "the cover does not reach from end to end"))
        elif face.use is FoldUse.ARRIS and face.side in arrises:
            found += [
                on(x, f"the return at the {face.name} stands off the side", arrises[face.side]),
                from_to(z, -back, 0.0, f"the return at the {face.name} does not reach {back:.1f} mm"),
                within(y, 0.0, up, f"the return at the {face.name} reaches above its joint"),
                from_to(y * c + z * s, 0.0, up * c, f"the return at the {face.name} does not stand on the roof"),
                edges_on(np.column_stack([-z, y]), profile, f"the return at the {face.name} has a stray edge"),
            ]
        elif face.fold is not None and face.fold.is_turn_in:
            depth = depth_behind(face, width)
            found += in_joint(face.name, y - up, depth, survey.turn_in_mm)
            if side:
                found.append(mitred(face, depth, survey.turn_in_mm, width, back))
        else:
            found.append(unknown(face))
    wanted: Wanted = {(FoldUse.FRONT, None): survey.cover_mm, (FoldUse.TURN_IN, None): survey.turn_in_mm}
    wanted |= at_ends(FoldUse.ARRIS, (side, side), ends)
    return [*found, *missing(faces, wanted), *turned_in_round(faces, survey.turn_in_mm)]


def apron_gusset_gaps(survey: Apron, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the roof beside a return: a rectangle, the side's length by the return's reach up the slope."""
    c, s = cos_sin(survey.pitch_deg)
    up_slope = min(survey.side_mm / c, survey.upstand_mm / s)
    found = []
    for face in faces:
        sides = np.linalg.norm(np.roll(face.corners, -1, axis=0) - face.corners, axis=1)
        wanted = np.sort([survey.side_mm, up_slope] * 2)
        off = up_slope
        if len(sides) == len(wanted):
            across = float(np.linalg.norm(face.corners[2] - face.corners[0]))
            off = max(float(np.abs(np.sort(sides) - wanted).max()), abs(across - math.hypot(*sides[:2])))
        found.append(Gap(off, "the gusset misses its opening"))
    return found


def _gaps(survey: Apron, piece: InSpace) -> list[Gap]:
    if piece.part is PartKind.GUSSET:
        return apron_gusset_gaps(survey, piece.faces)
    return apron_gaps(survey, piece.faces, piece.ends)


def _marks(survey: Apron, flat: Flat) -> Iterator[DueMark]:
    """Yield the roof line beside the stack: it rises from the foot of the arris, to the joint or the side's end."""
    if survey.corners is not CornerWork.BOSSED or not survey.side_mm:
        return
    c, s = cos_sin(survey.pitch_deg)
    reach = min(survey.side_mm, survey.upstand_mm * c / s)
    for side, x, out in arrises(survey.width_mm, flat):
        yield DueMark(MarkKind.BOSSING, np.array([[x, 0.0], [x + out * reach, reach * s / c]]), side=side)


def _points(_: Apron, flat: Flat, __: Sequence[BedJoint]) -> Points:
    if flat.part is PartKind.GUSSET:
        return
    yield from open_edge(flat, float(flat.ring[:, 1].min()))
    yield from both_ends(flat, FoldUse.FRONT)
    yield from turned_in(flat)
    yield from of_folds(flat, FoldUse.ARRIS)


def _sheet(survey: Apron, flat: Flat) -> BaseGeometry:
    left, right = flat.ends_or(-survey.side_mm, survey.width_mm + survey.side_mm)
    sheet = box(left, -survey.cover_mm, right, survey.upstand_mm)
    return sheet.union(_turned_in(survey, left, right))


def _turned_in(survey: Apron, left: float, right: float) -> BaseGeometry:
    """Return the turn-ins, of the front from arris to arris, of each side to where the roof has risen to the joint."""
    up, t, width = survey.upstand_mm, survey.turn_in_mm, survey.width_mm
    c, s = cos_sin(survey.pitch_deg)
    back = min(survey.side_mm, up * c / s)
    parts = []
    stretches = [(max(left, 0.0), min(right, width))]
    stretches += [(-back, 0.0)] * (left < 0.0) + [(width, width + back)] * (right > width)
    arrises = [0.0] * (left < 0.0) + [width] * (right > width)
    for start, end in stretches:
        at = np.array([[start, up], [end, up], [end, up + t], [start, up + t]])
        at[2, 0] -= t if end in arrises else 0.0
        at[3, 0] += t if start in arrises else 0.0
        parts.append(Polygon(at))
    return shapely.union_all(parts)


def _beside_joint(survey: Apron, chimney: Chimney) -> Iterator[Finding]:
    """Warn where the user chose its upstand, so that it ends at no joint."""
    joint = chimney.front
    if abs(survey.upstand_mm - joint.y_mm) > FOLD_DEVIATION_MM:
        yield Finding(
            "CP412",
            survey.head.origin.key("upstand"),
            f"an apron's upstand of {survey.upstand_mm:g} mm; joint {joint.number} stands {joint.y_mm:g} mm up",
            f"{joint.y_mm:g} mm, so that the apron turns into the joint of the returns",
            "leave upstand out, or cut a chase for the apron",
            Severity.WARNING,
        )


def _places(_: Apron, __: Chimney, piece: Piece) -> list[Array]:
    """Return its place; none for its gussets, which lie on the roof."""
    return [] if piece.pattern.part is PartKind.GUSSET else [np.eye(4)]


CLAIMS = Claims(
    gaps=_gaps,
    window=lambda survey: (0.0, survey.width_mm),
    levels=lambda survey: (-survey.cover_mm, survey.upstand_mm),
    marks=_marks,
    points=_points,
    sheet=_sheet,
    worked_about=lambda survey: [(0.0, 0.0), (survey.width_mm, 0.0)],
    places=_places,
    beside_joint=_beside_joint,
)

SECOND = Second(
    "apron",
    sizes=(
        ("width", "width_mm", ""),
        ("side", "side_mm", "apron_side"),
        ("upstand", "upstand_mm", "upstand"),
        ("turn_in", "turn_in_mm", "turn_in"),
    ),
    settled=frozenset({"upstand"}),
    parts=side_gussets,
    further=check_cover,
    run_mm=lambda apron: apron.width_mm + 2 * apron.side_mm,
    on_stack=lambda asked, apron: width_of_stack(asked, apron.width_mm),
    on_wall=True,
)
