"""Courses as measured, held against the masonry, against each other and against what lies below the first one.

A slip of the tape shows in the gaps: about twice the usual gap is a joint left out, one gap too long and the next too
short is a joint misread; a second reading that tilts every joint alike was taken from another line, or another joint.

Terminology
-----------
Gap: from a joint up to the next one, at the corner. Course: the gap that the wall keeps, by its masonry where that can
be told, else the median.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median, median_low
from typing import Final

from cutpath.errors import Severity
from cutpath.tolerances import POINT_MM, READ_MM
from cutpath.units import MM_PER_UNIT, mm_text
from cutpath.values.survey import BedJoint

_REGULAR: Final = 1.25
"""Masonry whose highest course is at most this many times its lowest is laid to a gauge: bricks and blocks."""
_NARROW: Final = 1.15
"""Only of masonry with courses as like as this can a course be told to be two or three."""
_FIT: Final = 0.07
"""A gap within this part of a masonry's courses belongs to it: what joints of uneven thickness make."""
_COURSED: Final = (0.65, 1.5)
"""Gaps of bricks and blocks outside these parts of the course are no course: half one, or two."""
_STONE: Final = (0.5, 1.8)
"""The same for stone, whose courses differ."""
_UNEVEN: Final = 0.2
"""A course of brick this much off asks for a second look."""
_MISREAD: Final = 0.13
"""So does a joint with one gap this much too long and the other as much too short."""
_ASTRAY_MM: Final = 6.0
_ASTRAY: Final = 6.0
_ASTRAY_OF: Final = 5
"""Where so many joints show how true a wall is, one is doubted that strays by this much and by this many times as far
from midway between its neighbours as is usual there: no more than a digit misread, in a wall that is laid true (our
own figures)."""
_BELOW: Final = 1.25
"""So many courses may lie between the water line and the first joint: one, and a bit for uneven work."""
_MOST_LEFT_OUT: Final = 6
"""More joints than these are not left out at once: the figure is wrong."""
_TAPE_MM: Final = 3.0
"""As near as a tape is read: a digit swapped or changed has to come out within this of what was expected."""
_HIGH_STEP: Final = 0.5
"""Parts of the usual rise that a step of one's own may end higher above the water line than the one before it."""
_OFF_LINE: Final = (0.2, 0.35)
"""Parts of a course by which a second reading may stray from those of the other joints, before a look and a fault."""


@dataclass(frozen=True, slots=True)
class Band:
    """Masonry by its lowest and highest course in mm."""

    name: str
    least_mm: float
    most_mm: float

    @property
    def regular(self) -> bool:
        """True of what is laid to a gauge."""
        return self.most_mm <= _REGULAR * self.least_mm

    def holds(self, gap_mm: float) -> bool:
        """Tell whether a gap is one of its courses, give or take its joints."""
        return self.least_mm * (1 - _FIT) <= gap_mm <= self.most_mm * (1 + _FIT)


@dataclass(frozen=True, slots=True)
class Odd:
    """A joint that looks like a slip: its number, what was found, what would be usual, what it looks like."""

    joint: int
    found: str
    usual: str
    looks: str
    severity: Severity = Severity.FAULT


@dataclass(frozen=True, slots=True)
class Tape:
    """What was read of each joint, counted from 1, and how much higher a joint lies for each mm more: 1 of heights."""

    read_mm: Sequence[float]
    rise: float = 1.0

    @classmethod
    def of(cls, joints: Sequence[BedJoint], along_mm: Sequence[float] | None = None) -> Tape:
        """Return readings along a line that rises as the joints say, or else the heights themselves."""
        if not along_mm:
            return cls([joint.y_mm for joint in joints])
        read, up = along_mm[-1] - along_mm[0], joints[-1].y_mm - joints[0].y_mm
        return cls(along_mm, up / read if read and up else 1.0)

    def slip(self, joint: BedJoint, wanted_mm: float, near_mm: float) -> str:
        """Return the reading that was meant, where one slip of a digit explains that a joint is not at a height."""
        read = self.read_mm[joint.number - 1]
        return digit_slip(read, read + (wanted_mm - joint.y_mm) / self.rise, near_mm / self.rise)


