"""Lanes that a search has come across, from which others are put together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from cutpath.nesting.model import Bundle, Lane, Model

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(slots=True)
class Pool:
    """Lanes that the search has come across: of each set of blanks those that are narrow or short."""

    model: Model
    lanes: dict[tuple[int, ...], list[Lane]] = field(default_factory=dict)

    def add(self, bundles: Iterable[Bundle]) -> None:
        """Remember the lanes of ``bundles``."""
        for lane in (lane for bundle in bundles for lane in bundle.lanes):
            known = self.lanes.setdefault(tuple(sorted(blanks_in(self.model, lane).tolist())), [])
            if not any(o.height <= lane.height and o.length <= lane.length for o in known):
                known[:] = [o for o in known if o.height < lane.height or o.length < lane.length]
                known.append(lane)

    def join(self, other: Pool) -> None:
        """Take over the lanes of another pool."""
        self.add(Bundle((lane,)) for known in other.lanes.values() for lane in known)

    def best(self, most: int) -> list[Lane]:
        """Return the ``most`` lanes that waste least."""

        def use(lane: Lane) -> float:
            return float(self.model.area[blanks_in(self.model, lane)].sum()) / (float(lane.height) * lane.length)

        return sorted((lane for known in self.lanes.values() for lane in known), key=use, reverse=True)[:most]


def blanks_in(model: Model, lane: Lane) -> NDArray[np.int64]:
    """Return the blank of each form of a lane, in its order."""
    blanks: NDArray[np.int64] = model.kinds.form_blank[lane.codes >> 1]
    return blanks
