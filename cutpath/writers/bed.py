"""From the sheet's own frame to the machine's axes, for formats that are sent to a machine as they are.

The sheet is shifted and turned by quarters, never mirrored: whatever the origin, the machine's x runs to the right
and its y up, as its user sees them. With ``along = "y"`` the roll's x runs up the bed and its y to the left.
"""

from __future__ import annotations

from collections.abc import Callable

from cutpath.values.machine import Axis, Corner, Head, Machine
from cutpath.values.pattern import Point
from cutpath.values.toolpath import Frame


def bed_size_mm(machine: Machine) -> tuple[float, float]:
    """Return the machine's reach along its own x and y, insets included."""
    long = machine.bed.length_mm + 2 * machine.bed.inset_mm
    wide = machine.bed.width_mm + 2 * machine.bed.inset_mm
    return (long, wide) if machine.bed.along is Axis.X else (wide, long)


def limits_mm(machine: Machine) -> tuple[Point, Point]:
    """Return the least and greatest coordinates that the machine reaches."""
    wide, high = bed_size_mm(machine)
    origin = machine.bed.origin
    x = -wide if origin in (Corner.LOWER_RIGHT, Corner.UPPER_RIGHT) else 0.0
    y = -high if origin in (Corner.UPPER_LEFT, Corner.UPPER_RIGHT) else 0.0
    return (x, y), (x + wide, y + high)


def on_bed(machine: Machine, frame: Frame) -> Callable[[Point, Head], Point]:
    """Return the map from the sheet to the numbers that move a head's tip there."""
    inset = machine.bed.inset_mm
    (x0, y0), _ = limits_mm(machine)
    wide, _ = bed_size_mm(machine)

    def place(point: Point, head: Head) -> Point:
        along, across = point[0] - frame.start_mm + inset, point[1] + inset
        x, y = (along, across) if machine.bed.along is Axis.X else (wide - across, along)
        return (x + x0 - head.at_mm[0], y + y0 - head.at_mm[1])

    return place
