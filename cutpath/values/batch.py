"""Several jobs cut together: pieces, rolls and the account of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from cutpath.errors import Finding
from cutpath.values.fact import Fact
from cutpath.values.nest import Nest, NestedRoll, NestProblem
from cutpath.values.piece import Piece
from cutpath.values.proof import Proof
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

    ``sheets`` lists every roll of every material in ascending code and then in nest order; ``practice`` holds the
    rules by which the jobs were judged, the shop's own among them; ``proofs`` what folding up each piece has shown;
    ``divided`` the numbers of runs that the nest divided otherwise than evenly.
    """

    jobs: tuple[Job, ...]
    pieces: tuple[Piece, ...]
    materials: tuple[MaterialNest, ...]
    sheets: tuple[Sheet, ...]
    findings: tuple[Finding, ...]
    seed: int
    version: str
    practice: Mapping[str, Fact] = field(default_factory=dict)
    proofs: tuple[Proof, ...] = ()
    divided: tuple[str, ...] = ()
