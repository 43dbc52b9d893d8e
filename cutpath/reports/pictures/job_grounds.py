"""Grounds of pieces by job: a soft tint, for eyes that see colour, and light marks, for a print in grey.

Tints are colours of the Okabe-Ito palette mixed with white. None of the marks is a line that runs on, and none leans
as the hatching of scrap does, so that nobody takes one for a cut, a fold or a mark on the lead.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cutpath.paper.markup import element, number


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

TILE_MM = 4.0
"""Side of the square on paper that a pattern repeats."""

PATTERNS = (
    "M1 1h.01M3 3h.01",  # dots
    "M.5 1h1M1 .5v1M2.5 3h1M3 2.5v1",  # crosses
    "M.5 1a.5 .5 0 1 0 1 0a.5 .5 0 1 0 -1 0M2.5 3a.5 .5 0 1 0 1 0a.5 .5 0 1 0 -1 0",  # rings
    "M.5 .5L1.5 1.5M2.5 2.5L3.5 3.5",  # short strokes that fall to the right
    "M1 .4v1.2M3 2.4v1.2",  # short upright strokes
    "M.4 1h1.2M2.4 3h1.2",  # short level strokes
)
"""Marks of a tile, as the data of a path; each comes twice in a tile, so that rows are staggered."""

_DOTS = PATTERNS[0]


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground of a job's pieces; ``id`` is that of its definition on the page."""

    id: str
    tint: str
    mark: str
    marks: str

    @property
    def fill(self) -> str:
        """The style that lays it in a shape."""
        return f"fill:url(#{self.id})"


def job_grounds(jobs: Iterable[str]) -> dict[str, Ground]:
    """Return the ground of each job by its name, in their order; none where one job is alone.

    Tints and marks go round in turn, and their numbers have no common divisor, so that as many jobs as there are pairs
    of them differ.
    """
    names = list(dict.fromkeys(jobs))
    if len(names) < 2:
        return {}
    found = {}
    for i, name in enumerate(names):
        tint = TINTS[i % len(TINTS)]
        found[name] = Ground(f"ground-{i + 1}", tint.ground, tint.mark, PATTERNS[i % len(PATTERNS)])
    return found


def ground_definitions(grounds: Mapping[str, Ground]) -> str:
    """Return the definitions that shapes of a page are filled by, in one picture that takes no room."""
    if not grounds:
        return ""
    return element(
        "svg",
        element("defs", *map(_pattern, grounds.values())),
        xmlns="http://www.w3.org/2000/svg",
        viewBox="0 0 1 1",
        aria_hidden="true",
        style="position:absolute;width:0;height:0",
    )


def _pattern(ground: Ground) -> str:
    side = number(TILE_MM)
    marks = element(
        "path",
        d=ground.marks,
        style=f"fill:none;stroke:{ground.mark};stroke-width:{'.6' if ground.marks == _DOTS else '.2'};"
        "stroke-linecap:round",
    )
    return element(
        "pattern",
        element("rect", width=side, height=side, style=f"fill:{ground.tint}"),
        marks,
        id=ground.id,
        width=side,
        height=side,
        patternUnits="userSpaceOnUse",
    )
