"""Lines given to the settings of a long roll, with the marks by which each setting is found."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from cutpath.drawing import registration
from cutpath.drawing.frames import Span, Window, clipped, home, windows
from cutpath.drawing.toolline import ToolLine, goes_on
from cutpath.drawing.work import Setting, Work
from cutpath.errors import Finding, Severity
from cutpath.values.drawing import Role
from cutpath.values.machine import HeadKind, Machine
from cutpath.values.pattern import Point

if TYPE_CHECKING:
    from shapely import Polygon

Homes = Mapping[str, int | None]
"""The setting in which each piece is cut whole; None: no window holds it, so that it is cut at the seams."""


def in_settings(work: Work) -> Work:
    """Return the work with its lines in settings, each with the marks to which it is set.

    Seams are laid so that enough sheet is left whole beside them for the marks of the next setting.
    """
    drawing, bed = work.drawing, work.machine.bed
    spans, words = work.layout.spans, _words(work.lines)
    loose = [_span(work.lines, word) for word in words if _stands_alone(work, word)]

    def marks_of(window: Window) -> tuple[Point, ...]:
        return _marks(work, window)

    laid = windows(
        drawing.length_mm,
        bed.length_mm,
        bed.overlap_mm,
        (*spans.values(), *loose),
        lambda window: bool(marks_of(window)),
    )
    homes: Homes = {name: home(span, laid) for name, span in spans.items()}
    whole = _written_whole(work.lines, words, homes, laid)
    marks = [*(marks_of(window) for window in laid[:-1]), ()]
    settings = tuple(
        Setting(
            window, (*_own(work, laid, k, (homes, whole)), *_crosses(marks[k], work.machine)), marks[k - 1] if k else ()
        )
        for k, window in enumerate(laid)
    )
    return replace(work, settings=settings).found(_findings(work, laid, homes, marks[:-1]))


def _marks(work: Work, here: Window) -> tuple[Point, ...]:
    """Return the marks of a window's seam, in what both it and the next one reach.

    Where all heads are pens, nothing is cut before they are read.
    """
    bed = work.machine.bed
    parts = any(head.kind.cuts for head in work.machine.heads)
    after_mm = here.to_mm - bed.overlap_mm / 2
    cut: list[Polygon] = []
    whole: list[Polygon] = []
    for name, shape in work.layout.outlines:
        low, high = work.layout.spans[name]
        if high >= after_mm and low <= here.end_mm:
            waits = not parts or low >= here.to_mm or (high > here.end_mm and low >= after_mm)
            (whole if waits else cut).append(shape)
    return registration.placed((after_mm, here.end_mm), work.drawing.width_mm, bed.mark_inset_mm, cut, whole)


def _words(lines: Sequence[ToolLine]) -> list[list[int]]:
    """Return the words that are written, the numbers of the strokes of each."""
    words: list[list[int]] = []
    for n, line in enumerate(lines):
        if words and words[-1][-1] == n - 1 and goes_on(line, lines[n - 1]):
            words[-1].append(n)
        elif line.is_lettering:
            words.append([n])
    return words


def _stands_alone(work: Work, word: Sequence[int]) -> bool:
    """Tell whether a word stands on no piece, or on one so long that seams are laid for its words by themselves."""
    bed, low_high = work.machine.bed, work.layout.spans.get(work.lines[word[0]].piece)
    return low_high is None or low_high[1] - low_high[0] > bed.length_mm - bed.overlap_mm / 2


def _written_whole(
    lines: Sequence[ToolLine], words: Sequence[Sequence[int]], homes: Homes, laid: Sequence[Window]
) -> dict[int, int]:
    """Return the setting of each stroke of lettering, by its number, on what no window holds.

    A word is written in one setting where one reaches all of it, else each of its strokes is.
    """
    found: dict[int, int | None] = {}
    for word in words:
        if homes.get(lines[word[0]].piece) is None:
            found |= dict.fromkeys(word, home(_span(lines, word), laid))
    found |= {n: home(_span(lines, [n]), laid) for n, own in found.items() if own is None}
    return {n: own for n, own in found.items() if own is not None}


def _span(lines: Sequence[ToolLine], word: Sequence[int]) -> Span:
    along = [x for n in word for x, _ in lines[n].points]
    return min(along), max(along)


def _own(
    work: Work, laid: Sequence[Window], number: int, places: tuple[Homes, Mapping[int, int]]
) -> Iterator[ToolLine]:
    """Yield the lines of one setting: what is at home there, and what no window holds as far as its seams."""
    homes, whole = places
    low = laid[number].from_mm if number else -math.inf
    high = laid[number].to_mm if number + 1 < len(laid) else math.inf
    for n, line in enumerate(work.lines):
        own = whole.get(n, homes.get(line.piece))  # what belongs to no piece is cut as far as it is reached
        if own == number:
            yield line
        elif own is None:
            parts = clipped(line.ring, low, high)
            uncut = len(parts) == 1 and parts[0] == line.ring
            yield from [line] if uncut else [replace(line, points=p, closed=False, starts=None) for p in parts]


def _crosses(marks: Sequence[Point], machine: Machine) -> Iterator[ToolLine]:
    pen = _pen(machine)
    if pen is not None:
        for stroke in (stroke for middle in marks for stroke in registration.cross(middle)):
            yield ToolLine(Role.MARK, pen, "", "registration mark", stroke, closed=False)


def _pen(machine: Machine) -> str | None:
    return next((h.name for h in machine.heads if h.kind is HeadKind.PEN), None)


def _findings(
    work: Work, laid: Sequence[Window], homes: Homes, marks: Sequence[tuple[Point, ...]]
) -> Iterator[Finding]:
    if len(laid) < 2:
        return
    drawing, machine = work.drawing, work.machine
    if None in homes.values():
        yield Finding(
            "CP609",
            drawing.place,
            "pieces are done in two settings; the set-up sheet names them",
            f"pieces that stand inside one frame of {machine.bed.length_mm:g} mm",
            "Set the roll to its marks with care, or have none stand across two frames: --in-frames.",
            Severity.WARNING,
        )
    bare = [window.to_mm for window, own in zip(laid, marks, strict=False) if not own]
    if bare:
        yield Finding(
            "CP609",
            drawing.place,
            f"at {', '.join(f'{x:.0f}' for x in bare)} mm along the roll nothing is left whole for registration marks",
            "waste or uncut sheet at both edges, for two marks well apart",
            f"Leave an edge trim of {machine.bed.mark_inset_mm:g} mm (--edge-trim), or ask for pieces kept inside a "
            "frame (--in-frames); else mark the sheet by hand before it is fed on.",
            Severity.WARNING,
        )
    if any(marks):
        yield Finding(
            "CP609",
            machine.name,
            f"rolls are fed on {machine.bed.length_mm:g} mm at a time, each frame set to two marks of the one before",
            "the set-up sheet says how well the far end of a frame then meets the next",
            "Draw the roll on along a straight edge, to the marks of the frame before."
            if _pen(machine)
            else "There is no pen: mark the sheet by hand at the places that the file lists.",
            Severity.NOTE,
        )
