"""Pictures of walls and folded pieces with their captions and keys, ready for the page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from cutpath.reports.isometric import folded_picture
from cutpath.reports.markup import element
from cutpath.reports.wall_sheet import Elevation
from cutpath.reports.walls import elevations
from cutpath.values.piece import Piece
from cutpath.values.proof import Proof
from cutpath.values.survey import Job


def wall_figures(job: Job, pieces: Sequence[Piece]) -> str:
    """Give the walls of a job with their lead in place; empty where it has none."""
    walls = [_wall(elevation) for elevation in elevations(job, pieces)]
    return element("div", *walls, class_="walls") if walls else ""


def folded_figure(piece: Piece, proof: Proof | None, names: str) -> str:
    """Give the folded piece with its caption; empty where it is not known or nothing is folded.

    Parameters
    ----------
    names : str
        Numbers of all pieces that are alike.
    """
    drawn = folded_picture(piece, proof, names) if proof is not None else None
    if drawn is None:
        return ""
    return element("div", drawn.picture, element("span", escape(drawn.words)), class_="in-space")


def _wall(elevation: Elevation) -> str:
    notes: Iterable[str] = (element("li", escape(note)) for note in elevation.notes)
    caption = element("b", escape(elevation.title)), element("span", escape(elevation.words))
    return element(
        "figure",
        element("figcaption", *caption),
        elevation.picture,
        element("ul", *notes, class_="legend"),
    )