@dataclass(frozen=True, slots=True)
class Course:
    """The course that a wall keeps, in mm, and the masonry that it fits, None where that cannot be told."""

    mm: float
    band: Band | None

    @property
    def limits(self) -> tuple[float, float]:
        """Return the parts of the course between which a gap may be a course at all."""
        return _COURSED if self.band is not None and self.band.regular else _STONE

    def __str__(self) -> str:
        kind = f" ({self.band.name})" if self.band else ""
        return f"courses of about {mm_text(self.mm)}{kind}"


def course_of(gaps_mm: Sequence[float], bands: Iterable[Band], named: Band | None = None) -> Course:
    """Return the course of a wall from its gaps: by the masonry that most of them fit, else their median.

    Parameters
    ----------
    gaps_mm : sequence of float
        At least one, unless the masonry is named.
    bands : iterable of Band
        The masonry that is known.
    named : Band, optional
        What the wall was said to be.
    """
    if named is not None:
        own = [gap for gap in gaps_mm if named.holds(gap)]
        return Course(median(own) if own else (named.least_mm + named.most_mm) / 2, named)
    regular = [band for band in bands if band.regular]
    best = max(regular, key=lambda band: sum(map(band.holds, gaps_mm)), default=None)
    if best is not None:
        own = [gap for gap in gaps_mm if best.holds(gap)]
        if 2 * len(own) >= len(gaps_mm):
            return Course(median(own), best)
    return Course(median_low(gaps_mm), None)


def gaps_of(joints: Sequence[BedJoint]) -> list[float]:
    """Return the gaps between neighbours at the corner, from the bottom up."""
    return [high.y_mm - low.y_mm for low, high in itertools.pairwise(joints)]


def odd_gaps(joints: Sequence[BedJoint], course: Course, tape: Tape | None = None) -> Iterator[Odd]:
    """Find joints that are too far from the one below or too near it: left out, misread, or read twice.

    Heights were read where there is no ``tape``.
    """
    tape = tape or Tape.of(joints)
    gaps = gaps_of(joints)
    regular = course.band is not None and course.band.regular
    astray = min(_MISREAD * course.mm if regular else math.inf, _astray_mm(joint.y_mm for joint in joints))
    misread = False
    for place, gap in enumerate(gaps):
        joint, after = joints[place + 1], gaps[place + 1] if place + 1 < len(gaps) else None
        if misread:
            misread = False  # the gap above a misread joint is wrong with it
            continue
        part = gap / course.mm
        low, high = course.limits
        if after is not None and _misread(gap, after, course, astray):
            misread = True
            severity = Severity.WARNING if low <= part <= high and low <= after / course.mm <= high else Severity.FAULT
            yield _between(joints[place], joint, after, severity, tape)
        elif part > high or part < low:
            misread = part < low and after is not None and course.limits[0] <= (gap + after) / course.mm <= 1 + _UNEVEN
            first = _first(joints[0], joint, course, tape) if place == 0 and _fits(after, course) else None
            if misread:
                yield _twice(joints[place], joint, gap, course)
            else:
                yield first or _no_course(joints[place], joint, course, tape)
        elif course.band is not None and course.band.regular and abs(part - 1) > _UNEVEN:
            yield _no_course(joints[place], joint, course, tape, Severity.WARNING)


def _astray_mm(levels_mm: Iterable[float]) -> float:
    """Return how far from midway between its neighbours a level has to be to stray, endless where few tell."""
    off = [abs(middle - (low + high) / 2) for low, middle, high in _triples(levels_mm)]
    return max(_ASTRAY_MM, _ASTRAY * median(off)) if len(off) >= _ASTRAY_OF else math.inf


