"""Several jobs cut together: pieces, rolls and the account of them.

What is large is left out where a value is shown: a notebook shows what a cell ends with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.values.fact import Fact
from cutpath.values.nest import Division, Nest, NestedRoll, NestProblem, OffcutRule, RunChoice
from cutpath.values.piece import Piece
from cutpath.values.proof import Proof
from cutpath.values.settings import Settings
from cutpath.values.survey import Job, Lead


@dataclass(frozen=True, slots=True)
class Planned:
    """Jobs developed and split evenly, ready for the nest: no fault stands in the way.

    ``settings`` are those that it was planned with, and is nested with. ``choices`` are the runs that the nest may
    divide otherwise, each with its lead; ``divided`` those that it did, and at which joints.
    ``beside`` are pieces of the jobs that are not cut this time.
    """

    jobs: tuple[Job, ...] = field(repr=False)
    pieces: tuple[Piece, ...] = field(repr=False)
    problems: tuple[tuple[Lead, NestProblem], ...] = field(repr=False)
    proofs: tuple[Proof, ...] = field(repr=False)
    findings: tuple[Finding, ...]
    practice: Mapping[str, Fact] = field(repr=False)
    settings: Settings
    choices: tuple[tuple[Lead, RunChoice], ...] = field(default=(), repr=False)
    divided: Mapping[str, Division] = field(default_factory=dict)
    beside: tuple[Piece, ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class MaterialNest:
    """One lead code's problem, its nest, and what common practice would have drawn (None where it cannot)."""

    lead: Lead
    problem: NestProblem
    nest: Nest
    common_practice: Nest | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One roll that is cut: ``id`` such as ``code4-01`` names its drawings, ``keep`` what is kept of it."""

    id: str
    lead: Lead
    nested: NestedRoll
    keep: OffcutRule = field(default_factory=OffcutRule)

    @property
    def rest_mm(self) -> float:
        """Length beyond the cross-cut, 0 where the whole roll is drawn."""
        rest = self.nested.roll.length_mm - self.nested.drawn_mm
        return rest if rest > POINT_MM else 0.0

    @property
    def rest_kept(self) -> bool:
        """Whether what lies beyond the cross-cut is worth keeping; else it is scrap, as the stock books it."""
        return self.keep.holds(self.nested.roll.width_mm, self.rest_mm)


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything that the reports and drawings of one run are made from.

    ``sheets`` lists every roll of every material in ascending code and then in nest order; ``practice`` holds the
    rules by which the jobs were judged, the shop's own among them; ``proofs`` what folding up each piece has shown;
    ``divided`` the numbers of runs that the nest divided otherwise than evenly, and at which joints; ``beside``
    pieces of the jobs that are not cut this time; ``hidden_side`` that all lie face down, to be lettered and marked so.
    """

    jobs: tuple[Job, ...] = field(repr=False)
    pieces: tuple[Piece, ...] = field(repr=False)
    materials: tuple[MaterialNest, ...] = field(repr=False)
    sheets: tuple[Sheet, ...] = field(repr=False)
    findings: tuple[Finding, ...]
    seed: int
    version: str
    practice: Mapping[str, Fact] = field(default_factory=dict, repr=False)
    proofs: tuple[Proof, ...] = field(default=(), repr=False)
    divided: Mapping[str, Division] = field(default_factory=dict)
    beside: tuple[Piece, ...] = field(default=(), repr=False)
    hidden_side: bool = False

    def with_names(self, names: Mapping[str, str]) -> Batch:
        """Return the batch with rolls of its own named, each one roll: their names by those of their sheets."""

        def named(sheet: Sheet) -> Sheet:
            roll = sheet.nested.roll
            if sheet.id not in names:
                return sheet
            return replace(sheet, nested=replace(sheet.nested, roll=replace(roll, quantity=1, name=names[sheet.id])))

        sheets = tuple(map(named, self.sheets))
        rest = iter(sheets)
        materials = tuple(
            replace(m, nest=replace(m.nest, rolls=tuple(next(rest).nested for _ in m.nest.rolls)))
            for m in self.materials
        )
        return replace(self, materials=materials, sheets=sheets)


@dataclass(frozen=True, slots=True)
class Made:
    """Every file by its path in the folder, the batch with all findings, a line on each sheet's machine work, the name.

    The name of a run says what it made: the same files bear the same name.
    """

    files: dict[str, bytes] = field(repr=False)
    batch: Batch = field(repr=False)
    machine_words: tuple[str, ...]
    run: str
