"""Bed joints from what was measured: heights at the corner, tape readings along a line, or a gauge.

Terminology
-----------
Corner: the plumb line through the origin of the wall frame (the arris, or where measuring began); x is level
from it up the slope, y plumb from the roof line at the corner.
Reading along a line: the tape runs parallel to the roof from the corner, and shows where each joint meets it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from typing import TypeVar

from cutpath import sure
from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.units import mm_text
from cutpath.values.survey import BedJoint

T = TypeVar("T")


def joints_from_heights(
    heights_mm: Sequence[float], second_mm: Sequence[float] | None = None, at_mm: float = 0.0, first: int = 1
) -> tuple[BedJoint, ...]:
    """Return joints from their heights at the corner, and at level distance ``at_mm`` where they run out of level.

    Parameters
    ----------
    heights_mm : sequence of float
        Plumb heights above the roof line at the corner, from the bottom up.
    second_mm : sequence of float, optional
        Heights of the same joints above the same level line, ``at_mm`` up the slope from the corner. Joints that
        cannot be reached there are left out of it, and fall as the nearest joint does that was read twice.
    at_mm : float
        Level distance of the second reading, in mm; not zero where there is one.
    first : int
        Number of the joint at which the second reading begins.

    Returns
    -------
    tuple of BedJoint
        Numbered from 1.

    Raises
    ------
    ValueError
        When the second reading holds joints that the first one does not.
    """
    if second_mm is None:
        return tuple(BedJoint(number, y) for number, y in enumerate(heights_mm, start=1))
    pairs = _read_twice(heights_mm, second_mm, first)
    slopes = {number: (second - y) / at_mm for number, (y, second) in pairs.items()}
    return tuple(BedJoint(number, y, _nearest(slopes, number)) for number, y in enumerate(heights_mm, start=1))


def _read_twice(once: Sequence[T], again: Sequence[T], first: int) -> dict[int, tuple[T, T]]:
    """Return both readings of each joint that was read twice, by its number.

    Raises
    ------
    ValueError
        When the second reading holds joints that the first lacks.
    """
    if not 1 <= first <= len(once) - len(again) + 1:
        raise ValueError(f"the second reading holds joints {first} to {first + len(again) - 1} of {len(once)}")
    return {first + place: (once[first - 1 + place], second) for place, second in enumerate(again)}


def _nearest(slopes: Mapping[int, float], number: int) -> float:
    """Return the slope of the joint nearest to one, its own where it was read twice."""
    return slopes[min(slopes, key=lambda known: abs(known - number))]


def joints_from_gauge(
    first_mm: float, gauge_mm: float, *, pitch_deg: float, slope_mm: float, water_line_mm: float
) -> tuple[BedJoint, ...]:
    """Return level joints at a constant gauge, enough for the run and one over.

    Parameters
    ----------
    first_mm : float
        Height of the first joint above the roof line at the corner.
    gauge_mm : float
        Course height, brick and bed joint together.
    pitch_deg, slope_mm, water_line_mm : float
        The run: its pitch, its length along the roof line, and its water line square to the roof.

    Returns
    -------
    tuple of BedJoint
        Numbered from 1; the last but one meets the water line at or above the run's upper end, plumb or square.
    """
    pitch = math.radians(pitch_deg)
    top_mm = slope_mm * sure.sin(pitch) + water_line_mm / sure.cos(pitch)
    count = max(0, math.ceil((top_mm - first_mm) / gauge_mm - POINT_MM)) + 2
    return tuple(BedJoint(k + 1, first_mm + k * gauge_mm) for k in range(count))


def point_on_line(tape_mm: float, line_mm: float, pitch_deg: float) -> tuple[float, float]:
    """Return the point of the wall frame at ``tape_mm`` from the corner along a line parallel to the roof.

    Parameters
    ----------
    tape_mm : float
        Along the line, from the plumb line through the corner.
    line_mm : float
        Height of the line above the roof line, square to the roof.
    pitch_deg : float

    Returns
    -------
    tuple of float
        (x, y) in mm; x = t cos p, y = w / cos p + t sin p.
    """
    pitch = math.radians(pitch_deg)
    return tape_mm * sure.cos(pitch), line_mm / sure.cos(pitch) + tape_mm * sure.sin(pitch)


def joints_from_line(
    along_mm: Sequence[float],
    line_mm: float,
    pitch_deg: float,
    second_mm: Sequence[float] | None = None,
    second_line_mm: float = 0.0,
    first: int = 1,
) -> tuple[BedJoint, ...]:
    """Return joints from tape readings where they meet a line parallel to the roof, such as the water line.

    Parameters
    ----------
    along_mm : sequence of float
        Readings from the corner along the first line, from the bottom up.
    line_mm : float
        Height of that line, square to the roof.
    pitch_deg : float
    second_mm : sequence of float, optional
        Readings of the same joints along a second line, where they run out of level; without it they are level. Joints
        that it leaves out run as the nearest joint does that was read twice.
    second_line_mm : float
        Height of the second line, square to the roof.
    first : int
        Number of the joint at which the second reading begins.

    Returns
    -------
    tuple of BedJoint
        Numbered from 1.

    Raises
    ------
    ValueError
        When the second reading holds joints that the first one does not, or the two points of a joint lie plumb above
        each other.
    """
    points = [point_on_line(tape, line_mm, pitch_deg) for tape in along_mm]
    if second_mm is None:
        return joints_from_heights([y for _, y in points])
    again = [point_on_line(tape, second_line_mm, pitch_deg) for tape in second_mm]
    slopes = {}
    for number, ((x1, y1), (x2, y2)) in _read_twice(points, again, first).items():
        if abs(x2 - x1) < POINT_MM:
            raise ValueError(f"the two readings of joint {number} lie plumb above each other")
        slopes[number] = (y2 - y1) / (x2 - x1)
    joints = []
    for number, (x, y) in enumerate(points, start=1):
        slope = _nearest(slopes, number)
        joints.append(BedJoint(number, y - slope * x, slope))
    return tuple(joints)


def joints_from_points(points_mm: Sequence[tuple[float, float]]) -> tuple[BedJoint, ...]:
    """Return level beds from the points where steps of the user's own choice end, in the wall frame, bottom up."""
    return tuple(BedJoint(number, y, 0.0, x) for number, (x, y) in enumerate(points_mm, start=1))


