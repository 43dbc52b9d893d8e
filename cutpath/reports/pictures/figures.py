"""Pictures of walls and folded pieces with their captions and keys, ready for the page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from html import escape

from cutpath.paper.markup import drawing, element, number
from cutpath.paper.measure import text_mm
from cutpath.paper.wall_sheet import Elevation
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.walls import elevations
from cutpath.values.piece import Piece
from cutpath.values.survey import Job

_KEY_MM = 36.0
"""Least width of a key beside a picture on paper, as the style of the page has it."""

_PAGE_MM, _GAP_MM, _CAPTION_MM = 186.0, 8.5, 9.0
"""Width of an A4 page within its margins; what lies between a picture and the rows of its key; a picture's caption."""

_PRINTED = (8.0, 1.3, 0.0)
"""How keys are printed: size in points, leading, gap between notes."""

_HERE, _BELOW = "Here and in the pictures that follow", "In the pictures that follow"


def wall_figures(job: Job, pieces: Sequence[Piece], cut: Sequence[Piece] = ()) -> str:
    """Return the walls of a job with their lead in place; empty where it has none.

    Where only some of the pieces are ``cut``, walls are left out that carry none of them.

    What holds for more than one of the pictures is said once: beside the first where there is room, else above them.
    A sign that means one thing here and another there is told with each.
    """
    walls = _placed(elevations(job, pieces, cut))
    if not walls:
        return ""
    counts = Counter(note for wall in walls for note in wall.notes)
    shared = [note for note, count in counts.items() if count > 1 and not any(_contrary(note, n) for n in counts)]
    own = [[note for note in wall.notes if note not in shared] for wall in walls]
    beside = not two_by_two([wall.beside for wall in walls])[0] and _has_room(walls[0], [*own[0], _HERE, *shared])
    key = element("div", element("b", _HERE if beside else _BELOW), _legend(shared), class_="shared") if shared else ""
    figures = [
        (_wall(w, notes, key if beside and not n else ""), w.beside)
        for n, (w, notes) in enumerate(zip(walls, own, strict=True))
    ]
    return element("div", "" if beside else key, *in_pairs(figures), class_="walls")


def _contrary(a: str, b: str) -> bool:
    """Tell whether two notes say different things of one sign, which stands before a colon; one may say more."""
    return a.partition(":")[0] == b.partition(":")[0] and not a.startswith(b) and not b.startswith(a)


def _has_room(wall: Elevation, notes: Sequence[str]) -> bool:
    """Tell whether notes fit beside a picture, so that they make its place on the page no taller."""
    room_mm = _PAGE_MM - wall.width_mm - _GAP_MM
    return room_mm >= _KEY_MM and text_mm(notes, room_mm, *_PRINTED) <= _CAPTION_MM + wall.height_mm


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


def in_pairs(figures: Iterable[tuple[str, bool]]) -> Iterable[str]:
    """Yield figures one below the other, narrow ones two by two; ``figures`` are what each is and whether it is narrow.

    >>> list(in_pairs([("a", True), ("b", True), ("c", True)]))
    ['<div class="pair">ab</div>', 'c']
    """
    given = list(figures)
    paired = two_by_two([narrow for _, narrow in given])
    waiting = ""
    for (figure, _), pair in zip(given, paired, strict=True):
        if pair and not waiting:
            waiting = figure
        else:
            yield element("div", waiting, figure, class_="pair") if pair else figure
            waiting = ""


def folded_figure(folded: Folded, names: str) -> str:
    """Return the folded piece with its caption; ``names`` are the numbers of all pieces that are alike."""
    return element(
        "div", drawing(folded.picture(names)), element("span", escape(f"{names} {folded.words}")), class_="in-space"
    )


def _wall(elevation: Elevation, notes: Sequence[str], key: str) -> str:
    caption = element("figcaption", element("b", escape(elevation.title)), element("span", escape(elevation.words)))
    picture = captioned(caption, elevation.picture)
    class_ = None if key or _has_room(elevation, notes) else "below"
    return element("figure", with_key(picture, element("div", _legend(notes), key, class_=class_)))


def captioned(caption: str, picture: str) -> str:
    """Return a picture below its caption, to stay on one page; both are markup already."""
    return element("div", caption, drawing(picture), class_="together")


def with_key(picture: str, legend: str, least_mm: float | None = None) -> str:
    """Return a picture with its key beside or below it, to stay on one page; both are markup already.

    Where it stands beside something else itself, it is no narrower than ``least_mm`` on paper.
    """
    style = None if least_mm is None else f"flex-basis:calc({number(least_mm)}mm * var(--zoom))"
    return element("div", picture, legend, class_="with-key", style=style)


def _legend(notes: Iterable[str]) -> str:
    return element("ul", *(element("li", escape(note)) for note in notes), class_="legend")
