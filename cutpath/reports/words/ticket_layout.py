"""How a ticket is laid out: the largest drawing that leaves room for words to be read at the bench.

Heights are counted for the widest of the common fonts (`measure`), on A4 and on Letter, so that a ticket is one page
on either in any font. The figures follow `ticket_style`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property, lru_cache
from itertools import product
from math import ceil, fsum, inf

from cutpath.paper.measure import broad_mm, rows, text_mm
from cutpath.reports.account.marking import MarkedPoint, Marking
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.ticket_picture import SCALES
from cutpath.reports.pictures.ticket_sheet import SIDE, picture_tall_mm
from cutpath.reports.words.plain_lines import PlainLine
from cutpath.tolerances import POINT_MM, SURE_DECIMALS
from cutpath.units import MM_PER_PT

ROWS = 18
"""Rows of a table of points before it goes on beside itself."""

OFFSETS = 10
"""Points of a curve in one row."""

_SMALL_MM, _FEW = 400.0, 8
"""Largest side of a piece, and most lines of its tables, for half a sheet."""

_LONGEST_MM = 238.0
"""Longest blank on paper: with its dimensions it goes on either paper."""

_NARROWEST_MM, _HALF_WORDS_MM = 82.0, 70.0
"""Least width of words beside a drawing, and of those beside a folded piece on half a sheet."""

_COLUMN_MM, _GAP_MM = 54.0, 6.0
"""Least width of a column of words below a drawing, and the gap between two."""

_KEY_MM, _KEY_TALL_MM = 54.0, 35.0
"""Breadth and height of the key to a step."""

_CAPTION_MM = 45.0
"""Least breadth of the words below a folded piece."""

_SQUARE_MM = 20.0
"""Breadth that the square in the corner takes of the first lines."""

_LEADING, _ITEM_GAP = 1.22, 0.7
_SMALL_PT = 8.0
_ROUND_MM = 0.5
"""By so much a cell may be broader than its words without another row of them."""

_LEAST_EMS, _BOLD = 9.0, 1.15
"""Least breadth of what a line is, by the style, and how much broader letters of a heading are."""

_SAFE_MM = 1.5
"""What is left of a page's height for what is not counted: roundings, and a descender or two."""


class Layout(Enum):
    """How a ticket is laid out: the drawing over the words, or beside them, or on half a sheet."""

    OVER = "over"
    SIDE = "side"
    HALF = "half"


class Size(Enum):
    """Sizes of letters beside or below a drawing, the largest first: class that sets them, points, those of a heading.

    ``worse`` is how much larger a drawing must be for letters so small; the first two are read at arm's length.
    """

    LARGE = ("large", 11.0, 13.0, 1.0)
    ROOMY = ("roomy", 9.5, 11.0, 1.0)
    USUAL = ("usual", 8.0, 9.5, 1.15)
    TIGHT = ("tight", 7.0, 9.5, 1.5)

    @property
    def name_of_class(self) -> str:
        """The class that sets them."""
        return self.value[0]

    @property
    def points(self) -> float:
        """Size of the letters."""
        return self.value[1]

    @property
    def heading(self) -> float:
        """Size of a heading's letters."""
        return self.value[2]

    @property
    def worse(self) -> float:
        """How much larger a drawing must be for letters so small."""
        return self.value[3]


class Place(Enum):
    """Where the folded piece stands: beside or below the drawing, among the words, or nowhere."""

    DRAWING = "drawing"
    WORDS = "words"
    NOWHERE = "nowhere"


_FOLDED_WORTH, _FOLDED_WORTH_BESIDE_A_KEY, _FOLDED_WORTH_OF_SMALL = 1.15, 1.05, 1.3
"""How many times larger a drawing must be that leaves no room for the folded piece; a key shows how a step folds."""

_FEW_STEPS = 2
"""Steps of a piece whose key does not show how it folds: one or two beside a return."""

_AMPLE, _AMPLE_MM = 2.5, 90.0
"""Scale of a drawing, and the shorter side of its blank, where it gains nothing by being larger."""

_COLUMNS = {"even": 1.0, "uneven": 1.35}
"""How many times broader than the middle column the right one is below a drawing, by the class that sets it."""


