"""What a shop chooses for one nest."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import partial

from cutpath.units import MM2_PER_M2
from cutpath.values.held import Held
from cutpath.values.machine import Machine, Stuff
from cutpath.values.nest import Blank, Budget, NestProblem, Objective, OffcutRule, Roll, mean_price

CODE_4_KG_M2 = 20.41
"""Mass of code 4 in kg/m2 (BS EN 12588, second-hand; `profiles/lead`)."""


@dataclass(frozen=True, slots=True)
class Settings(Held):
    """What a shop chooses for one nest, apart from its rolls.

    Attributes
    ----------
    gap_mm, edge_trim_mm : float
        Between pieces, and along the roll's edges and cross-cuts.
    offcuts : OffcutRule
    objective : Objective
    opening : float
        What it costs to open a roll, for least bought: money where every roll that may be bought has a price, else kg.
    budget : Budget
        Work, or a ceiling on the seconds, of the search over all materials.
    seed : int
    frame_mm : float or None
        No piece stands across two stretches of this length, for machines that feed the roll on; None: anywhere.
    choose_lengths : bool
        Runs are divided as suits the rolls; else evenly.
    either_face : bool
        Pieces may lie face down on the roll, for lead with two faces alike.
    hidden_side : bool
        All pieces lie face down, so that what is drawn on them stands on the side that is hidden once they are fitted.
    """

    gap_mm: float = 0.0
    edge_trim_mm: float = 0.0
    offcuts: OffcutRule = field(default_factory=OffcutRule)
    objective: Objective = Objective.DRAWN
    opening: float = 0.0
    budget: Budget = field(default_factory=partial(Budget, seconds=20.0))
    seed: int = 1
    frame_mm: float | None = None
    choose_lengths: bool = True
    either_face: bool = False
    hidden_side: bool = False

    _over_zero = frozenset({"frame_mm"})
    _from_zero = frozenset({"opening"})

    def __post_init__(self) -> None:
        both = self.either_face and self.hidden_side
        wrong = self.wrong("either_face, hidden_side", (True, True), "one of the two: all face down, or as it suits")
        self.hold([wrong] if both else [])

    @property
    def may_turn_over(self) -> bool:
        """Whether pieces may lie face down, be it all of them."""
        return self.either_face or self.hidden_side

    def on(self, tools: Iterable[Machine], *, in_frames: bool) -> Settings:
        """Return the settings with at least the machines' gap and trim, and their frames where that is asked.

        A profile may ask for frames by itself. A machine for card does not touch the rolls and changes nothing.
        """
        lead = [tool for tool in tools if tool.stuff is not Stuff.CARD]
        frames = [tool.bed.length_mm - tool.bed.overlap_mm for tool in lead if in_frames or tool.keep_in_frame]
        return replace(
            self,
            gap_mm=max([self.gap_mm, *(tool.gap_mm for tool in lead)]),
            edge_trim_mm=max([self.edge_trim_mm, *(tool.edge_trim_mm for tool in lead)]),
            frame_mm=min([*frames, *([] if self.frame_mm is None else [self.frame_mm])], default=None),
        )

    def asking(
        self, blanks: Iterable[Blank], rolls: Iterable[Roll], gap_mm: float = 0.0, mass_kg_m2: float = CODE_4_KG_M2
    ) -> NestProblem:
        """Return the problem of blanks on rolls by these settings, with ``gap_mm`` between them where that is more.

        ``mass_kg_m2`` is of their lead; of plain outlines nobody knows it, and they count as code 4.
        """
        rolls = tuple(rolls)
        price = mean_price(rolls)
        return NestProblem(
            blanks=tuple(blanks),
            rolls=rolls,
            gap_mm=max(gap_mm, self.gap_mm),
            edge_trim_mm=self.edge_trim_mm,
            offcuts=self.offcuts,
            objective=self.objective,
            opening_mm2=self.opening / (mass_kg_m2 / MM2_PER_M2 if price is None else price),
        )
