"""Several jobs cut together: pieces, rolls and the account of them."""

from __future__ import annotations

from dataclasses import dataclass

from cutpath.errors import Finding
from cutpath.values.nest import Nest, NestedRoll, NestProblem
from cutpath.values.piece import Piece
from cutpath.values.survey import Job, Lead


@dataclass(frozen=True, slots=True)
class MaterialNest:
    """One lead code's problem, its nest, and what common practice would have drawn (None where it cannot)."""

    lead: Lead
    problem: NestProblem
    nest: Nest
    common_practice: Nest | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One roll that is cut: ``id`` such as ``code4-01`` names its drawings and listings."""

    id: str
    lead: Lead
    nested: NestedRoll


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything that the reports and drawings of one run are made from.

    ``sheets`` lists every roll of every material in ascending code and then in nest order.
    """

    jobs: tuple[Job, ...]
    pieces: tuple[Piece, ...]
    materials: tuple[MaterialNest, ...]
    sheets: tuple[Sheet, ...]
    findings: tuple[Finding, ...]
    seed: int
    version: str
