"""Grounds of pieces by job: a soft tint, for eyes that see colour, and light marks, for a print in grey.

Tints are colours of the Okabe-Ito palette mixed with white. None of the marks is a line that runs on, and none leans
as the hatching of scrap does, so that nobody takes one for a cut, a fold or a mark on the lead. They are dashed
lines, not patterns of SVG, which browsers print as blurred pixels.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cutpath.paper.markup import element, number, path


@dataclass(frozen=True, slots=True)
class Tint:
    """Colours of a ground and of the marks on it."""

    ground: str
    mark: str


TINTS = (
    Tint("#ddf0fb", "#6ba9cc"),  # sky blue
    Tint("#fbecca", "#c99a3c"),  # orange
    Tint("#d8f0e7", "#5fae93"),  # bluish green
    Tint("#f6e4ee", "#c58bab"),  # reddish purple
    Tint("#fbf8cf", "#b3aa45"),  # yellow
)

APART_MM = 2.0
"""Distance on paper of the lines that marks stand on; they repeat at twice that, every other line shifted."""


@dataclass(frozen=True, slots=True)
class Strokes:
    """Marks as dashes of ``length_mm`` (0: dots) on level or upright lines; hollow ones have the ground's tint."""

    length_mm: float
    width_mm: float
    upright: bool = False
    hollow: bool = False


PATTERNS = (
    (Strokes(0.0, 0.5),),  # dots
    (Strokes(1.0, 0.2), Strokes(1.0, 0.2, upright=True)),  # crosses
    (Strokes(0.0, 1.2), Strokes(0.0, 0.7, hollow=True)),  # rings
    (Strokes(1.4, 0.2, upright=True),),  # short upright strokes
    (Strokes(1.4, 0.2),),  # short level strokes
    (Strokes(0.0, 1.0),),  # large dots
)


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground of a job's pieces, named on the page by its ``id``."""

    id: str
    tint: Tint
    marks: tuple[Strokes, ...]

    def laid(self, x: float, y: float, width: float, height: float) -> str:
        """Return a rectangle of it, in mm on paper."""
        tint = element("rect", x=x, y=y, width=width, height=height, style=f"fill:{self.tint.ground}")
        return tint + "".join(self._strokes(strokes, (x, y, width, height)) for strokes in self.marks)

    def _strokes(self, strokes: Strokes, box: tuple[float, float, float, float]) -> str:
        colour = self.tint.ground if strokes.hollow else self.tint.mark
        lines = "".join(path(line) for line in _lines(strokes, *box))
        gap = number(2 * APART_MM - strokes.length_mm)
        return element(
            "path",
            d=lines,
            style=f"fill:none;stroke:{colour};stroke-width:{number(strokes.width_mm)};stroke-linecap:round;"
            f"stroke-dasharray:{number(strokes.length_mm)} {gap}",
        )


def _lines(
    strokes: Strokes, x: float, y: float, width: float, height: float
) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    along, across = (height, width) if strokes.upright else (width, height)
    half = APART_MM / 2
    for n in range(int((across + half) / APART_MM)):
        beside, first = half + n * APART_MM, half - strokes.length_mm / 2 + n % 2 * APART_MM
        if first < along:
            ends = ((first, beside), (along, beside))
            (u0, v0), (u1, v1) = ((v, u) for u, v in ends) if strokes.upright else ends
            yield (x + u0, y + v0), (x + u1, y + v1)


def job_grounds(jobs: Iterable[str]) -> dict[str, Ground]:
    """Return the ground of each job by its name, in their order; none where one job is alone.

    Tints and marks go round in turn, and their numbers have no common divisor, so that as many jobs as there are pairs
    of them differ.
    """
    names = list(dict.fromkeys(jobs))
    if len(names) < 2:
        return {}
    return {
        name: Ground(f"ground-{i + 1}", TINTS[i % len(TINTS)], PATTERNS[i % len(PATTERNS)])
        for i, name in enumerate(names)
    }
