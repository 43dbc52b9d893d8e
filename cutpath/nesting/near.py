"""Of nests that cost about the same, the one that is least work to fetch and cut.

Whoever cuts fetches rolls, sets each width up, and makes one straight cut right across for each bundle. One of these
less is worth a little lead, and all of them together no more than a small share of it: at that, lead is equal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from cutpath.nesting.model import Bundle
from cutpath.nesting.rolls import fewest_bins
from cutpath.nesting.state import COUNTED, Stock

EQUAL_LEAD = 0.002  # share of the cost within which two nests cost the same
_WORTH = 0.0003  # share of the cost that a roll, a width or a cut less is worth
_MOST = 30  # nests that are remembered and looked at, the cheapest first


def handling(stock: Stock, bundles: Sequence[Bundle]) -> int:
    """Return how many rolls and widths bundles take, and straight cuts right across."""
    lengths: dict[int, list[int]] = {}
    for bundle in bundles:
        lengths.setdefault(bundle.roll, []).append(bundle.length)
    rolls = 0
    for roll, mine in lengths.items():
        endless = stock.capacity[roll] > COUNTED
        rolls += len(fewest_bins(sorted(mine, reverse=True), int(stock.length[roll]))) if endless else 1
    return rolls + len({int(stock.width[roll]) for roll in lengths}) + len(bundles)


@dataclass(slots=True)
class Near:
    """Of the nests come across that cost no more than the cheapest and `EQUAL_LEAD` of it, the cheapest in order."""

    stock: Stock
    found: list[tuple[float, list[Bundle]]] = field(default_factory=list)

    def add(self, cost: float, bundles: list[Bundle]) -> None:
        """Remember a nest where it is near the cheapest."""
        near = sorted((*self.found, (cost, bundles)), key=lambda one: one[0])[:_MOST]
        most = near[0][0] + EQUAL_LEAD * abs(near[0][0])
        self.found = [one for one in near if one[0] <= most]

    def easiest(self) -> list[Bundle]:
        """Return the nest that is cheapest with the work of it; of those alike, the one that costs least lead."""
        worth = _WORTH * abs(self.found[0][0])
        return min(self.found, key=lambda one: (one[0] + worth * handling(self.stock, one[1]), one[0]))[1]
