"""Setting-out points against what they name: the ends of folds, the corners of the sheet, the feet of risers.

Folds and corners themselves are proved elsewhere; here every point must lie where its name says, each that the family
has must be there, and a point of any other name must lie on some corner of the pattern.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpath.folding.claim import claims_of
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Gap
from cutpath.folding.space import Array
from cutpath.values.pattern import Station, StationKey
from cutpath.values.survey import BedJoint, Detail


def point_gaps(detail: Detail, flat: Flat, used: Sequence[BedJoint]) -> list[Gap]:
    """Hold the setting-out points of a piece to their places; ``used`` are the joints that its run turns into."""
    there: dict[StationKey, list[tuple[Station, Array]]] = {}
    for station, at in flat.stations:
        there.setdefault(station.what, []).append((station, at))
    size = float(np.ptp(flat.ring, axis=0).max())
    found: list[Gap] = []
    for key, wanted in claims_of(detail).points(detail, flat, used):
        points = there.pop(key, [])
        off = max((float(np.hypot(*(at - np.asarray(wanted)))) for _, at in points), default=size)
        lies = f"'{points[0][0].name}' is out of its place" if points else f"'{_words(key)}' is missing"
        found.append(Gap(off, f"the setting-out point {lies}"))
    corners = flat.corners
    for points in there.values():
        off = max(float(np.linalg.norm(corners - at, axis=1).min()) for _, at in points)
        found.append(Gap(off, f"the setting-out point '{points[0][0].name}' lies on no corner of the pattern"))
    return found


def _words(key: StationKey) -> str:
    """Say in words which point is meant."""
    use, fold, number, side = key
    return ", ".join(str(part) for part in (use.value, fold.value if fold else "", number, side) if part)