def _triples(levels_mm: Iterable[float]) -> Iterator[tuple[float, float, float]]:
    levels = list(levels_mm)
    return zip(levels, levels[1:], levels[2:], strict=False)


def _misread(gap: float, after: float, course: Course, astray_mm: float) -> bool:
    """Tell whether a joint stands at the wrong height between two right ones: one gap is too long, the other short."""
    off, off_after = gap - course.mm, after - course.mm
    both = abs(off + off_after) <= _FIT * 2 * course.mm
    return both and (off > 0.0) != (off_after > 0.0) and min(abs(off), abs(off_after)) >= astray_mm


def _between(below: BedJoint, joint: BedJoint, after: float, severity: Severity, tape: Tape) -> Odd:
    gap = joint.y_mm - below.y_mm
    slip = tape.slip(joint, below.y_mm + (gap + after) / 2, abs(gap + after) / 15)
    return Odd(
        joint.number,
        f"joint {joint.number} stands {mm_text(gap)} above joint {below.number} and {mm_text(after)} below the next",
        f"about {mm_text((gap + after) / 2)} above joint {below.number}, midway between them",
        f"It looks misread{f': {slip}?' if slip else '.'}",
        severity,
    )


def _twice(below: BedJoint, joint: BedJoint, gap: float, course: Course) -> Odd:
    return Odd(
        joint.number,
        f"joint {joint.number} stands {mm_text(gap)} above joint {below.number}, inside one course",
        str(course),
        "It looks as if a joint was read twice: take one of the two out.",
    )


def _left_out(gap: float, course: Course) -> int:
    """Return how many joints are missing in a gap of so many whole courses, 0 where it is none such."""
    times = round(gap / course.mm)
    near = abs(gap / course.mm - times) <= _MISREAD * times
    return times - 1 if near and 1 < times <= _MOST_LEFT_OUT + 1 else 0


def _fits(gap: float | None, course: Course) -> bool:
    return gap is not None and abs(gap / course.mm - 1) <= _UNEVEN


def _first(first: BedJoint, above: BedJoint, course: Course, tape: Tape) -> Odd | None:
    """Return what the first joint was meant to be, where one slip explains the gap above it; all others are right."""
    gap, near = above.y_mm - first.y_mm, _OFF_LINE[0] * course.mm
    slip = "" if _left_out(gap, course) else tape.slip(first, above.y_mm - course.mm, near)
    found = f"joint {first.number} stands {mm_text(gap)} below joint {above.number}"
    return Odd(first.number, found, str(course), f"It looks like a slip of a digit: {slip}?") if slip else None


def _no_course(
    below: BedJoint, joint: BedJoint, course: Course, tape: Tape, severity: Severity = Severity.FAULT
) -> Odd:
    gap = joint.y_mm - below.y_mm
    slip = tape.slip(joint, below.y_mm + course.mm, _OFF_LINE[0] * course.mm)
    if missing := _left_out(gap, course):
        left_out = "a joint was" if missing == 1 else f"{missing} joints were"
        looks = f"It looks as if {left_out} left out below it{f', or like a slip: {slip}?' if slip else '.'}"
    elif slip and severity is Severity.FAULT:
        looks = f"It looks like a slip of a digit: {slip}?"
    elif severity is Severity.WARNING:
        looks = "It looks like a course made up, or a slip of the tape."
    else:
        looks = "It looks misread."
    return Odd(
        joint.number,
        f"joint {joint.number} stands {mm_text(gap)} above joint {below.number}",
        str(course),
        looks,
        severity,
    )


