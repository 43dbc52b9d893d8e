"""What the user wrote for one detail, found again in the tables of its job file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cutpath.errors import Finding
from cutpath.values.fact import Fact
from cutpath.values.survey import Detail, Job

Table = Mapping[str, Any]

AT_FAULT = "Do not cut it: the arithmetic is at fault, not your survey; report it with the job file."
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
    inside : tuple of str
        Keys from the entry to the own table, such as ``soakers``.
    practice : mapping of str to Fact
        The figures that stand for what was left out.
    """

    detail: Detail
    job: Table
    entry: Table
    own: Table
    inside: tuple[str, ...]
    practice: Mapping[str, Fact]

    @property
    def of_chimney(self) -> bool:
        """Whether the detail is a part of a chimney."""
        return bool(self.entry.get("kind") == "chimney")

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
        last = self.inside[-1] if self.inside else ""
        if last == "soakers" or last.startswith("above["):
            return _inside(self.entry, self.inside[:-1])
        return self.own

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
    place = re.match(r"detail\[(\d+)\]", detail.head.origin.path)
    entries = job.written.get("detail", {})
    if place is None or int(place[1]) not in entries:
        return None
    entry = entries[int(place[1])]
    inside = tuple(part for part in detail.head.origin.path[place.end() :].split(".") if part)
    return Asked(detail, job.written, entry, _inside(entry, inside), inside, practice)


def _inside(entry: Table, keys: tuple[str, ...]) -> Table:
    table: Any = entry
    for key in keys:
        name, _, place = key.rstrip("]").partition("[")
        table = table.get(name)
        if place and table is not None:
            table = table[int(place) - 1]
        if not isinstance(table, Mapping):
            return {}
    return table if isinstance(table, Mapping) else {}
