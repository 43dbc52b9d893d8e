"""A picture of a wall on a page: the scales to choose from, and the largest at which a picture fits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property

from cutpath.paper.brickwork import View
from cutpath.paper.ink import Contours, Ink, Words, picture
from cutpath.paper.markup import number
from cutpath.paper.text import unbroken
from cutpath.plane import bounds_mm
from cutpath.tolerances import POINT_MM

SCALES = (1.0, 2.0, 5.0, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0)
"""Scales to choose from: millimetres of wall to one of paper; every size that matters is figured."""

WIDEST, TALLEST, TALL = 182.0, 78.0, 108.0
"""Room for a picture on paper, in mm: the width of an A4 page, and so tall that what does not fit leaves no page much
emptier than this; taller for a wall that would be smaller than at `CROWDED` there."""

BESIDE, SMALLEST = 88.0, 20.0
"""Width at which two pictures stand beside each other, in mm, and the smallest scale at which one is made so narrow."""

CROWDED = 25.0
"""Smallest scale at which figures and names on a wall of courses stand clear of each other."""

STRIP = 25.0
"""Smallest scale for a plain strip."""

AROUND_MM = 90.0
"""How much of roof or wall is shown about the lead."""

_LARGE = 10.0
"""Scale at which a picture is large enough, though it has the page's width to itself."""


@dataclass(frozen=True, slots=True)
class Elevation:
    """One picture of a wall: title, words about it, SVG, notes for its key, size on paper, and what it is made of.

    ``alone`` draws it for a place with nothing beside it; None where it would be no larger there.
    """

    title: str
    words: str
    picture: str
    notes: tuple[str, ...]
    width_mm: float
    height_mm: float
    inks: tuple[Ink, ...] = field(default=(), repr=False, compare=False)
    alone: Callable[[], Elevation] | None = field(default=None, repr=False, compare=False)

    @property
    def beside(self) -> bool:
        """Whether it is narrow enough to stand beside another."""
        return self.width_mm <= BESIDE


def fitted(
    draw: Callable[[View], Sequence[Ink]],
    *,
    mirrored: bool,
    title: str,
    words: str,
    notes: Iterable[str],
    room: tuple[float, float] = (WIDEST, TALLEST),
    smallest: float = SMALLEST,
) -> Elevation:
    """Draw a wall at the largest scale at which it fits: beside another picture, else alone across the page.

    The scale is added to the words.

    Parameters
    ----------
    draw : callable
        Gives the picture in a view.
    mirrored : bool
        True for a left hand.
    room : tuple of float
        Greatest width and height on paper, in mm.
    smallest : float
        Smallest scale at which it is made narrow enough to stand beside another.
    """
    drawn = cache(lambda scale: _Drawn(draw(View(scale, mirrored))))
    narrow = [s for s in SCALES if s <= smallest]
    said = tuple(notes)

    def at(scale: float, alone: Callable[[], Elevation] | None = None) -> Elevation:
        inks, size = drawn(scale).inks, drawn(scale).size
        over = sorted(inks, key=lambda ink: isinstance(ink, Words))  # no line runs through a figure
        svg = picture(over, title, scale=number(scale), hand="left" if mirrored else "right")
        return Elevation(title, f"{words}, {unbroken(f'1 : {number(scale)}')}", svg, said, *size, tuple(inks), alone)

    if not drawn(CROWDED).fits(room):
        room, narrow = (room[0], max(TALL, room[1])), [s for s in narrow if s <= CROWDED]
    beside = (min(BESIDE, room[0]), room[1])
    scale = _largest_that_fits(drawn, narrow, beside) if narrow and drawn(narrow[-1]).fits(beside) else None
    if scale is None:
        return at(_largest_that_fits(drawn, SCALES, room, narrow[-1] if narrow else SCALES[-1]))
    larger = [s for s in SCALES if _LARGE <= s <= scale]
    return at(scale, (lambda: at(_largest_that_fits(drawn, larger, room))) if scale > _LARGE else None)


@dataclass(frozen=True)
class _Drawn:
    """A picture at one scale."""

    inks: Sequence[Ink]

    @cached_property
    def size(self) -> tuple[float, float]:
        """Width and height on paper, in mm."""
        x0, y0, x1, y1 = bounds_mm(point for ink in self.inks for point in ink.points)
        return x1 - x0, y1 - y0

    @cached_property
    def lead(self) -> tuple[float, float]:
        """Width and height of the lead alone, which grows and shrinks as the scales do."""
        points = [p for ink in self.inks if isinstance(ink, Contours) and ink.class_ == "lead" for p in ink.points]
        if not points:
            return 0.0, 0.0
        x0, y0, x1, y1 = bounds_mm(points)
        return x1 - x0, y1 - y0

    def fits(self, room: tuple[float, float]) -> bool:
        """Tell whether it is no larger than the room."""
        return self.size[0] <= room[0] and self.size[1] <= room[1]


def _largest_that_fits(
    drawn: Callable[[float], _Drawn],
    scales: Sequence[float],
    room: tuple[float, float],
    known: float | None = None,
) -> float:
    """Return the first of the scales at which a picture fits, drawing it at few of them; the last where it never does.

    A picture at a smaller scale is not larger. Letters and arrows keep their size, so that it does not grow or shrink
    by quite as much as the scales do: what would fit by its size at one scale, ``known`` or the last, is drawn first,
    then its neighbours.
    """
    known = scales[-1] if known is None else known
    wide, tall = drawn(known).size
    share = max(wide / room[0], tall / room[1])
    at = next((k for k, s in enumerate(scales) if s >= share * known), len(scales) - 1)
    lead = drawn(known).lead

    def too_large(scale: float) -> bool:
        """Tell whether the lead alone has no room, so that nothing need be drawn to know."""
        return any(size * known > (has + POINT_MM) * scale for size, has in zip(lead, room, strict=True))

    while at and not too_large(scales[at - 1]) and drawn(scales[at - 1]).fits(room):
        at -= 1
    while at < len(scales) - 1 and not drawn(scales[at]).fits(room):
        at += 1
    return scales[at]
