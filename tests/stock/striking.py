"""A stock file whose program dies at a chosen step, and other help for the tests of this folder."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cutpath.output import MANIFEST, Manifest, entry_of, run_id
from cutpath.stock import Delivery, file
from cutpath.values.stock import Cut, Holding, Item, Part, Run, RunState, Spoilt

KG_M2 = {3: 14.97, 4: 20.41, 5: 25.4}
AT = "2026-11-02T08:00:00+00:00"


def result(word: str) -> tuple[str, dict[str, bytes]]:
    """Return a small output folder and the name of its run."""
    files = {name: f"{word}: {name}".encode() for name in ("report.html", "rolls/a.dxf")}
    entries = tuple(entry_of(name, data, {}) for name, data in files.items())
    name = run_id("0.1.0", 1, entries)
    return name, {**files, MANIFEST: Manifest("0.1.0", 1, entries, name).text().encode()}


class Died(BaseException):
    """The program is no more."""


def _die() -> None:
    raise Died


class Mortal(sqlite3.Connection):
    """A connection whose program dies before or after one of its statements, and does nothing after that.

    Nothing is waited for until it is safe on the disk: no power goes here, and it takes most of the time.
    """

    left: int | None = None
    after = False
    taken = 0
    die = staticmethod(_die)

    def execute(self, sql, *arguments):
        return self._counted(super().execute, sql, *arguments)

    def executemany(self, sql, *arguments):
        return self._counted(super().executemany, sql, *arguments)

    def _counted(self, real, *arguments):
        if "synchronous" in arguments[0]:
            return real("PRAGMA synchronous = OFF")
        Mortal.taken += 1
        if Mortal.left is None:
            return real(*arguments)
        Mortal.left -= 1
        if Mortal.left > 0:
            return real(*arguments)
        if Mortal.left == 0 and Mortal.after:
            real(*arguments)
        return Mortal.die()


@contextmanager
def mortal() -> Iterator[type[Mortal]]:
    """Let every stock file be opened by a program that may die."""

    def connect(path, **keys):
        return sqlite3.connect(path, factory=Mortal, **keys)

    class Module:
        """What `file` uses of the module."""

        def __getattr__(self, name):
            return connect if name == "connect" else getattr(sqlite3, name)

    Mortal.left, Mortal.taken = None, 0
    file.sqlite3 = Module()
    try:
        yield Mortal
    finally:
        file.sqlite3 = sqlite3
        Mortal.left, Mortal.die = None, staticmethod(_die)


def rolls(code: int = 4, width_mm: float = 450.0, length_mm: float = 6000.0, **more: object) -> Delivery:
    return Delivery(code, KG_M2[code], width_mm, length_mm, **more)  # type: ignore[arg-type]


def cut_of(item: Item, drawn_mm: float, *, pieces: float = 0.8, kept: tuple[tuple[float, float], ...] = ()) -> Cut:
    """Cut ``pieces`` of what is drawn of an item."""
    left = item.length_mm - drawn_mm
    return Cut(
        f"code{item.code}-01",
        item.number,
        item.code,
        KG_M2[item.code],
        item.width_mm,
        item.length_mm,
        drawn_mm,
        pieces * drawn_mm * item.width_mm,
        kept,
        left >= 300.0,
    )


def run_of(
    name: str,
    *cuts: Cut,
    out: Path | str = "/no/such/folder",
    replaces: str = "",
    parts: tuple[Part, ...] = (),
    spoilt: tuple[Spoilt, ...] = (),
) -> Run:
    return Run(name, RunState.MAKING, AT, str(out), cuts, ("Invented terrace",), replaces, parts, spoilt)


def spoilt_of(run: str, cut: Cut, each_mm2: float, count: int = 1, piece: str = "IT-A1") -> Spoilt:
    """Copies of a piece of a run that are cut once more."""
    return Spoilt(run, piece, count, cut.code, cut.mass_kg_m2, each_mm2)


def kg(holding: Holding) -> float:
    return sum(item.mass_kg for item in holding.items.values())
