"""Pictures of walls and folded pieces with their captions and keys, ready for the page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from html import escape

from cutpath.paper.ink import MARGIN
from cutpath.paper.markup import element, number
from cutpath.paper.wall_sheet import BESIDE, Elevation
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.walls import elevations
from cutpath.values.piece import Piece
from cutpath.values.survey import Job


def wall_figures(job: Job, pieces: Sequence[Piece]) -> str:
    """Return the walls of a job with their lead in place; empty where it has none.

    What holds for more than one of the pictures is said once, below them.
    """
    walls = _placed(elevations(job, pieces))
    if not walls:
        return ""
    counts = Counter(note for wall in walls for note in wall.notes)
    shared = [note for note, count in counts.items() if count > 1]
    key = element("div", element("b", "In these pictures"), _legend(shared), class_="shared") if shared else ""
    return element("div", *(_wall(wall, shared) for wall in walls), key, class_="walls")


def _placed(walls: Sequence[Elevation]) -> list[Elevation]:
    """Leave those narrow that stand two by two; one that has nothing beside it is drawn larger."""
    paired = two_by_two([wall.beside for wall in walls])
    return [wall if pair or wall.alone is None else wall.alone() for wall, pair in zip(walls, paired, strict=True)]


def two_by_two(narrow: Sequence[bool]) -> list[bool]:
    """Tell which figures stand beside another when each narrow one takes the next to it, if that is narrow too.

    >>> two_by_two([True, True, True, False, True])
    [True, True, False, False, False]
    """
    paired: list[bool] = []
    while len(paired) < len(narrow):
        at = len(paired)
        paired += [True, True] if narrow[at : at + 2] == [True, True] else [False]
    return paired


def folded_figure(folded: Folded | None, names: str) -> str:
    """Return the folded piece with its caption; empty where it is not known or nothing is folded.

    Parameters
    ----------
    names : str
        Numbers of all pieces that are alike.
    """
    if folded is None:
        return ""
    return element("div", folded.picture(names), element("span", escape(folded.words)), class_="in-space")


def _wall(elevation: Elevation, shared: Sequence[str]) -> str:
    caption = element("b", escape(elevation.title)), element("span", escape(elevation.words))
    return element(
        "figure",
        element("figcaption", *caption),
        elevation.picture,
        _legend([note for note in elevation.notes if note not in shared]),
        style=f"width:calc({number(max(elevation.width_mm + 2 * MARGIN, BESIDE))}mm * var(--zoom))",
    )


def _legend(notes: Iterable[str]) -> str:
    return element("ul", *(element("li", escape(note)) for note in notes), class_="legend")
