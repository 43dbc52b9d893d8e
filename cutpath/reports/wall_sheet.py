"""A picture of a wall on a page: the scales to choose from, and the largest at which a picture fits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from cutpath.plane import bounds_mm
from cutpath.reports.brickwork import View
from cutpath.reports.ink import Ink, picture
from cutpath.reports.markup import number

SCALES = (1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0)
"""Scales that stand on a scale rule: millimetres of wall to one of paper."""

WIDEST, TALLEST = 182.0, 190.0
"""Room for a picture on paper, in mm: the width of an A4 page within its margins, and two thirds of its height."""


@dataclass(frozen=True, slots=True)
class Elevation:
    """One picture of a wall: title, words about it, SVG, and notes for its key."""

    title: str
    words: str
    picture: str
    notes: tuple[str, ...]


def fitted(
    draw: Callable[[View], Sequence[Ink]],
    *,
    mirrored: bool,
    title: str,
    words: str,
    notes: Iterable[str],
    room: tuple[float, float] = (WIDEST, TALLEST),
) -> Elevation:
    """Draw a wall at the largest scale at which the whole picture fits on a page; the scale is added to the words.

    Parameters
    ----------
    draw : callable
        Gives the picture in a view.
    mirrored : bool
        True for a left hand.
    room : tuple of float
        Greatest width and height on paper, in mm.
    """
    for scale in SCALES:
        inks = draw(View(scale, mirrored))
        x0, y0, x1, y1 = bounds_mm(point for ink in inks for point in ink.points)
        if x1 - x0 <= room[0] and y1 - y0 <= room[1]:
            break
    drawn = picture(inks, title, scale=number(scale), hand="left" if mirrored else "right")
    return Elevation(title, f"{words}, 1 : {number(scale)}", drawn, tuple(notes))