@dataclass(frozen=True, slots=True)
class Paper:
    """What a page has of breadth and height within its margins, in mm, whole and halved."""

    broad_mm: float
    tall_mm: float
    half_mm: float


_PAPERS = (Paper(281.0, 197.5, 136.5), Paper(263.4, 203.5, 127.7))
"""A4 and Letter."""


Lists = tuple[tuple[str, tuple[str, ...]], ...]
"""Headings, each with its lines."""


@dataclass(frozen=True, eq=False)
class Told:
    """All that a ticket says; each is itself alone, so that what is counted of it is kept.

    Attributes
    ----------
    title : tuple of str
        What the head says: the number of the piece, how many, what it is.
    above : tuple of str
        Paragraphs across the page over the drawing, the facts first.
    lists : Lists
        Headings with their lines, in the order in which they are read.
    cautions : sequence of str
    marked : Marking
    lines : sequence of PlainLine
        What the table of a rectangle says.
    loose : sequence of MarkedPoint
        Points in that table that are the end of no line.
    folded : Folded or None
        The piece folded up.
    """

    title: tuple[str, ...]
    above: tuple[str, ...]
    lists: Lists
    cautions: Sequence[str]
    marked: Marking
    lines: Sequence[PlainLine]
    loose: Sequence[MarkedPoint]
    folded: Folded | None

    @cached_property
    def folded_mm(self) -> tuple[float, float]:
        """Breadth and height of the folded piece with its caption."""
        if self.folded is None:
            return 0.0, 0.0
        broad, tall = self.folded.size_mm
        broad = max(broad, _CAPTION_MM)
        return broad, tall + 1.0 + text_mm([self.folded.words], broad, _SMALL_PT, _LEADING, 0.0)

    @property
    def folded_worth(self) -> float:
        """How many times larger a drawing must be that leaves no room for the folded piece."""
        if self.folded is None:
            return 1.0
        if not self.marked.steps:
            return _FOLDED_WORTH
        return _FOLDED_WORTH_BESIDE_A_KEY if len(self.marked.steps) > _FEW_STEPS else _FOLDED_WORTH_OF_SMALL


@dataclass(frozen=True, slots=True)
class Laid:
    """How a ticket is laid out: scale of its drawing, letters, where the folded piece is, which lists come first.

    ``key_up`` tells whether the key to a step stands with the drawing; ``split`` is how many of the lists stand in the
    first of two columns, ``columns`` the class that sets those; ``cost`` is less for a drawing that shows more.
    """

    layout: Layout
    scale: float
    size: Size
    place: Place
    key_up: bool
    split: int
    columns: str
    cost: float


def is_small(marked: Marking, *, fixed: bool) -> bool:
    """Tell whether a piece is small and plain enough for half a sheet; ``fixed`` tells whether it has fixings."""
    told = len(marked.lines) - 1 if marked.rectangle else 2 * len(marked.lettered)
    return max(marked.length_mm, marked.width_mm) <= _SMALL_MM and told <= _FEW and not (marked.curves or fixed)


def laid_out(told: Told, *, small: bool) -> Laid:
    """Return the largest drawing that leaves room for letters to be read at the bench, else what comes nearest.

    ``small`` asks for half a sheet, where all of it goes on one.
    """
    if small and (half := _best(_halves(told))):
        return half
    best = _best(_wholes(told))
    return best or Laid(
        Layout.OVER,
        _scales(told.marked)[-1],
        Size.TIGHT,
        Place.NOWHERE,
        key_up=False,
        split=len(told.lists) // 2,
        columns="even",
        cost=0.0,
    )


def _best(found: Iterable[Laid]) -> Laid | None:
    """Return what costs least: of two alike that with the folded piece, then the larger drawing, then larger letters.

    Then one with the drawing beside the words.
    """
    order = list(Size)
    return min(
        found,
        key=lambda laid: (
            round(laid.cost, SURE_DECIMALS),
            laid.place is Place.NOWHERE,
            laid.scale,
            order.index(laid.size),
            laid.layout is Layout.OVER,
        ),
        default=None,
    )


