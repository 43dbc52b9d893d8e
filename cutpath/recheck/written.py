"""What the user wrote for one detail, found again in the tables of its job file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from cutpath.errors import Finding
from cutpath.values.fact import Fact
from cutpath.values.survey import D, Detail, Job

Table = Mapping[str, Any]

AT_FAULT = "Do not cut it: the arithmetic is at fault, not your survey. Report it with the job file."
NEAR = 1e-6
"""Figures worked out in two ways may differ by this: arithmetic only, in mm or degrees."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One detail and what was written for it.

    Attributes
    ----------
    job : table
        The whole file, as checked: lengths in mm, pitches in degrees; of details only what was written.
    entry : table
        The entry of the file in which the detail stands: its own table, or that of a chimney.
    own : table
        The detail's own table; empty where a chimney has none for it.
    inside : tuple of str and int
        Keys from the entry to the own table, such as ``soakers``, with places in lists counted from 1.
    practice : mapping of str to Fact
        The figures that stand for what was left out.
    before : Detail or None
        The one before it in the job, where it lies above a change of pitch.
    """

    detail: Detail
    job: Table
    entry: Table
    own: Table
    inside: tuple[str | int, ...]
    practice: Mapping[str, Fact]
    before: Detail | None = None

    @property
    def of_chimney(self) -> bool:
        """Whether the detail is a part of a chimney."""
        return bool(self.entry.get("kind") == "chimney")

    @property
    def severe(self) -> bool:
        """Whether the job says that it is severely exposed."""
        return bool(self.job.get("exposure") == "severe")

    def fact(self, name: str) -> float:
        """Return a figure of practice."""
        return self.practice[name].value

    def own_or(self, key: str, fact: str) -> float:
        """Return what was written for a key, else the figure of practice."""
        value = self.own.get(key)
        return self.fact(fact) if value is None else float(value)

    def own_or_entry(self, key: str) -> Any:  # noqa: ANN401 - whatever the file holds there
        """Return what was written for a key in the own table, else in the entry."""
        value = self.own.get(key)
        return self.entry.get(key) if value is None else value

    def step_table(self) -> Table:
        """Return the table of the steps to which a part above a change of pitch, or soakers, belong."""
        if self.inside[-1:] == ("soakers",):
            return _inside(self.entry, self.inside[:-1])
        return _inside(self.entry, self.inside[:-2]) if self.above else self.own

    @property
    def above(self) -> int | None:
        """Which part above a change of pitch the detail is, counted from 1; None where it is none."""
        place = self.inside[-1] if self.inside[-2:-1] == ("above",) else None
        return place if isinstance(place, int) else None

    @property
    def goes_on_above(self) -> bool:
        """Whether another part of the run lies above this one, beyond a change of pitch."""
        return (self.above or 0) < len(self.step_table().get("above") or ())

    def pitch_deg(self) -> float | None:
        """Return the pitch that governs: the own table's, its entry's, else the job's."""
        for table in (self.own, self.step_table(), self.entry, self.job):
            if table.get("pitch") is not None:
                return float(table["pitch"])
        return None

    def differs(self, key: str, found: float, wanted: float, unit: str = "mm") -> list[Finding]:
        """Say where a figure of the survey is not the one that follows from what was written."""
        if abs(found - wanted) <= NEAR * max(1.0, abs(wanted)):
            return []
        return [self.wrong(key, f"{found:.6g} {unit}", f"worked out a second time: {wanted:.6g} {unit}")]

    def wrong(self, key: str, found: str, accepted: str) -> Finding:
        """Make a finding at a key of the detail."""
        return Finding("CP419", self.detail.head.origin.key(key), found, accepted, AT_FAULT)


def asked(job: Job, detail: Detail, practice: Mapping[str, Fact]) -> Asked | None:
    """Find what was written for a detail; None for a job that was read from no file."""
    _, place, *inside = detail.head.origin.keys or ("", 0)
    entry = job.written.get("detail", {}).get(place)
    if entry is None:
        return None
    before = None
    if "above" in inside:
        before = next((one for one, other in pairwise(job.details) if other is detail), None)
    return Asked(detail, job.written, entry, _inside(entry, inside), tuple(inside), practice, before)


def of_kind(kind: type[D], parts: Iterable[Asked]) -> Iterator[tuple[Asked, D]]:
    """Yield those parts whose surveys are of one kind, each with its survey."""
    yield from ((part, part.detail) for part in parts if isinstance(part.detail, kind))


def _inside(entry: Table, keys: Sequence[str | int]) -> Table:
    table: Any = entry
    for key in keys:
        if table is None or (isinstance(key, str) and not isinstance(table, Mapping)):
            return {}
        table = table[key - 1] if isinstance(key, int) else table.get(key)
    return table if isinstance(table, Mapping) else {}
