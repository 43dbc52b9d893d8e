"""What surveying one job needs at hand: the checked file, the data of the trade, and the findings so far."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from cutpath.errors import Finding, Severity
from cutpath.families.tables import CoursingTable, CoveringTable
from cutpath.profiles import Practice, Sizes
from cutpath.values.nest import Roll
from cutpath.values.survey import Lead


class JobKeys(Protocol):
    """What the job file says of the whole job."""

    @property
    def exposure(self) -> str:
        """Sheltered, moderate or severe."""

    @property
    def pitch(self) -> float | None:
        """Of the roof, in degrees."""

    @property
    def covering(self) -> CoveringTable | str | None:
        """Of the roof, or its name."""

    @property
    def coursing(self) -> Mapping[str, CoursingTable]:
        """Of walls, by their names."""

    @property
    def lead(self) -> object:
        """Codes by use, an attribute to each."""

    @property
    def longest(self) -> float | None:
        """The user's own limit for one length, in mm."""


@dataclass(frozen=True, slots=True)
class Spare:
    """Joints of a coursing, in the list ``readings``, that a run leaves above its upper end at ``top_mm``."""

    joints: int
    of: int
    readings: str
    top_mm: float


class LeftOutError(Exception):
    """A detail cannot be surveyed; the findings already say why."""


@dataclass(frozen=True, slots=True)
class Desk:
    """One job under survey.

    Attributes
    ----------
    file : str
        Name for findings.
    folder : Path
        Where the file lies; drawings are looked for beside it.
    job : JobKeys
    lost : frozenset of str
        Keys such as ``pitch`` or ``coursing.front`` that were left out because they are at fault already.
    practice, lead, rolls, sizes
        The data of the trade.
    findings : list of Finding
        Grows while the job is surveyed.
    reads : list of Path
        Files beside the job's own that were read; grows likewise.
    spare : dict of int to Spare
        Of each coursing by the id of its table, what the highest of its runs leaves; grows likewise.
    """

    file: str
    folder: Path
    job: JobKeys
    lost: frozenset[str]
    practice: Practice
    lead: Mapping[int, Lead]
    rolls: tuple[Roll, ...]
    sizes: Sizes
    findings: list[Finding] = field(default_factory=list)
    reads: list[Path] = field(default_factory=list)
    spare: dict[int, Spare] = field(default_factory=dict)

    def finding(
        self,
        code: str,
        path: str,
        found: str,
        accepted: str,
        remedy: str,
        severity: Severity = Severity.FAULT,
    ) -> Finding:
        """Make a finding at a key path of this file."""
        return Finding(code, self.where(path), found, accepted, remedy, severity)

    def where(self, path: str) -> str:
        """Return a key path of this file as findings name it."""
        return f"{self.file}: {path}"

    def add(self, findings: Iterable[Finding]) -> None:
        """Add findings, each once."""
        self.findings.extend(f for f in dict.fromkeys(findings) if f not in self.findings)

    def tell(
        self, code: str, path: str, found: str, accepted: str, remedy: str, severity: Severity = Severity.FAULT
    ) -> None:
        """Add a finding at a key path of this file; the survey goes on."""
        self.add([self.finding(code, path, found, accepted, remedy, severity)])

    def refuse(self, code: str, path: str, found: str, accepted: str, remedy: str) -> LeftOutError:
        """Add a fault, and return the error to be raised by what cannot go on without it."""
        return self.refused(self.finding(code, path, found, accepted, remedy))

    def refused(self, fault: Finding) -> LeftOutError:
        """Add a fault that was found, and return the error to be raised by what cannot go on without it."""
        self.add([fault])
        return LeftOutError(fault.where)

    def fact(self, name: str) -> float:
        """Return the figure of a rule or practice by its name."""
        return self.practice[name].value
