"""What a nest costs by its problem's objective, as lead in mm2.

Least drawn: lead drawn, less the worth of kept offcuts. Least bought: whole rolls, less the worth of kept offcuts and
of what stays on a roll, where that is large enough to be kept, and with the price of opening each. Where every roll
that may be bought has a price, lead counts by what it costs: a roll whose lead is as dear as the mean of the list
counts as its area.

Offcuts are owned already, and count for a share of new lead; what stays of them is worth the same share.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum

from cutpath.values.nest import Nest, NestedRoll, NestProblem, Objective, Roll, mean_price

_OWNED_WORTH = 0.9
_OWNED_TOKEN = 0.2


def owned_worth(objective: Objective) -> float:
    """Return what lead of an offcut counts for, as a share of new lead."""
    return _OWNED_TOKEN if objective is Objective.BOUGHT else _OWNED_WORTH


@dataclass(frozen=True, slots=True)
class Outlay:
    """What rolls cost by one problem; see the module.

    Attributes
    ----------
    problem : NestProblem
    mean_price : float or None
        Of a mm2 of the rolls that may be bought; None where some of them have no price.
    """

    problem: NestProblem
    mean_price: float | None

    @classmethod
    def of(cls, problem: NestProblem) -> Outlay:
        """Return the outlay of a problem."""
        return cls(problem, mean_price(problem.rolls))

    def rate(self, roll: Roll) -> float:
        """Return what a mm2 of a roll counts for."""
        if roll.offcut:
            return owned_worth(self.problem.objective)
        if self.problem.objective is Objective.DRAWN or self.mean_price is None or roll.price is None:
            return 1.0
        return roll.price / (roll.width_mm * roll.length_mm) / self.mean_price

    def opened_mm2(self, roll: Roll) -> float:
        """Return what it costs to begin a whole roll, nothing of which is kept."""
        return self.rate(roll) * roll.width_mm * roll.length_mm + self.problem.opening_mm2

    def stays_mm2(self, roll: Roll, rest_mm: float) -> float:
        """Return what the stretch that stays on a roll is worth, 0 where it is too small to be kept."""
        rule = self.problem.offcuts
        if rest_mm <= 0.0 or not rule.holds(roll.width_mm, rest_mm):
            return 0.0
        return self.rate(roll) * rule.worth * roll.width_mm * rest_mm

    def of_roll(self, nested: NestedRoll) -> float:
        """Return what a roll of a nest costs."""
        roll, worth = nested.roll, self.problem.offcuts.worth
        kept = worth * fsum(offcut.area_mm2 for offcut in nested.offcuts)
        if self.problem.objective is Objective.DRAWN:
            return self.rate(roll) * roll.width_mm * nested.drawn_mm - kept
        stays = self.stays_mm2(roll, roll.length_mm - nested.drawn_mm)
        return self.opened_mm2(roll) - stays - self.rate(roll) * kept

    def of_nest(self, found: Nest) -> float:
        """Return what a nest costs."""
        return fsum(self.of_roll(nested) for nested in found.rolls)
