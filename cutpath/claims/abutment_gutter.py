"""Gutters beside a wall against wall and roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutpath import sure
from cutpath.folding.claim import Claims
from cutpath.folding.gap import Ends, Gap, from_to, missing, on, unknown, upstand
from cutpath.folding.on_roofs import along, ends_of_all_folds
from cutpath.folding.space import Folded
from cutpath.recheck.second import UNLISTED, Second, always
from cutpath.values.leadwork import AbutmentGutter
from cutpath.values.pattern import FoldUse


def abutment_gutter_gaps(survey: AbutmentGutter, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a gutter beside a wall, square to the slope: y square to the roof, z out of the wall."""
    sole, edge = survey.sole_mm, survey.edge_mm
    found = along(faces, survey.length_mm, ends)
    for face in faces:
        _, y, z = face.corners.T
        if face.is_still:
            found += upstand(face, survey.upstand_mm)
        elif face.use is FoldUse.WALL:
            found += [on(y, "the sole stands off the roof"), from_to(z, 0.0, sole, f"the sole is not {sole:g} mm wide")]
        elif face.use is FoldUse.OUTER_EDGE:
            found += [
                on(z, "the outer edge is not square to the roof", sole),
                from_to(y, 0.0, edge, f"the outer edge is not {edge:g} mm high"),
            ]
        else:
            found.append(unknown(face))
    return [*found, *missing(faces, {(FoldUse.WALL, None): sole, (FoldUse.OUTER_EDGE, None): edge})]


CLAIMS = Claims(
    gaps=lambda survey, piece: abutment_gutter_gaps(survey, piece.faces, piece.ends),
    levels=lambda survey: (-survey.sole_mm - survey.edge_mm, survey.upstand_mm),
    points=ends_of_all_folds,
)

SECOND = Second(
    "abutment_gutter",
    longest=UNLISTED,
    sizes=(
        ("length", "length_mm", ""),
        ("upstand", "upstand_mm", "abutment_gutter_upstand"),
        ("sole", "sole_mm", "abutment_gutter_sole"),
        ("edge", "edge_mm", "abutment_gutter_edge"),
    ),
    handed=always,
    run_mm=lambda gutter: gutter.length_mm,
    rise=lambda _, gutter: sure.sin(math.radians(gutter.pitch_deg)),
)
