"""What a machine runs, in the order in which it runs it.

Sheet frame: mm, x along the roll, y across it and upwards, until a writer turns it to the machine's own axes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.values.drawing import Role
from cutpath.values.pattern import Point, Polyline


@dataclass(frozen=True, slots=True)
class ToolMove:
    """One move with the head down: straight to ``to``, or on an arc of at most 180 deg about ``centre``.

    A ``shallow`` one only swings a drag knife's blade round, which is done less deep where the machine is told so.
    """

    to: Point
    centre: Point | None = None
    ccw: bool = False
    shallow: bool = False


@dataclass(frozen=True, slots=True)
class Pass:
    """One line that is run with the head down.

    Attributes
    ----------
    role, head, piece, name
    start : Point
        Where the head goes down: of a drag knife, its pivot.
    moves : tuple of ToolMove
    line : tuple of Point
        The line that is marked or cut on the sheet, without leads and overcut; a closed line repeats its first point.
        Empty for a stroke in waste, which cuts nothing that was asked for.
    number, of : int
        Which of several passes over the same line, counted from 1.
    lifted : bool
        The head is lifted before it even where it begins where the last one ended: a knife is turned in the air.
    """

    role: Role
    head: str
    piece: str
    name: str
    start: Point
    moves: tuple[ToolMove, ...]
    line: Polyline
    number: int = 1
    of: int = 1
    lifted: bool = False

    @property
    def end(self) -> Point:
        """Where the pass ends."""
        return self.moves[-1].to

    def goes_on_from(self, before: Pass | None) -> bool:
        """Tell whether this pass begins where ``before`` ended, with the same head, which then need not be lifted."""
        return (
            not self.lifted
            and before is not None
            and before.head == self.head
            and math.dist(before.end, self.start) <= POINT_MM
        )


@dataclass(frozen=True, slots=True)
class Frame:
    """What is run at one setting of the sheet.

    Attributes
    ----------
    number : int
        Counted from 1 along the roll.
    start_mm, end_mm : float
        The stretch of roll under the machine.
    passes : tuple of Pass
    register : tuple of Point
        Marks of the frame before, to which the sheet is set; not drawn again.
    """

    number: int
    start_mm: float
    end_mm: float
    passes: tuple[Pass, ...]
    register: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class RoleTotal:
    """Number of lines of a role and their length on the sheet, in mm, each line once however often it is run."""

    role: Role
    strokes: int
    length_mm: float


@dataclass(frozen=True, slots=True)
class PathReport:
    """Lengths and time.

    Attributes
    ----------
    totals : tuple of RoleTotal
    run_mm : float
        With a head down, every pass, lead, swivel and overcut counted.
    rapid_mm : float
        With the head up, tabs and repeated passes counted.
    order_mm, nest_order_mm : float
        From line to line with the head up, before tabs and swivels: as ordered, and piece after piece as they stand
        along the roll, each line whole and begun as it is drawn.
    lifts, changes : int
        How often the head comes up, and how often heads are changed.
    seconds : float or None
        None where a speed is not known.
    """

    totals: tuple[RoleTotal, ...]
    run_mm: float
    rapid_mm: float
    order_mm: float
    nest_order_mm: float
    lifts: int
    changes: int
    seconds: float | None

    @property
    def saving(self) -> float:
        """Share of the travel in nest order that is saved; 0 where there was none."""
        return 1 - self.order_mm / self.nest_order_mm if self.nest_order_mm else 0.0


@dataclass(frozen=True, slots=True)
class ToolPaths:
    """One sheet ready for one machine."""

    title: str
    machine: str
    length_mm: float
    width_mm: float
    frames: tuple[Frame, ...]
    report: PathReport
    findings: tuple[Finding, ...]
