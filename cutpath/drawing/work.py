"""What lies on a machine while a sheet's strokes become tool paths: one value that every pass takes and gives back.

Terminology
-----------
Pass of the row: one function from `Work` to `Work`, such as the one that orders lines; see `cutpath.drawing.paths`.
Setting: what is run without moving the sheet; a roll longer than the machine's reach has several.
Home: the first setting whose window holds a piece whole.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from cutpath.drawing.containment import depths, round_each
from cutpath.drawing.frames import Window
from cutpath.drawing.toolline import ToolLine
from cutpath.errors import Finding
from cutpath.values.drawing import Drawing, Role
from cutpath.values.machine import Machine
from cutpath.values.pattern import Point, Polyline

if TYPE_CHECKING:
    from shapely import Polygon

CUTS = (Role.INNER, Role.OUTER)


@dataclass(frozen=True, slots=True)
class Layout:
    """What stands on a sheet.

    Attributes
    ----------
    names : tuple of str
        The pieces along the roll.
    outlines : tuple of (str, Polygon)
        Each piece with its holes.
    spans : dict of str to (float, float)
        Where along the roll each piece stands, in mm.
    group : dict of str to int
        The number of the outermost piece round each piece, or its own.
    depth : dict of int to int
        How many closed cuts lie round each stroke, by the stroke's number.
    clear : dict of str to tuple of Point
        Ends of folds and snips of each piece, where no tab may be.
    """

    names: tuple[str, ...]
    outlines: tuple[tuple[str, Polygon], ...]
    spans: dict[str, tuple[float, float]]
    group: dict[str, int]
    depth: dict[int, int]
    clear: dict[str, tuple[Point, ...]]


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the sheet: what the machine reaches, the lines that it runs, and the marks that it is set to."""

    window: Window
    lines: tuple[ToolLine, ...]
    register: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Work:
    """A sheet on its way to tool paths.

    Attributes
    ----------
    drawing, machine, layout
    lines : tuple of ToolLine
        Of the whole sheet, until they are given to settings.
    settings : tuple of Setting
    nest_order_mm : float
        Rapid travel from line to line, piece after piece as they stand along the roll.
    findings : tuple of Finding
    """

    drawing: Drawing
    machine: Machine
    layout: Layout
    lines: tuple[ToolLine, ...] = ()
    settings: tuple[Setting, ...] = ()
    nest_order_mm: float = 0.0
    findings: tuple[Finding, ...] = ()

    def found(self, findings: Iterable[Finding]) -> Work:
        """Return the work with more findings."""
        return replace(self, findings=(*self.findings, *findings))


def laid_out(drawing: Drawing) -> Layout:
    """Return what stands on a sheet."""
    import shapely

    outer = [s for s in drawing.strokes if s.role is Role.OUTER and s.closed]
    outer.sort(key=lambda s: (min(x for x, _ in s.points), min(y for _, y in s.points), s.piece))
    surrounding = round_each([s.points for s in outer])
    group = {
        s.piece: min(around, key=lambda k: len(surrounding[k]), default=i)
        for i, (s, around) in enumerate(zip(outer, surrounding, strict=True))
    }
    holes: dict[str, list[Polyline]] = {s.piece: [] for s in outer}
    clear: dict[str, tuple[Point, ...]] = {}
    for stroke in drawing.strokes:
        if stroke.role is Role.INNER and stroke.closed:
            holes[stroke.piece].append(stroke.points)
        elif stroke.role in (Role.FOLD, Role.INNER):
            clear[stroke.piece] = (*clear.get(stroke.piece, ()), stroke.points[0], stroke.points[-1])
    return Layout(
        names=tuple(s.piece for s in outer),
        outlines=tuple((s.piece, shapely.Polygon(s.points, holes[s.piece])) for s in outer),
        spans={s.piece: (min(x for x, _ in s.points), max(x for x, _ in s.points)) for s in outer},
        group=group,
        depth=depths(drawing.strokes),
        clear=clear,
    )
