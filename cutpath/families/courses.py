"""What looks like a slip in the joints of a wall, as findings with the keys by which it can be confirmed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from cutpath import sure
from cutpath.errors import Finding, Severity
from cutpath.families.desk import Desk
from cutpath.families.tables import CoursingTable, SecondHeights, SecondLine
from cutpath.intake.places import did_you_mean
from cutpath.profiles import Masonry, masonry
from cutpath.trade.courses import (
    Band,
    Course,
    Odd,
    Tape,
    course_of,
    gaps_of,
    low_start,
    matched,
    odd_gaps,
    odd_multiple,
    odd_start,
    odd_steps,
    odd_tilt,
    tilt_looks,
)
from cutpath.trade.plausible import Written, check_size
from cutpath.units import mm_text, written
from cutpath.values.survey import BedJoint


@dataclass(frozen=True, slots=True)
class RunLine:
    """The run for which joints are wanted: pitch in degrees, length along the slope, water line square to it.

    ``start_mm`` is the level distance from the corner to its lower end.
    """

    pitch_deg: float
    slope_mm: float
    water_line_mm: float
    start_mm: float = 0.0

    @property
    def level_mm(self) -> float:
        """Level reach of the run."""
        return self.slope_mm * sure.cos(math.radians(self.pitch_deg))

    @property
    def lowest_mm(self) -> float:
        """Height of the water line at the lower end, above the roof line at the corner."""
        pitch = math.radians(self.pitch_deg)
        return self.water_line_mm / sure.cos(pitch) + self.start_mm * sure.tan(pitch)

    @property
    def highest_mm(self) -> float:
        """Height of the water line at the upper end, above the roof line at the corner."""
        pitch = math.radians(self.pitch_deg)
        return self.water_line_mm / sure.cos(pitch) + self.slope_mm * sure.sin(pitch)


@dataclass(frozen=True, slots=True)
class Wall:
    """A coursing as measured: its table, the path of it, the key of its readings, and its joints."""

    desk: Desk
    table: CoursingTable
    base: str
    readings: str
    joints: tuple[BedJoint, ...]

    @property
    def tape(self) -> Tape:
        """What was read of each joint."""
        return Tape.of(self.joints, self.table.along_water_line)

    @property
    def second_key(self) -> str:
        """Key path of the second readings."""
        return (
            f"{self.base}.second_reading.{'along' if isinstance(self.table.second_reading, SecondLine) else 'joints'}"
        )


def find_masonry(desk: Desk, name: str, path: str) -> Masonry | Finding:
    """Return the masonry of a name, or the finding that there is none."""
    known = {listed.casefold(): wall for listed, wall in masonry().items()}
    if name.casefold() in known:
        return known[name.casefold()]
    meant = did_you_mean(name, masonry())
    return desk.finding(
        "CP108",
        path,
        f"no masonry named {written(name)}",
        f"one of {', '.join(sorted(masonry()))}, or the course in mm",
        f"Did you mean {meant}?" if meant else "Give the course in mm.",
    )


def odd_courses(wall: Wall, run: RunLine | None = None) -> list[Finding]:
    """Find joints that look like slips: each a fault or a warning, a note where the table confirms it.

    Without a run, only the courses themselves are looked at.
    """
    table, joints = wall.table, wall.joints
    unknown = [number for number in table.odd_joints if number > len(joints)]
    if unknown:
        return [
            wall.desk.finding(
                "CP108",
                f"{wall.base}.odd_joints",
                f"there is no joint {unknown[0]}",
                f"joints 1 to {len(joints)}",
                "Count the joints from the bottom up; the first is joint 1.",
            )
        ]
    bands = [Band(m.name, m.course_least_mm, m.course_most_mm) for m in masonry().values()]
    named = next((band for band in bands if band.name.casefold() == (table.masonry or "").casefold()), None)
    gaps = gaps_of(joints) or [bands[0].least_mm]
    course = course_of(gaps, bands, named)
    size = None
    if table.gauge is None and len(joints) > 1:
        size = check_size(
            wall.desk.sizes["course"],
            Written(
                f"{wall.desk.file}: {wall.base}.{wall.readings}",
                course.mm,
                None,
                f'confirmed = ["{wall.readings}"]',
                wall.readings in table.confirmed,
            ),
        )
        if size is not None and size.severity is Severity.FAULT:
            return [size]
    found = [size] if size else []
    found += _multiple(wall, course, bands)
    odd = [*(_start(wall, run, course) if run else ()), *odd_gaps(joints, course, wall.tape)]
    found += [_at_joint(wall, item, f"{wall.base}.{wall.readings}") for item in odd]
    told = {item.joint for item in odd}
    return found + (list(_second(wall, run, course, told)) if run else [])


def high_steps(wall: Wall, run: RunLine) -> list[Finding]:
    """Find steps of the user's own choice that end far above the water line: warnings, notes where confirmed.

    Where the roof changes its pitch, ``run`` has the steepest, under which no step seems higher than it is.
    """
    slope = sure.tan(math.radians(run.pitch_deg))
    water = run.lowest_mm - run.start_mm * slope
    ends = [(joint.end_x_mm or 0.0, joint.y_mm) for joint in wall.joints]
    rises = [high - low for (_, low), (_, high) in pairwise([(0.0, 0.0), *ends])]
    odd = odd_steps(wall.joints, rises, [y - x * slope - water for x, y in ends])
    return [_at_joint(wall, item, f"{wall.base}.{wall.readings}") for item in odd]


def _start(wall: Wall, run: RunLine, course: Course) -> Iterator[Odd]:
    fold = wall.desk.fact("least_fold") * sure.tan(math.radians(run.pitch_deg))
    yield from odd_start(wall.joints, course, run.lowest_mm, fold, wall.tape)
    if wall.table.gauge is not None:
        yield from low_start(wall.joints[0], course, run.lowest_mm)


def _at_joint(wall: Wall, odd: Odd, key: str, place: int | None = None) -> Finding:
    """Make the finding of an odd joint; ``place`` is its place in the list of readings, counted from 1."""
    listed = wall.table.gauge is None
    where = f"{key}[{odd.joint if place is None else place}]" if listed else f"{wall.base}.first_joint"
    if odd.joint in wall.table.odd_joints:
        return wall.desk.finding(
            "CP420",
            where,
            f"{odd.found}, as confirmed",
            odd.usual,
            "Nothing to do: it is listed so that whoever cuts knows.",
            Severity.NOTE,
        )
    confirm = f"odd_joints = {sorted({*wall.table.odd_joints, odd.joint})}"
    remedy = f"{odd.looks} Measure again; if it is right, add {confirm} beside {wall.readings}."
    return wall.desk.finding("CP420", where, odd.found, odd.usual, remedy, odd.severity)


def _multiple(wall: Wall, course: Course, bands: Sequence[Band]) -> list[Finding]:
    """Warn of a wall all of whose courses are two or three of a brick: joints left out all along."""
    looks = odd_multiple(course, bands) if wall.table.masonry is None else ""
    if not looks:
        return []
    return [
        wall.desk.finding(
            "CP420",
            f"{wall.base}.{wall.readings}",
            f"courses of {mm_text(course.mm)}, {looks} each",
            "a joint at every course",
            'Joints may have been left out all along; if the courses are right, add masonry = "squared stone" beside '
            f"{wall.readings}.",
            Severity.WARNING,
        )
    ]


def _second(wall: Wall, run: RunLine, course: Course, told: set[int]) -> Iterator[Finding]:
    """Find second readings that look like slips, all of them or one by one; of joints that are ``told`` faults only."""
    second = wall.table.second_reading
    if second is None:
        return
    again = second.joints if isinstance(second, SecondHeights) else second.along
    first = first_read_twice(wall.table)
    twice = wall.joints[first - 1 : first - 1 + len(again)]
    tilts = sorted(joint.slope for joint in twice)
    key = "joints" if isinstance(second, SecondHeights) else "along"
    whole = check_size(
        wall.desk.sizes["tilt"],
        Written(
            f"{wall.desk.file}: {wall.second_key}",
            round(1000 * tilts[len(tilts) // 2], 1),
            None,
            f'confirmed = ["{key}"]',
            key in second.confirmed,
        ),
    )
    if whole is not None:
        looks = None
        if isinstance(second, SecondHeights) and whole.severity is not Severity.NOTE:
            heights = [joint.y_mm for joint in twice]
            looks = tilt_looks(heights, again, second.at * sure.tan(math.radians(run.pitch_deg)), course.mm)
        yield whole if looks is None else replace(whole, remedy=f"{looks} {whole.remedy}", severity=Severity.FAULT)
        if looks is not None:
            return
    heights_read = isinstance(second, SecondHeights)
    for odd in odd_tilt(twice, _apart_mm(wall.table, second, run), course.mm, heights=heights_read):
        if odd.joint not in told or odd.severity is Severity.FAULT:
            yield _at_joint(wall, odd, wall.second_key, odd.joint - first + 1)


def _apart_mm(table: CoursingTable, second: SecondHeights | SecondLine, run: RunLine) -> float:
    """Return the level distance between the two readings of a joint."""
    if isinstance(second, SecondHeights):
        return second.at
    once = (table.along_water_line or [])[first_read_twice(table) - 1 :]
    apart = median(abs(again - tape) for tape, again in zip(once, second.along, strict=False))
    return apart * sure.cos(math.radians(run.pitch_deg))


def first_read_twice(table: CoursingTable) -> int:
    """Return the number of the joint at which the second reading begins.

    Where it is shorter than the first one and does not say, it is the one at which it ends with the highest joint, if
    every height then suits its joint and no other place does: the lower joints are hidden there by the roof.
    """
    second = table.second_reading
    if second is None or second.from_joint is not None:
        return 1 if second is None or second.from_joint is None else second.from_joint
    fits = second_fits(table)
    return fits[0] if len(fits) == 1 and isinstance(second, SecondHeights) else 1


def second_fits(table: CoursingTable) -> list[int]:
    """Return at which joints a second reading of heights may begin that is shorter than the first one."""
    second = table.second_reading
    if not isinstance(second, SecondHeights) or not table.joints or len(second.joints) >= len(table.joints):
        return []
    gaps = [high - low for low, high in zip(table.joints, table.joints[1:], strict=False)]
    return matched(table.joints, second.joints, sorted(gaps)[len(gaps) // 2])


def read_in_part(wall: Wall) -> list[Finding]:
    """Note which joints were read twice, where not all of them were, and how the others are taken."""
    second = wall.table.second_reading
    again = () if second is None else second.joints if isinstance(second, SecondHeights) else second.along
    if second is None or len(again) == len(wall.joints):
        return []
    first = first_read_twice(wall.table)
    last = first + len(again) - 1
    said = "" if second.from_joint is not None else f"; from_joint = {first} says so for certain"
    return [
        wall.desk.finding(
            "CP421",
            wall.second_key,
            f"the second reading is taken for joints {first} to {last} of {len(wall.joints)}",
            "the others run as the nearest joint does that was read twice",
            f"Nothing to do where the others cannot be reached{said}.",
            Severity.NOTE,
        )
    ]