def odd_start(
    joints: Sequence[BedJoint], course: Course, water_mm: float, fold_mm: float = 0.0, tape: Tape | None = None
) -> Iterator[Odd]:
    """Find a first joint so high that others must lie between it and the water line, which would stay open.

    Parameters
    ----------
    water_mm : float
        Height of the water line at the lower end of the run, plumb above the corner's level.
    fold_mm : float
        How far a joint has to stand above it there for the shortest fold that can be dressed.
    tape : Tape, optional
        What was read, where it was not heights.
    """
    first = joints[0]
    fair = max(_BELOW * course.mm, (1 + _FIT) * course.mm + fold_mm)
    if first.y_mm - water_mm <= fair:
        return
    missing = math.floor((first.y_mm - water_mm + POINT_MM) / course.mm)
    lower = [first.y_mm - course.mm * n for n in range(1, missing + 1)]
    usual = first.y_mm - missing * course.mm
    slip = (tape or Tape.of(joints)).slip(first, usual, course.mm / 2)
    shown = " and ".join(mm_text(y) for y in lower[:3]) + (" and so on down" if len(lower) > 3 else "")
    yield Odd(
        first.number,
        f"the first joint stands {mm_text(first.y_mm)} up, and the water line {mm_text(water_mm)}",
        f"the first joint above the water line, or one below it; in {course} others must lie at {shown}",
        f"It looks as if joints were left out at the bottom{f', or like a slip of a digit: {slip}?' if slip else '.'}",
    )


def low_start(first: BedJoint, course: Course, water_mm: float) -> Iterator[Odd]:
    """Doubt the first joint of a gauge that lies just above the roof and, read as cm, would be the first of the steps.

    Both are measured, and nothing else tells: the joints would all lie elsewhere in their courses. One that is no whole
    millimetre may be the joint below the water line too.

    Parameters
    ----------
    water_mm : float
        Height of the water line at the lower end of the run, plumb above the corner's level.
    """
    meant = first.y_mm * MM_PER_UNIT["cm"]
    off = (meant - first.y_mm) % course.mm
    least = water_mm if first.y_mm == round(first.y_mm) else water_mm - course.mm
    if least <= meant <= water_mm + (1 + _FIT) * course.mm and READ_MM < off < course.mm - READ_MM:
        yield Odd(
            first.number,
            f"the first joint stands {mm_text(first.y_mm)} up, far below the water line at {mm_text(water_mm)}",
            "the first joint above the water line, or one below it",
            f'Did you mean "{first.y_mm:.6g} cm"?',
            Severity.WARNING,
        )


def odd_steps(ends: Sequence[BedJoint], rises_mm: Sequence[float], over_mm: Sequence[float]) -> Iterator[Odd]:
    """Find steps of one's own choice that end far above the water line, where the one before does not.

    A rise read too large would lift this step and all that follow, and nothing else tells: beds of rubble are all
    heights, but whoever chooses steps lets each run down to the water line.

    Parameters
    ----------
    ends : sequence of BedJoint
    rises_mm : sequence of float
        Of each step, from the one before.
    over_mm : sequence of float
        How far each ends above the water line, plumb.
    """
    usual = median(rises_mm)
    before = 0.0
    for end, over in zip(ends, over_mm, strict=True):
        if over - max(before, 0.0) > _HIGH_STEP * usual:
            yield Odd(
                end.number,
                f"step {end.number} ends {mm_text(over)} above the water line, plumb",
                "steps that end at the water line or little above it, as the one before",
                "It looks as if its rise was read too large, or its run too short.",
                Severity.WARNING,
            )
        before = over


def odd_multiple(course: Course, bands: Iterable[Band]) -> str:
    """Return the name of the brickwork of which a course is two or three, empty where it is not: joints left out."""
    if course.band is not None:
        return ""
    for band, times in itertools.product(bands, (2, 3)):
        if band.most_mm <= _NARROW * band.least_mm and band.least_mm * (
            1 - _FIT / 2
        ) <= course.mm / times <= band.most_mm * (1 + _FIT / 2):
            return f"{times} courses of {band.name}"
    return ""


