"""Soakers against wall and roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.folding.claim import Claims
from cutpath.folding.due import Points, both_ends, key
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Gap, boxed, cos_sin, from_to, missing, on, unknown
from cutpath.folding.sides import side_of
from cutpath.folding.space import Array, Folded, axes
from cutpath.recheck.second import Second
from cutpath.recheck.soakers import check_soakers
from cutpath.recheck.written import Asked
from cutpath.values.leadwork import Soakers
from cutpath.values.pattern import FoldUse, PartKind, StationUse
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Chimney, Hand


def soaker_gaps(survey: Soakers, faces: Sequence[Folded]) -> list[Gap]:
    """Compare a soaker: roof leg, upstand, and the head turned down square to the roof."""
    roof, up, down = survey.roof_mm, survey.upstand_mm, survey.turn_down_mm
    shoulder = survey.length_mm - down
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        found.append(boxed(face, "an edge of the soaker is not square"))
        if face.is_still:
            found += [
                on(z, "the roof leg stands off the roof"),
                from_to(x, 0.0, shoulder, f"the roof leg is not {shoulder:g} mm long"),
                from_to(y, 0.0, roof, f"the roof leg is not {roof:g} mm wide"),
            ]
        elif face.use is FoldUse.UPSTAND:
            found += [
                on(y, "the upstand stands off the wall", roof),
                from_to(x, 0.0, survey.length_mm, f"the upstand is not {survey.length_mm:g} mm long"),
                from_to(z, 0.0, up, f"the upstand is not {up:g} mm high"),
            ]
        elif face.use is FoldUse.TURN_DOWN:
            found += [
                on(x, "the turn-down is not square to the roof at the head", shoulder),
                from_to(y, 0.0, roof, f"the turn-down is not {roof:g} mm wide"),
                from_to(z, -down, 0.0, f"the turn-down is not {down:g} mm deep"),
            ]
        else:
            found.append(unknown(face))
    return [*found, *missing(faces, {(FoldUse.UPSTAND, None): up, (FoldUse.TURN_DOWN, None): down})]


def _points(survey: Soakers, flat: Flat, _: Sequence[BedJoint]) -> Points:
    yield from both_ends(flat, FoldUse.UPSTAND)
    yield key(StationUse.START, FoldUse.TURN_DOWN), (survey.length_mm - survey.turn_down_mm, 0.0)


def _places(survey: Soakers, chimney: Chimney, piece: Piece) -> list[Array]:
    """Return where each lies: the first begins at the front arris, each of the others a gauge farther up."""
    if not survey.gauge_mm:
        return []
    c, s = cos_sin(chimney.pitch_deg)
    x0, out = side_of(chimney, right=piece.hand is not Hand.LEFT)
    up, off = (0.0, s, -c), (0.0, c, s)
    starts = [number * survey.gauge_mm for number in range(survey.count)]
    edge = x0 + out * survey.roof_mm
    return [axes(up, (-out, 0, 0), off, (edge, start * s, -start * c)) for start in starts]


def _handed(asked: Asked, _: Soakers) -> bool:
    """Tell whether more is said than a number of soakers."""
    return not (asked.own.get("count") is not None and asked.own is asked.entry and "hands" not in asked.own)


CLAIMS = Claims(
    gaps=lambda survey, piece: soaker_gaps(survey, piece.faces),
    points=_points,
    places=_places,
    goes_past=True,
)

SECOND = Second(
    "soakers",
    own_lead=True,
    longest="",
    sizes=(("roof", "roof_mm", "soaker_roof"),),
    handed=_handed,
    parts=lambda soakers: {PartKind.SOAKER: soakers.count},
    survey=check_soakers,
)
