"""What a shop holds, what was done with it, and the lead and money that went from one account to another.

Terminology
-----------
Item: one roll, part roll or kept offcut; it never changes its lead, it only goes and others come of it.
Label: what is written on the lead, such as S0017; never given twice.
Movement: one thing that was done, with postings that sum to zero in lead and in money.

Lead is counted in whole micrograms and money in whole millionths, so that sums close to the last digit.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from cutpath.units import MICROGRAMS_PER_KG, MILLIONTHS, mm_text


class Kind(StrEnum):
    """What an item is: as it was bought, begun, or a rectangle that was left."""

    ROLL = "roll"
    PART = "part roll"
    OFFCUT = "offcut"


class Account(StrEnum):
    """Where lead comes from and goes to."""

    BOUGHT = "bought"
    SHELF = "shelf"
    PIECES = "pieces"
    SCRAP = "scrap pile"
    COLLECTED = "collected"
    HAND = "taken by hand"
    MEASURED = "measured anew"
    WEIGHED = "weighed otherwise"


class Verb(StrEnum):
    """What was done."""

    ADD = "add"
    TAKE = "take"
    ADJUST = "adjust"
    RESERVE = "reserve"
    COMMIT = "commit"
    RELEASE = "release"
    COLLECT = "collect"
    SPOIL = "spoil"
    UNDO = "undo"


class RunState(StrEnum):
    """How far a run is; `MAKING` until its output is in place."""

    MAKING = "being made"
    RESERVED = "reserved"
    COMMITTED = "committed"
    RELEASED = "released"


def label_of(number: int) -> str:
    """Return the label of an item's number."""
    return f"S{number:04d}"


ABOUT = "about "
"""Before a length that nobody measured, as it is read and written."""


def length_words(length_mm: float, *, exact: bool) -> str:
    """Write a length for a person; a guess as one, to ten millimetres."""
    return mm_text(length_mm) if exact else f"{ABOUT}{mm_text(round(length_mm, -1))}"


@dataclass(frozen=True, slots=True)
class Item:
    """One roll, part roll or offcut.

    Attributes
    ----------
    number : int
    kind : Kind
    code : int
    width_mm, length_mm : float
        Of a part roll that nobody measured the length is an estimate: then it is not ``exact``.
    mass_ug : int
    cost_u : int or None
        What it cost, in millionths of the shop's money; None where nobody knows.
    place, batch : str
        Where it lies, and the mark of the batch that it was cast or milled in.
    exact : bool
    run : str
        The run that it is kept for; empty where it is free.
    """

    number: int
    kind: Kind
    code: int
    width_mm: float
    length_mm: float
    mass_ug: int
    cost_u: int | None = None
    place: str = ""
    batch: str = ""
    exact: bool = True
    run: str = ""

    @property
    def label(self) -> str:
        """What is written on the lead."""
        return label_of(self.number)

    @property
    def mass_kg(self) -> float:
        """Mass in kg."""
        return self.mass_ug / MICROGRAMS_PER_KG

    @property
    def cost(self) -> float | None:
        """What it cost, in the shop's money."""
        return None if self.cost_u is None else self.cost_u / MILLIONTHS

    @property
    def area_mm2(self) -> float:
        """Area in mm2."""
        return self.width_mm * self.length_mm

    @property
    def words(self) -> str:
        """Say what it is in a few words: kind, width and length, an estimate as one."""
        return f"{self.kind} {mm_text(self.width_mm)} x {length_words(self.length_mm, exact=self.exact)}"


@dataclass(frozen=True, slots=True)
class Posting:
    """Lead and money that come to an account, or go from it where they are below zero; on the shelf, of one item."""

    account: Account
    code: int
    mass_ug: int
    cost_u: int = 0
    item: int | None = None


class UnbalancedError(ValueError):
    """Lead or money of a movement comes from nowhere, or goes nowhere."""


@dataclass(frozen=True, slots=True)
class Movement:
    """One thing that was done, and what went where by it; ``undoes`` is the number of the one that it takes back.

    Raises
    ------
    UnbalancedError
        When the postings do not sum to zero, code by code.
    """

    verb: Verb
    at: str
    postings: tuple[Posting, ...] = ()
    run: str = ""
    note: str = ""
    undoes: int | None = None

    def __post_init__(self) -> None:
        for code in {p.code for p in self.postings}:
            mine = [p for p in self.postings if p.code == code]
            if sum(p.mass_ug for p in mine) or sum(p.cost_u for p in mine):
                raise UnbalancedError(f"the postings of {self.verb} do not sum to zero for code {code}")