def odd_tilt(joints: Sequence[BedJoint], reach_mm: float, course_mm: float, *, heights: bool = True) -> Iterator[Odd]:
    """Find joints whose second reading strays from what the others say of the wall.

    Parameters
    ----------
    joints : sequence of BedJoint
        Those that were read twice.
    reach_mm : float
        Level distance between the two readings.
    heights : bool
        Whether the second readings are heights, in which a slip of a digit can be told.
    """
    rises_mm = _without_fan([joint.slope * reach_mm for joint in joints], _FIT * course_mm)
    usual_mm = median(rises_mm)
    apart = _apart_from_neighbours(rises_mm)
    astray = max(_ASTRAY_MM, _ASTRAY * median(map(abs, apart))) if len(joints) > _ASTRAY_OF else math.inf
    for joint, rise, more in zip(joints, rises_mm, apart, strict=True):
        off = rise - usual_mm
        if abs(more) >= astray and abs(off) <= _OFF_LINE[0] * course_mm:
            yield Odd(
                joint.number,
                f"the two readings of joint {joint.number} stand {mm_text(abs(more))} {'more' if more > 0 else 'less'} "
                "apart than those of the joints beside it",
                "joints that run as their neighbours do",
                "One of the two looks misread.",
                Severity.WARNING,
            )
        elif abs(off) > _OFF_LINE[0] * course_mm:
            there = joint.height_mm(reach_mm)
            slip = digit_slip(there, there - off, _OFF_LINE[0] * course_mm) if heights else ""
            yield Odd(
                joint.number,
                f"the second reading of joint {joint.number} is {mm_text(abs(off))} too {'high' if off > 0 else 'low'}",
                "joints that run as their neighbours do",
                f"It looks misread{f': {slip}?' if slip else '.'}",
                Severity.FAULT if abs(off) > _OFF_LINE[1] * course_mm else Severity.WARNING,
            )


def _without_fan(rises_mm: list[float], most_mm: float) -> list[float]:
    """Return rises less what each has more than the one below, up to ``most_mm``, where enough of them tell.

    Joints of a wall whose courses are thicker at one end fan out.
    """
    if len(rises_mm) <= _ASTRAY_OF:
        return rises_mm
    each = max(-most_mm, min(most_mm, median(above - below for below, above in itertools.pairwise(rises_mm))))
    return [rise - each * n for n, rise in enumerate(rises_mm)]


def _apart_from_neighbours(rises_mm: list[float]) -> list[float]:
    """Return by how much each joint rises more than those beside it, three below and three above where there are."""
    beside = (rises_mm[max(0, n - 3) : n] + rises_mm[n + 1 : n + 4] for n in range(len(rises_mm)))
    return [rise - median(others or [rise]) for rise, others in zip(rises_mm, beside, strict=True)]


def tilt_looks(first_mm: Sequence[float], second_mm: Sequence[float], roof_mm: float, course_mm: float) -> str | None:
    """Say what second heights look like whose joints tilt as no wall does; None when it cannot be told.

    Parameters
    ----------
    first_mm, second_mm : sequence of float
        Heights of the same joints at the corner and at the second reading.
    roof_mm : float
        Height of the roof line at the second reading, above the corner.
    """
    near = course_mm / 3
    risen = [second - first for first, second in zip(first_mm, second_mm, strict=True)]
    turned = [second - first for first, second in zip(first_mm, reversed(second_mm), strict=True)]
    if len(risen) > 1 and max(map(abs, turned)) < near:
        return "They look as if they were written from the top down: write them from the bottom up."
    if abs(median(risen) + roof_mm) < near:
        return (
            "They look as if they were measured from the roof there, not from the level line through the corner: add "
            f"{mm_text(roof_mm)} to each."
        )
    times = round(median(risen) / course_mm)
    if times and abs(median(risen) - times * course_mm) < near:
        away = f"{abs(times)} joint{'s' if abs(times) > 1 else ''} farther {'up' if times > 0 else 'down'}"
        return f"They look like readings of other joints, {away}: count them again from the corner."
    return None


