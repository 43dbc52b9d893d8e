"""What an output folder says of each of its files, and the file itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from cutpath.values.held import Held
from cutpath.values.pattern import Point


@dataclass(frozen=True, slots=True)
class StrokeTally(Held):
    """How many lines of one role a file holds, and how long they are together."""

    count: int
    length_mm: float

    def told(self) -> dict[str, float]:
        """Return it for JSON."""
        return {"count": self.count, "length_mm": self.length_mm}


@dataclass(frozen=True, slots=True)
class OnMachine(Held):
    """What a machine's file runs.

    Attributes
    ----------
    name : str
        The machine's.
    set_up : tuple of str
        Cautions before it is started.
    number, of : int
        Which frame of the sheet, counted from 1, and how many there are.
    start_mm, end_mm : float
        The frame along the sheet.
    register_mm : tuple of Point
        Marks by which the sheet is laid on anew.
    sheet_seconds : int or None
        Of the whole sheet; None where the profile has no figures for it.
    """

    name: str
    set_up: tuple[str, ...]
    number: int
    of: int
    start_mm: float
    end_mm: float
    register_mm: tuple[Point, ...]
    sheet_seconds: int | None


@dataclass(frozen=True, slots=True)
class Listed:
    """One file of the folder as it is listed.

    Attributes
    ----------
    path : str
        In the folder, parts joined by ``/``.
    form : str
        Its format.
    roll : str or None
        The roll that it is of.
    piece : str or None
        The piece whose pattern it is.
    roles : mapping of str to str
        Where each role is found in it: a layer, group, pen or head.
    strokes : mapping of str to StrokeTally, or None
        Of each role; None of a file that is no drawing.
    machine : OnMachine or None
        What a machine's own file runs.
    set_up_of : str
        The machine whose set-up sheet it is; else empty.
    says : str
        What is in it, for the index; its form where that is all.
    """

    path: str
    form: str
    roll: str | None = None
    piece: str | None = None
    roles: Mapping[str, str] = field(default_factory=dict)
    strokes: Mapping[str, StrokeTally] | None = None
    machine: OnMachine | None = None
    set_up_of: str = ""
    says: str = ""

    def told(self) -> dict[str, object]:
        """Return what the manifest says of it besides path and hash, for JSON."""
        head = {"roles": dict(self.roles), "format": self.form, "roll": self.roll}
        own = {} if self.piece is None else {"piece": self.piece}
        if self.set_up_of:
            return {**head, "set_up_of": self.set_up_of}
        if self.strokes is None:
            return {**head, **own}
        strokes = {"strokes": {role: tally.told() for role, tally in self.strokes.items()}}
        run = self.machine
        if run is None:
            return {**head, **own, "units": "mm", **strokes}
        return {
            **head,
            "units": "mm",
            "machine": run.name,
            "set_up": list(run.set_up),
            "frame": {"number": run.number, "of": run.of, "start_mm": run.start_mm, "end_mm": run.end_mm},
            "register_mm": [list(at) for at in run.register_mm],
            **strokes,
            "sheet_seconds": run.sheet_seconds,
            **own,
        }


@dataclass(frozen=True, slots=True)
class File:
    """A file of the folder in memory, and what is said of it."""

    listed: Listed
    data: bytes

    @property
    def path(self) -> str:
        """Its path in the folder."""
        return self.listed.path


def by_path(files: Iterable[File]) -> dict[str, bytes]:
    """Return what files hold by their paths, in their order."""
    return {file.path: file.data for file in files}