def _scales(marked: Marking) -> Sequence[float]:
    """Return scales from the largest drawing that either paper has room for to one of a third of that."""
    fit = max(marked.length_mm / _LONGEST_MM, marked.width_mm / _PAPERS[0].tall_mm)
    first = next((i for i, s in enumerate(SCALES) if s >= fit - POINT_MM), len(SCALES) - 1)
    return [s for s in SCALES[first:] if s <= 4 * max(fit, SCALES[first])] or SCALES[-1:]


def _wholes(told: Told) -> Iterator[Laid]:
    """Yield whole sheets on which all of it goes, but none that cost more than one before."""
    least = inf
    places = _places(told)
    for scale, place, size in product(_scales(told.marked), places, Size):
        cost = _cost(told, scale, place, size)
        if cost > least + POINT_MM:
            continue
        for layout, fits in ((Layout.SIDE, _goes_beside), (Layout.OVER, _goes_below)):
            columns = fits(told, scale, place, size)
            if columns is not None:
                least = min(least, cost)
                key_up = layout is Layout.SIDE or _key_goes_up(told, scale, place)
                yield Laid(layout, scale, size, place, key_up, *columns, cost)


def _cost(told: Told, scale: float, place: Place, size: Size) -> float:
    """Return what is to be least: a drawing that is large enough shows all that a larger one does."""
    worth = told.folded_worth if place is Place.NOWHERE else 1.0
    enough = max(_AMPLE, min(told.marked.length_mm, told.marked.width_mm) / _AMPLE_MM)
    return max(scale, enough) * size.worse * worth


def _halves(told: Told) -> Iterator[Laid]:
    """Yield halves of sheets on which all of it goes; what is small is soon seen, and its folded piece worth more."""
    for scale, place, size in product(_scales(told.marked), _places(told), Size):
        if size is not Size.TIGHT and all(_goes_on_half(told, scale, place, size, paper) for paper in _PAPERS):
            cost = _cost(told, scale, place, size) * (
                _FOLDED_WORTH_OF_SMALL if told.folded and place is Place.NOWHERE else 1.0
            )
            yield Laid(Layout.HALF, scale, size, place, key_up=False, split=len(told.lists), columns="one", cost=cost)


def _places(told: Told) -> Sequence[Place]:
    return tuple(Place) if told.folded else (Place.NOWHERE,)


def _drawn_mm(marked: Marking, scale: float) -> tuple[float, float]:
    """Return breadth and height of a drawing with its dimensions."""
    return marked.length_mm / scale + 2 * SIDE, picture_tall_mm(marked, scale)


def _row_mm(told: Told, scale: float, place: Place) -> tuple[float, float]:
    """Return breadth and height of the drawing and the folded piece beside it, without the key to a step."""
    broad, tall = _drawn_mm(told.marked, scale)
    folded_broad, folded_tall = told.folded_mm
    if place is Place.DRAWING:
        broad, tall = broad + 8.0 + folded_broad, max(tall, folded_tall + 2.0)
    return broad, tall


def _key_goes_up(told: Told, scale: float, place: Place) -> bool:
    """Tell whether the key to a step has room in the row of the drawing."""
    broad = _row_mm(told, scale, place)[0]
    return bool(told.marked.steps) and all(broad + 8.0 + _KEY_MM <= paper.broad_mm for paper in _PAPERS)


