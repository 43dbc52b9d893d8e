"""Cover flashings against their wall; frames of `cutpath.values.proof`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpath.errors import Finding
from cutpath.folding.claim import Claims, everywhere
from cutpath.folding.due import Points, of_folds, open_edge, turned_in
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Ends, Gap, at_ends, cos_sin, from_to, in_joint, missing, on, reach, unknown
from cutpath.folding.on_walls import depth_behind, mitred, turned_in_round
from cutpath.folding.space import Array, Folded, axes
from cutpath.recheck.second import Second
from cutpath.recheck.written import Asked
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.pattern import FoldUse, Side
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Chimney


def cover_gaps(survey: CoverFlashing, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a length of cover flashing, with its returns where it goes round the arrises."""
    c, s = cos_sin(survey.slope_deg)
    cover, length, side = survey.cover_mm, survey.length_mm, survey.return_mm
    arrises: dict[Side | None, float] = {Side.LEFT: 0.0, Side.RIGHT: length}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        up = y * c - x * s  # square to the chase
        if face.is_still:
            lean = np.minimum(np.abs(np.roll(x, -1) - x), np.abs(np.roll(up, -1) - up))
            found += [
                on(z, "the flashing stands off the wall"),
                from_to(up, 0.0, cover, f"the flashing does not cover {cover:g} mm"),
                on(lean, "an edge is neither plumb nor along the chase"),
                reach(x, (0.0, length * c), ends, f"the flashing does not reach from end to end ({length:g} mm)"),
            ]
        elif face.use is FoldUse.ARRIS and face.side in arrises and side:
            found += [
                on(x, f"the return at the {face.name} stands off the side", arrises[face.side]),
                from_to(z, -side, 0.0, f"the return at the {face.name} does not reach {side:g} mm"),
                from_to(up, 0.0, cover, f"the return at the {face.name} does not cover {cover:g} mm"),
            ]
        elif face.fold is not None and face.fold.is_turn_in:
            depth = depth_behind(face, length)
            found += in_joint(face.name, up - cover, depth, survey.turn_in_mm)
            if side:
                found.append(mitred(face, depth, survey.turn_in_mm, length, side))
        else:
            found.append(unknown(face))
    wanted = at_ends(FoldUse.ARRIS, (side, side), ends) | {(FoldUse.TURN_IN, None): survey.turn_in_mm}
    return [*found, *missing(faces, wanted), *turned_in_round(faces, survey.turn_in_mm)]


def _window(survey: CoverFlashing) -> tuple[float, float]:
    return (0.0, survey.length_mm) if survey.return_mm else everywhere(survey)


def _points(_: CoverFlashing, flat: Flat, __: Sequence[BedJoint]) -> Points:
    yield from open_edge(flat, 0.0)
    yield from turned_in(flat)
    yield from of_folds(flat, FoldUse.ARRIS)


def _places(survey: CoverFlashing, chimney: Chimney, _: Piece) -> list[Array]:
    if chimney.back is None:
        return []
    depth = chimney.depth_mm
    free_edge = chimney.back.height_mm(depth) - survey.cover_mm
    return [axes((-1, 0, 0), (0, 1, 0), (0, 0, -1), (chimney.width_mm, free_edge, -depth))]


CLAIMS = Claims(
    gaps=lambda survey, piece: cover_gaps(survey, piece.faces, piece.ends),
    tilt_deg=lambda survey: survey.slope_deg,
    window=_window,
    levels=lambda survey: (0.0, survey.cover_mm),
    points=_points,
    places=_places,
)


def _returns(asked: Asked, cover: CoverFlashing) -> list[Finding]:
    """Hold returns to what was written, else see that there are none; a chimney settles its own."""
    written = asked.own.get("returns")
    usual = cover.return_mm if asked.of_chimney else 0.0
    return asked.differs("returns", cover.return_mm, usual if written is None else float(written))


SECOND = Second(
    "cover_flashing",
    sizes=(
        ("length", "length_mm", ""),
        ("cover", "cover_mm", "cover_flashing_cover"),
        ("turn_in", "turn_in_mm", "turn_in"),
        ("slope", "slope_deg", ""),
    ),
    settled=frozenset({"cover"}),
    handed=lambda _, cover: bool(cover.slope_deg),
    further=_returns,
    run_mm=lambda cover: cover.length_mm + 2 * cover.return_mm,
    on_stack=lambda asked, cover: asked.differs("width", cover.length_mm, float(asked.entry["width"])),
    on_wall=True,
)