@dataclass(frozen=True, slots=True)
class Cut:
    """What a run cuts from one roll.

    Attributes
    ----------
    sheet : str
        The roll's name in the run's drawings, such as ``code4-01``.
    item : int or None
        The number of the item that is cut; None: a roll that is yet to be bought.
    code : int
    mass_kg_m2 : float
    width_mm, length_mm, drawn_mm : float
    pieces_mm2 : float
    kept_mm : tuple of (length, width)
        Offcuts out of what is drawn.
    rest_kept : bool
        Whether what is not drawn is worth keeping.
    keep_mm : (length, width)
        Least sides of what is.
    price : float or None
        What a roll costs that is yet to be bought; None where nobody knows.
    booked : bool
        Whether the roll is cut and booked, while others of its run may not be.
    """

    sheet: str
    item: int | None
    code: int
    mass_kg_m2: float
    width_mm: float
    length_mm: float
    drawn_mm: float
    pieces_mm2: float
    kept_mm: tuple[tuple[float, float], ...] = ()
    rest_kept: bool = True
    keep_mm: tuple[float, float] = (300.0, 150.0)
    price: float | None = None
    booked: bool = False


class Stage(StrEnum):
    """How far a roll or a piece of a run is; rolls are only cut, pieces come off them and go on."""

    CUT = "cut"
    FOLDED = "folded"
    PACKED = "packed"
    DELIVERED = "delivered"


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a run: its number, how many of it, its job, the rolls they are cut from, how many were spoilt.

    ``counts`` says how many come from each of these rolls; runs of earlier versions have none.
    """

    id: str
    quantity: int
    job: str
    sheets: tuple[str, ...]
    spoilt: int = 0
    counts: tuple[int, ...] = ()

    @property
    def good(self) -> int:
        """How many are folded, packed and delivered; those cut once more are another run's."""
        return self.quantity - self.spoilt

    def on(self, sheets: Collection[str]) -> int:
        """How many come from some of its rolls; where that is not known all of them, if any does."""
        if self.counts:
            return sum(count for sheet, count in zip(self.sheets, self.counts, strict=True) if sheet in sheets)
        return self.quantity if any(sheet in sheets for sheet in self.sheets) else 0


@dataclass(frozen=True, slots=True)
class Spoilt:
    """Copies of a piece of an earlier run that another run cuts once more: how many, and lead and area of each."""

    run: str
    piece: str
    count: int
    code: int
    mass_kg_m2: float
    each_mm2: float


@dataclass(frozen=True, slots=True)
class Done:
    """How many of a roll (1 or 0) or a piece of a run are at a stage or past it, as somebody told."""

    run: str
    stage: Stage
    thing: str
    count: int
    at: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """One run that draws on the stock: where its output lies, what it cuts, into which pieces, in whose place."""

    id: str
    state: RunState
    at: str
    out: str
    cuts: tuple[Cut, ...]
    jobs: tuple[str, ...] = ()
    replaces: str = ""
    parts: tuple[Part, ...] = ()
    spoilt: tuple[Spoilt, ...] = ()

    @property
    def items(self) -> tuple[int, ...]:
        """Numbers of the items that it is still to cut."""
        return tuple(cut.item for cut in self.cuts if cut.item is not None and not cut.booked)

    @property
    def booked(self) -> tuple[Cut, ...]:
        """What it has cut and booked, roll by roll."""
        return tuple(cut for cut in self.cuts if cut.booked or self.state is RunState.COMMITTED)


@dataclass(frozen=True, slots=True)
class Amount:
    """Lead in micrograms, and money in millionths."""

    mass_ug: int = 0
    cost_u: int = 0

    @property
    def mass_kg(self) -> float:
        """Mass in kg."""
        return self.mass_ug / MICROGRAMS_PER_KG


@dataclass(frozen=True, slots=True)
class Holding:
    """What there is at one moment.

    Attributes
    ----------
    items : mapping
        By number, everything on the shelf, kept for a run or not.
    runs : mapping
        By id, every run.
    balances : mapping
        Amount by (account, code).
    next_number : int
        Of the next item.
    """

    items: Mapping[int, Item] = field(default_factory=lambda: MappingProxyType({}))
    runs: Mapping[str, Run] = field(default_factory=lambda: MappingProxyType({}))
    balances: Mapping[tuple[Account, int], Amount] = field(default_factory=lambda: MappingProxyType({}))
    next_number: int = 1

    @property
    def free(self) -> tuple[Item, ...]:
        """Items that are kept for no run, in the order of their labels."""
        return tuple(item for _, item in sorted(self.items.items()) if not item.run)


@dataclass(frozen=True, slots=True)
class Change:
    """What one verb does to a holding; it is done whole or not at all.

    Attributes
    ----------
    movements : tuple of Movement
    put : tuple of Item
        New, or as they are from now on.
    gone : tuple of int
        Numbers of items that are no more.
    runs : tuple of Run
        New, or as they are from now on.
    done : tuple of Done
        What was told of the progress of a run.
    """

    movements: tuple[Movement, ...] = ()
    put: tuple[Item, ...] = ()
    gone: tuple[int, ...] = ()
    runs: tuple[Run, ...] = ()
    done: tuple[Done, ...] = ()