def _goes_below(told: Told, scale: float, place: Place, size: Size) -> tuple[int, str] | None:
    """Return how many lists stand in the middle column, and how columns are set, where all goes below a drawing."""
    broad, tall = _row_mm(told, scale, place)
    key = _KEY_TALL_MM if told.marked.steps else 0.0
    if _key_goes_up(told, scale, place):
        tall, key = max(tall, key), 0.0
    rooms = [_body_mm(told, paper) - tall for paper in _PAPERS]
    if min(rooms) <= 0.0 or broad > min(paper.broad_mm for paper in _PAPERS):
        return None
    most: dict[tuple[int, str], float] = {}
    for paper, room in zip(_PAPERS, rooms, strict=True):
        first, first_tall = _table_mm(told, size, 0.45 * paper.broad_mm)
        if place is Place.WORDS:
            first, first_tall = max(first, told.folded_mm[0]), first_tall + told.folded_mm[1] + 2.0
        if first_tall > room:
            return None
        for columns, ratio in _COLUMNS.items():
            middle = (paper.broad_mm - first - 2 * _GAP_MM) / (1.0 + ratio)
            lists = [_lists_mm(told.lists, width, size) for width in (middle, ratio * middle)]
            for i in range(len(told.lists) + 1):
                used = max(key + fsum(lists[0][:i]), fsum(lists[1][i:])) / room if middle >= _COLUMN_MM else inf
                most[i, columns] = max(most.get((i, columns), 0.0), used)
    best = min(most, key=most.__getitem__, default=None)
    return best if best and most[best] <= 1.0 else None


def _goes_beside(told: Told, scale: float, place: Place, size: Size) -> tuple[int, str] | None:
    """Return how many lists stand in the first column, and how columns are set, where all goes beside a drawing.

    One column is tried first.
    """
    broad, tall = _drawn_mm(told.marked, scale)
    below = [told.folded_mm] if place is Place.DRAWING else []
    below += [(_KEY_MM, _KEY_TALL_MM)] if told.marked.steps else []
    broad = max(broad, fsum(b for b, _ in below) + _GAP_MM * max(0, len(below) - 1))
    tall += 4.0 + max(t for _, t in below) if below else 0.0
    count = len(told.lists)
    most: dict[tuple[int, str], float] = {}
    for paper in _PAPERS:
        room = _body_mm(told, paper)
        words = paper.broad_mm - 8.0 - broad
        if words < _NARROWEST_MM or tall > room:
            return None
        first, used = _table_mm(told, size, words)
        used += 6.0 + (told.folded_mm[1] + 2.0 if place is Place.WORDS else 0.0)
        if first > words or used > room:
            return None
        one = _lists_mm(told.lists, words, size)
        most[count, "one"] = max(most.get((count, "one"), 0.0), (used + fsum(one)) / room)
        half = (words - _GAP_MM) / 2
        two = _lists_mm(told.lists, half, size)
        for i in range(1, count):
            tallest = max(fsum(two[:i]), fsum(two[i:])) if half >= _COLUMN_MM else inf
            most[i, "two"] = max(most.get((i, "two"), 0.0), (used + tallest) / room)
    if most[count, "one"] <= 1.0:
        return count, "one"
    best = min(most, key=most.__getitem__)
    return best if most[best] <= 1.0 else None


def _goes_on_half(told: Told, scale: float, place: Place, size: Size, paper: Paper) -> bool:
    """Tell whether all of it goes on half a sheet, the folded piece beside the drawing or beside the words."""
    broad, tall = _drawn_mm(told.marked, scale)
    folded_broad, folded_tall = told.folded_mm
    words = paper.half_mm
    if place is Place.DRAWING:
        broad, tall = broad + 3.0 + folded_broad, max(tall, folded_tall)
    elif place is Place.WORDS:
        words -= folded_broad + 4.0
        if words < _HALF_WORDS_MM:
            return False
    first, used = _table_mm(told, size, words)
    used += 2.0 + 1.5 * 3 + fsum(_lists_mm(told.lists, words, size))
    if place is Place.WORDS:
        used = max(used, folded_tall)
    room = _body_mm(told, paper, paper.half_mm)
    return broad <= paper.half_mm and first <= words and tall + used <= room


@lru_cache(maxsize=64)
def _body_mm(told: Told, paper: Paper, broad: float | None = None) -> float:
    """Return what head and foot leave of a page's height."""
    broad = broad or paper.broad_mm
    return paper.tall_mm - _head_mm(told, broad) - _foot_mm(told.cautions, broad) - _SAFE_MM


def _head_mm(told: Told, broad: float) -> float:
    """Return the height of the title and of what stands across the page below it."""
    letters = zip(told.title, (17.0, 12.0, _SMALL_PT, _SMALL_PT), strict=True)
    title = _wrapped([broad_mm(text, size) for text, size in letters], broad - _SQUARE_MM, 7.0)
    first, *rest = told.above
    lines = rows(first, broad - _SQUARE_MM, _SMALL_PT) + sum(rows(text, broad, _SMALL_PT) for text in rest if text)
    return 8.3 + 4.5 * (title - 1) + 2.2 + lines * _SMALL_PT * MM_PER_PT * _LEADING + 2.2 * sum(map(bool, rest))


