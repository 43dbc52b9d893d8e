"""Lines as they were read from a file, in columns, and what is wrong with a file that is not as we write it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field


class MisreadError(ValueError):
    """A file of ours does not read as it should; the message says where."""


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of one layer or group, in their order.

    Attributes
    ----------
    counts : sequence of int
        Points of each line.
    closed : sequence of bool
    titles : sequence of str
        What the file calls each; empty where it does not.
    xs, ys : sequence of float
        All points of all lines, mm.
    dashes : sequence of tuple of float
        Dash, gap, dash, ... of each, mm, empty where it is solid; nothing where a file does not tell it line by line.
    colour : str
        Of all of them, as the file names it.
    width_mm : float or None
        None where a file does not tell it.
    """

    counts: Sequence[int] = ()
    closed: Sequence[bool] = ()
    titles: Sequence[str] = ()
    xs: Sequence[float] = ()
    ys: Sequence[float] = ()
    dashes: Sequence[tuple[float, ...]] = ()
    colour: str = ""
    width_mm: float | None = None


@dataclass(slots=True)
class TextLines:
    """The same as they stand in the file, which are read as figures all at once."""

    counts: list[int] = field(default_factory=list)
    closed: list[bool] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)
    xs: list[str] = field(default_factory=list)
    ys: list[str] = field(default_factory=list)

    def add(self, xs: Sequence[str], ys: Sequence[str], *, closed: bool, title: str = "") -> None:
        """Add a line.

        Raises
        ------
        MisreadError
        """
        if len(xs) != len(ys) or len(xs) < 2:
            raise MisreadError(f"a line of {len(xs)} x and {len(ys)} y")
        self.counts.append(len(xs))
        self.closed.append(closed)
        self.titles.append(title)
        self.xs += xs
        self.ys += ys

    def read(self, where: str) -> Lines:
        """Return it with its figures.

        Raises
        ------
        MisreadError
        """
        return Lines(self.counts, self.closed, self.titles, figures(self.xs, where), figures(self.ys, where))


@dataclass(frozen=True, slots=True)
class Reach:
    """One way with the head down: straight to x, y, or on an arc about a centre."""

    x: float
    y: float
    centre: tuple[float, float] | None = None
    ccw: bool = False


@dataclass(slots=True)
class Run:
    """What a tool runs between two lifts: where it goes down, and its ways; mm as the file has them."""

    tool: int
    x: float
    y: float
    steps: list[Reach] = field(default_factory=list)


def figures(texts: Sequence[str], where: str) -> list[float]:
    """Read plain decimal figures: no exponent, nothing but digits, a sign and a point.

    Raises
    ------
    MisreadError
    """
    try:
        read = list(map(float, texts))
    except ValueError as error:
        raise MisreadError(f"{where}: {error}") from None
    if set("".join(texts)) - _PLAIN or not all(map(math.isfinite, read)):
        raise MisreadError(f"{where}: a figure that is not plain")
    return read


_PLAIN = frozenset("-.0123456789")
