"""Blanks on one strip of a roll, as arrays for free placement, and working memory for whoever lays them.

Terminology
-----------
Depth: how far one form must move to come free of another: along the strip as the intervals say, or across it until
their boxes part, whichever is less.
Layout: array of shape (3, pieces), with the rows `FORM`, `X` in ticks, and `Y` in places across (`beside`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.lean import by_address

if TYPE_CHECKING:
    from numpy.typing import NDArray

FORM, X, Y = 0, 1, 2  # rows of a layout
ACROSS, LOOK, LEAST = 0, 1, 2  # places in `Strip.size`
MOST_ENDS = 1024  # intervals looked at on one line
MOST_KEPT = 50  # layouts with overlaps


@by_address
class Strip(NamedTuple):
    """What is to be laid: forms that each piece may take (padded), their number, weight of its overlaps, and sizes.

    ``size`` holds, in ticks, the strip's width (`ACROSS`), half the length of which a line takes notice (`LOOK`), and
    the length without which some piece finds no room (`LEAST`). ``large`` names the pieces that make up most of the
    area.
    """

    ways: NDArray[np.int64]
    n_ways: NDArray[np.int64]
    base: NDArray[np.float64]
    size: NDArray[np.int64]
    large: NDArray[np.int64]


@by_address
class Bench(NamedTuple):
    """Working memory of one worker.

    Attributes
    ----------
    far, top : arrays of int
        Where the box of each piece ends along the strip, in ticks, and across it.
    others : array of int
        Pieces of which a line takes notice.
    near, number, sign, move : arrays of int
        Those of them that may be met on the line, and the rows of what they forbid (`beside.row_of`).
    low, high, deep, heft : arrays
        Intervals on a line, their ends and the way across in ticks, and the weights of their overlaps.
    dear_low, dear_high : arrays of int
        Lines on which one overlap alone costs as much as the best place so far, ends left out.
    place : array of float, shape (4,)
        Best place of a piece so far: weighted depth, form, x, y.
    pair : array of float
        Weight of the overlap of each pair.
    depth : array of int
        Depth of the overlap of each pair, in ticks (upper half).
    least, trial : arrays of int
        The layout with the least overlap, and the one that is pressed.
    turn : array of int
        Pieces in the order in which they are laid again.
    kept, total : arrays
        Layouts with overlaps at the length that is tried, and the sum of depths of each; the last of ``total`` is that
        of ``least``.
    """

    far: NDArray[np.int64]
    top: NDArray[np.int64]
    others: NDArray[np.uint64]
    near: NDArray[np.uint64]
    number: NDArray[np.int64]
    sign: NDArray[np.int64]
    move: NDArray[np.int64]
    low: NDArray[np.int64]
    high: NDArray[np.int64]
    deep: NDArray[np.int64]
    heft: NDArray[np.float64]
    dear_low: NDArray[np.int64]
    dear_high: NDArray[np.int64]
    place: NDArray[np.float64]
    pair: NDArray[np.float64]
    depth: NDArray[np.int64]
    least: NDArray[np.int64]
    trial: NDArray[np.int64]
    turn: NDArray[np.int64]
    kept: NDArray[np.int64]
    total: NDArray[np.float64]


def new_bench(pieces: int) -> Bench:
    """Return working memory for so many pieces."""
    low, high, deep, dear_low, dear_high = (np.zeros(MOST_ENDS + 1, dtype=np.int64) for _ in range(5))
    return Bench(
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces + 1, dtype=np.uint64),
        np.zeros(pieces + 1, dtype=np.uint64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        low,
        high,
        deep,
        np.zeros(MOST_ENDS + 1),
        dear_low,
        dear_high,
        np.zeros(4),
        np.ones((pieces, pieces)),
        np.zeros((pieces, pieces), dtype=np.int64),
        np.zeros((3, pieces), dtype=np.int64),
        np.zeros((3, pieces), dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros((MOST_KEPT, 3, pieces), dtype=np.int64),
        np.zeros(MOST_KEPT + 1),
    )