def _foot_mm(cautions: Sequence[str], broad: float) -> float:
    size = 7.5
    wide = [broad_mm(text, size) for text in cautions]
    return 2.8 + (_wrapped(wide, broad, 5.0) + sum(ceil(w / broad) - 1 for w in wide)) * size * MM_PER_PT * 1.2


def _wrapped(widths: Iterable[float], broad: float, gap: float) -> int:
    """Return in how many rows things stand beside each other."""
    count, left = 1, broad
    for width in widths:
        if width > left and left < broad:
            count, left = count + 1, broad
        left -= width + gap
    return count


@lru_cache(maxsize=256)
def _lists_mm(lists: Lists, width: float, size: Size) -> tuple[float, ...]:
    """Return the heights of lists with their headings."""
    head = size.heading * MM_PER_PT * 1.2 + 2.4
    return tuple(head + text_mm(lines, width - 5.0, size.points, _LEADING, _ITEM_GAP) for _, lines in lists)


@lru_cache(maxsize=256)
def _table_mm(told: Told, size: Size, most: float) -> tuple[float, float]:
    """Return breadth and height of the tables of a piece; those of a rectangle are set in what there is."""
    marked = told.marked
    row = size.points * 1.15 * MM_PER_PT + 0.9
    if marked.rectangle:
        return _plain_mm(told, size, most, row)
    broad = tall = 0.0
    if marked.steps:
        broad, tall = 12.3 * size.points, (len(marked.steps) + 2) * row + 2.2
    if marked.lettered:
        tables = ceil(len(marked.lettered) / ROWS)
        named = max(broad_mm(point.name, size.points) for point in marked.lettered)
        one = named + broad_mm("point along 0000", size.points) + 6.0
        broad = max(broad, tables * one + (tables - 1) * 6.0)
        tall += (min(len(marked.lettered), ROWS) + 1) * row + 2.2
    for curve in marked.curves:
        parts = ceil(len(curve) / OFFSETS)
        tall += parts * (2 * row + 2.2)
        figures = 14 + 4 * ceil(len(curve) / parts)
        broad = max(broad, broad_mm("0" * figures, size.points) + 1.6 * ceil(len(curve) / parts))
    return broad, tall


def _plain_mm(told: Told, size: Size, most: float, row: float) -> tuple[float, float]:
    """Return breadth and height of a rectangle's size and table of lines.

    Its columns share what they lack as browsers do: by how much broader than their least breadth each would be.
    """
    what = max((broad_mm(line.what, size.points) for line in told.lines), default=0.0)
    where = max((broad_mm(line.where, size.points) for line in told.lines), default=0.0)
    beside = _BOLD * broad_mm("line", size.points) + 3 * 2.0
    broad = min(what + where + beside, most)
    lack = what + where + beside - broad
    words = (broad_mm(word, size.points) for line in told.lines for word in line.where.split())
    more = [max(0.0, what - _LEAST_EMS * size.points * MM_PER_PT), where - max(words, default=0.0)]
    share = lack / fsum(more) if lack else 0.0
    columns = [wide - share * own + (_ROUND_MM if lack else inf) for wide, own in zip((what, where), more, strict=True)]
    counts = [
        max(rows(line.what, columns[0], size.points), rows(line.where, columns[1], size.points)) for line in told.lines
    ]
    line_mm = size.points * 1.15 * MM_PER_PT
    corners = sum(2 * ceil(len(line.corners) / OFFSETS) for line in told.lines)
    tall = 15.0 * MM_PER_PT * 1.2 + 1.5 + corners * row + 2.2 * (corners // 2)
    if told.lines or told.loose:
        tall += (len(told.lines) + len(told.loose) + 1) * row + (sum(counts) - len(counts)) * line_mm + 2.2
    return max(broad, 70.0), tall
