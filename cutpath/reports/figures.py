"""Pictures of walls and folded pieces with their captions and keys, ready for the page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from cutpath.reports.elevation import Elevation, elevations
from cutpath.reports.markup import element
from cutpath.values.piece import Piece
from cutpath.values.survey import Job


def wall_figures(job: Job, pieces: Sequence[Piece]) -> str:
    """Give the walls of a job with their lead in place; empty where it has none."""
    walls = [_wall(elevation) for elevation in elevations(job, pieces)]
    return element("div", *walls, class_="walls") if walls else ""


def _wall(elevation: Elevation) -> str:
    notes: Iterable[str] = (element("li", escape(note)) for note in elevation.notes)
    caption = element("b", escape(elevation.title)), element("span", escape(elevation.words))
    return element(
        "figure",
        element("figcaption", *caption),
        elevation.picture,
        element("ul", *notes, class_="legend"),
    )