def joints_from_steps(steps_mm: Sequence[tuple[float, float]]) -> tuple[BedJoint, ...]:
    """Return level beds from the (run, rise) of each step of the user's own choice, from the lower corner up."""
    runs, rises = zip(*steps_mm, strict=True)
    return joints_from_points(list(zip(accumulate(runs), accumulate(rises), strict=True)))


def seen_from(joints: Sequence[BedJoint], x_mm: float, y_mm: float) -> tuple[BedJoint, ...]:
    """Return the same joints in a wall frame whose origin lies at ``(x_mm, y_mm)`` in the present one."""
    return tuple(
        replace(
            joint,
            y_mm=joint.height_mm(x_mm) - y_mm,
            end_x_mm=None if joint.end_x_mm is None else joint.end_x_mm - x_mm,
        )
        for joint in joints
    )


def order_fault(crossed: tuple[int, int], where: str, remedy: str = "") -> Finding:
    """Return the fault of two neighbours that are out of order, by their numbers."""
    low, high = crossed
    return Finding(
        "CP401",
        where,
        f"joint {high} does not lie above joint {low} all along the run",
        "joints from the bottom up, each above the one before it",
        remedy or f"Measure joints {low} and {high} again, or put them in order.",
    )


def point_faults(points: Sequence[tuple[float, float]], where: str) -> list[Finding]:
    """Find steps that do not go on and up from the one before; ``where`` is the place of their list."""
    return [
        Finding(
            "CP401",
            f"{where}[{place}]",
            f"{mm_text(high[0])} along and {mm_text(high[1])} up, after {mm_text(low[0])} and {mm_text(low[1])}",
            "steps of which each ends farther along and higher than the one before, from the lower corner up",
            f"Measure steps {place - 1} and {place} again, or put them in order.",
        )
        for place, (low, high) in enumerate(pairwise(points), start=2)
        if high[0] <= low[0] or high[1] <= low[1]
    ]


def out_of_order(joints: Sequence[BedJoint], upto_mm: float) -> tuple[int, int] | None:
    """Return the numbers of the first two neighbours that meet or cross between the corner and ``upto_mm`` level."""
    for lower, upper in pairwise(joints):
        if any(upper.height_mm(x) - lower.height_mm(x) < POINT_MM for x in (0.0, upto_mm)):
            return lower.number, upper.number
    return None