def matched(first_mm: Sequence[float], second_mm: Sequence[float], course_mm: float) -> list[int]:
    """Return at which joints, counted from 1, a shorter second reading may begin: every height near that joint's."""
    return [
        start + 1
        for start in range(len(first_mm) - len(second_mm) + 1)
        if all(abs(second - first) < course_mm / 2 for first, second in zip(first_mm[start:], second_mm, strict=False))
    ]


def slip_out_of_order(heights_mm: Sequence[float], place: int) -> tuple[int, str] | None:
    """Return the number of the joint, of two out of order, that one slip explains, and what was probably meant.

    ``place`` is that of the upper of the two, counted from 0. The slip is one of a digit, of the unit, or a comma
    between thousands, which makes two figures of one.
    """
    if comma := _comma_slip(heights_mm, place):
        return place + 1, f"a comma: {comma}"
    for wrong in (place - 1, place):
        below = heights_mm[wrong - 1] if wrong else None
        above = heights_mm[wrong + 1] if wrong + 1 < len(heights_mm) else None
        if above is None and wrong > 1:  # the last: as high again as the course below it
            above = 3 * heights_mm[wrong - 1] - 2 * heights_mm[wrong - 2]
        if below is None and len(heights_mm) > 2:  # the first: as far again below as the course above it is high
            below = 3 * heights_mm[1] - 2 * heights_mm[2]
        if below is not None and above is not None and above > below:
            wanted, near = (below + above) / 2, (above - below) / 4
            if digit := digit_slip(heights_mm[wrong], wanted, near):
                return wrong + 1, f"a digit: {digit}"
            if unit := unit_slip(heights_mm[wrong], wanted, near):
                return wrong + 1, f"the unit: {unit}"
    return None


def _comma_slip(heights_mm: Sequence[float], place: int) -> str:
    thousands, rest = (*heights_mm[place : place + 2], 0.0)[:2]
    parts = thousands == round(thousands) and 1 <= thousands < _MOST_THOUSANDS and _LEAST_REST <= rest < 1000
    gap = 1000 * thousands + rest - heights_mm[place - 1]
    course = heights_mm[place - 1] - heights_mm[place - 2] if place > 1 else math.inf
    return f"{1000 * thousands + rest:g} for {thousands:g},{rest:g}" if parts and 0 < gap <= 2 * course else ""


_MOST_THOUSANDS = 40
_LEAST_REST = 100  # a figure cannot begin with a zero, so 1,020 is told where the file is read


def unit_slip(value_mm: float, wanted_mm: float, near_mm: float) -> str:
    """Return the reading that was probably meant, where another unit than mm explains it; empty where none does."""
    for unit in ("m", "cm", "in"):
        if abs(value_mm * MM_PER_UNIT[unit] - wanted_mm) <= near_mm:
            return f'"{value_mm:.6g} {unit}" for {value_mm:.6g}'
    return ""


def digit_slip(value_mm: float, wanted_mm: float, near_mm: float) -> str:
    """Return the reading that was probably meant, where one slip of a digit explains it; empty where none does."""
    if value_mm != round(value_mm) or value_mm <= 0:
        return ""
    digits = str(round(value_mm))
    dropped = (digits[:i] + digits[i + 1 :] for i in range(len(digits)))
    swapped = (digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :] for i in range(len(digits) - 1))
    added = (f"{digits[:i]}{d}{digits[i:]}" for i in range(len(digits) + 1) for d in range(10))
    changed = (f"{digits[:i]}{d}{digits[i + 1 :]}" for i in range(len(digits)) for d in range(10))
    for ways, within_mm in (
        (dropped, near_mm),
        *((ways, min(near_mm, _TAPE_MM)) for ways in (swapped, added, changed)),
    ):
        near = [int(way) for way in ways if way and int(way) != value_mm and abs(int(way) - wanted_mm) <= within_mm]
        if near:
            return f"{min(near, key=lambda way: abs(way - wanted_mm))} for {digits}"
    return ""
