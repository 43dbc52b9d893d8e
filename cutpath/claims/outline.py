"""Shapes of the user's own against the points that were given; frames of `cutpath.values.proof`."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from cutpath.folding.claim import Claims
from cutpath.folding.flat import Flat, carried, misfit, to_run
from cutpath.folding.gap import Gap
from cutpath.recheck.second import UNLISTED, Second
from cutpath.recheck.sizes import check_outline
from cutpath.values.leadwork import PlainOutline
from cutpath.values.pattern import FoldWay


def _as_given(survey: PlainOutline, flat: Flat) -> list[Gap]:
    """Hold a shape of the user's own to the points, holes, cuts and folds that were given; none is repaired."""
    pattern, size = flat.piece.pattern, float(np.ptp(flat.ring, axis=0).max())
    cut = [point for line in (*survey.holes, *survey.cuts) for point in line]
    cut += [point for start, end, _ in survey.folds for point in (start, end)]
    folds = [points for _, points in flat.folds]
    drawn = [*(carried(line, to_run(flat.piece)) for line in pattern.holes), *folds]
    drawn += [carried(snip.points, to_run(flat.piece)) for snip in pattern.snips]
    there = np.vstack([*drawn, np.empty((0, 2))])
    given = np.array(cut).reshape(-1, 2)
    apart = np.linalg.norm(given[:, None] - there[None], axis=2) if len(cut) and len(there) else np.zeros((1, 1))
    bends = [fold.angle_deg * (1 if fold.way is FoldWay.FORWARD else -1) for fold in pattern.folds]
    same = len(given) == len(there) and bends == [bend for *_, bend in survey.folds]
    return [
        misfit(flat, Polygon(survey.outline), "the outline is not the one that was given"),
        Gap(float(max(apart.min(axis=0).max(), apart.min(axis=1).max())), "a hole, cut or fold is not as it was given"),
        Gap(0.0 if same else size, "holes, cuts and folds are not those that were given"),
    ]


CLAIMS = Claims(
    gaps=lambda _, __: [],
    own_shape=True,
    as_given=_as_given,
)

SECOND = Second("outline", longest=UNLISTED, further=check_outline)
