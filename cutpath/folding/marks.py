"""Marks against the survey and the neighbours: a line in the wrong place sends lead to the wrong place.

A water line stands at its height over the whole length; a lap mark lies where the neighbour really ends; the lines
of bossed work, of a wood-cored roll and of a seam lie where wall, roof and roll have them. Each mark must be one of
these, and none may be missing.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from shapely import LineString, hausdorff_distance

from cutpath.folding.claim import claims_of
from cutpath.folding.due import DueMark
from cutpath.folding.flat import Flat, reach_mm
from cutpath.folding.gap import Gap
from cutpath.folding.space import Array
from cutpath.folding.tongue import TongueEnd
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import MarkKind, MarkUse, PartKind
from cutpath.values.survey import Detail

HELD = frozenset({MarkKind.WATER_LINE, MarkKind.LAP, MarkKind.BOSSING, MarkKind.ROLL, MarkKind.CENTRE})


def mark_gaps(detail: Detail, flat: Flat, low: Flat | None, high: Flat | None, over: TongueEnd | None) -> list[Gap]:
    """Hold the marks of a piece to their places.

    Parameters
    ----------
    low, high : Flat or None
        The neighbours in its run.
    over : TongueEnd or None
        Where a tongue from above a change of pitch ends on this run.
    """
    claims = claims_of(detail)
    wanted = [*claims.marks(detail, flat), *_laps(detail, flat, low, high), *claims.change(detail, flat, high, over)]
    size = float(np.ptp(flat.ring, axis=0).max())
    found: list[Gap] = []
    met: set[int] = set()
    alone = over is None and claims.lapped_mm is not None and claims.lapped_mm(detail) > 0
    for mark, points in flat.marks:
        if mark.kind not in HELD or (alone and mark.use is MarkUse.TONGUE_ABOVE):
            continue  # the run above a change of pitch was refused: it says itself why
        alike = [at for at, line in enumerate(wanted) if line.is_of(mark)]
        apart = {at: _apart(points, wanted[at].points) for at in alike}
        met |= {at for at, mm in apart.items() if mm <= FOLD_DEVIATION_MM}
        off = sorted([*apart.values(), size, size])[mark.use is MarkUse.BOTH_LENGTHS]  # which stands for two lines
        found.append(Gap(off, f"the mark '{mark.name}' lies in the wrong place"))
    found += [
        Gap(size, f"the mark of the {line.words} is missing")
        for at, line in enumerate(wanted)
        if line.needed and at not in met
    ]
    return found


def _apart(one: Array, other: Array) -> float:
    return float(hausdorff_distance(LineString(one), LineString(other)))


def _laps(detail: Detail, flat: Flat, low: Flat | None, high: Flat | None) -> Iterator[DueMark]:
    """Yield the real ends of the neighbours, as far as they lie on this piece.

    A corner piece lies whole under the run, which begins at its own lower end: nothing is marked on it.
    """
    if flat.part is PartKind.CORNER_PIECE:
        return
    if low is None and high is None:
        return
    levels = sorted(set(claims_of(detail).levels(detail)))
    for other, use, end in ((low, MarkUse.LENGTH_BELOW, 1), (high, MarkUse.LENGTH_ABOVE, -1)):
        if other is None:
            continue
        lines = [[reach_mm(other.ring, height, end), height] for height in levels]
        inside = all((reach_mm(flat.ring, height, end) - x) * end > FOLD_DEVIATION_MM for x, height in lines)
        yield DueMark(MarkKind.LAP, np.array(lines), use, needed=inside)
