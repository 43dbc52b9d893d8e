"""What a shop has settled once and for all, so that nobody types it each time, and who settled it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from cutpath.values.formats import Format


class Origin(StrEnum):
    """Who settled a thing; the first of them that says anything of it counts."""

    COMMAND = "command line"
    LIST = "list of batches"
    BESIDE = "beside the jobs"
    USER = "your own"
    BUILT_IN = "built in"


@dataclass(frozen=True, slots=True)
class Setting:
    """One thing settled: its value as it was written, by whom, and in which file, None where in none."""

    key: str
    value: object
    origin: Origin
    file: Path | None = None


@dataclass(frozen=True, slots=True)
class Choices:
    """Everything that may be settled, ready for use.

    Attributes
    ----------
    rolls, practice : str or None
        A name or a file; None: what comes with the tool.
    machines : tuple of str
    gap_mm : float
    formats : frozenset of Format
    stock : str or None
        The stock file to draw on, empty for the usual one; None: draw on none.
    prices : str or None
        The file of the shop's prices; None: there are none.
    settled : tuple of Setting
        Where each of them comes from, in the order above.
    """

    rolls: str | None
    practice: str | None
    machines: tuple[str, ...]
    gap_mm: float
    formats: frozenset[Format]
    stock: str | None
    prices: str | None
    settled: tuple[Setting, ...]

    def told(self) -> dict[str, Mapping[str, object]]:
        """Return value and origin of each, for the manifest."""
        return {s.key: {"value": s.value, "from": s.origin.value} for s in self.settled}

    def by_file(self) -> dict[Path, list[str]]:
        """Return the settings files that settled anything, each with the keys that it did."""
        files = dict.fromkeys(s.file for s in self.settled if s.file is not None)
        return {file: [s.key for s in self.settled if s.file == file] for file in files}

    def named(self) -> dict[str, str]:
        """Return the files that a settings file names, each with that file and the key."""
        used = {"rolls": self.rolls, "practice": self.practice, "stock": self.stock, "prices": self.prices}
        return {
            name: f"{setting.file}: {setting.key}"
            for setting in self.settled
            if setting.file is not None and (name := used.get(setting.key))
        }

    def files(self) -> tuple[str, ...]:
        """Return every name that may be that of a file which is read."""
        return tuple(name for name in (self.rolls, self.practice, *self.machines) if name)
