"""The bed joints of one run, from whichever way the user measured them."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from itertools import pairwise

from cutpath import sure
from cutpath.errors import Finding, Severity, faults
from cutpath.families.courses import (
    RunLine,
    Wall,
    find_masonry,
    first_read_twice,
    high_steps,
    odd_courses,
    read_in_part,
    second_fits,
)
from cutpath.families.desk import Desk, LeftOutError, Spare
from cutpath.families.tables import CoursingTable, SecondHeights, SecondLine
from cutpath.intake.places import did_you_mean
from cutpath.plain import in_words
from cutpath.trade.courses import slip_out_of_order
from cutpath.trade.coursing import (
    joints_from_gauge,
    joints_from_heights,
    joints_from_line,
    joints_from_points,
    joints_from_steps,
    order_fault,
    out_of_order,
    point_faults,
)
from cutpath.units import mm_text, written
from cutpath.values.fact import graded
from cutpath.values.survey import BedJoint

_SPARE = 4
_SPARE_PART = 1 / 3
"""So many joints, and more than this part of all, are seldom measured above the upper end of the run they are for
(our own figures)."""
_WAYS = "joints, along_water_line, steps, step_points, or gauge with first_joint"


def check_walls(desk: Desk) -> None:
    """Find what is wrong with the named coursings, whether a detail uses them or not."""
    for name, table in desk.job.coursing.items():
        base = f"coursing.{name}"
        desk.add(_faults(desk, table, base) or _slips(desk, table, base))


def _slips(desk: Desk, table: CoursingTable, base: str) -> list[Finding]:
    """Find what looks like a slip in heights alone, without a run that they belong to."""
    if table.joints is None:
        return []
    wall = Wall(desk, table, base, "joints", joints_from_heights(table.joints))
    return _crossed(wall, 0.0) or odd_courses(wall)


def joints_for(desk: Desk, path: str, asked: CoursingTable | str | None, run: RunLine) -> tuple[BedJoint, ...]:
    """Return the bed joints for one run, numbered from 1 from the bottom up.

    Parameters
    ----------
    desk : Desk
    path : str
        Key path of the coursing of the detail.
    asked : CoursingTable, str or None
        The joints themselves, the name of a coursing of the job, or nothing: the job's only one.
    run : RunLine

    Raises
    ------
    LeftOutError
        When there are none to be had; the findings say why.
    """
    table, base = _table(desk, path, asked)
    bad = _faults(desk, table, base)
    desk.add(bad)
    if bad:
        raise LeftOutError(base)
    if table.gauge is not None and table.first_joint is not None:
        joints, readings = _by_gauge(desk, table.gauge, table.first_joint, base, run), "gauge"
    else:
        joints, readings = _measured(desk, table, base, run)
        crossed = _crossed(Wall(desk, table, base, readings, joints), run.level_mm)
        desk.add(crossed)
        if crossed:
            raise LeftOutError(base)
    wall = Wall(desk, table, base, readings, joints)
    own = table.steps is not None or table.step_points is not None
    odd = high_steps(wall, run) if own else [*odd_courses(wall, run), *read_in_part(wall)]
    desk.add(odd)
    if faults(odd):
        raise LeftOutError(base)
    if table.gauge is None:
        top = run.highest_mm
        above = sum(joint.height_mm(run.level_mm) > top for joint in joints)
        left = Spare(max(0, above - 1), len(joints), f"{base}.{readings}", top)
        desk.spare[id(table)] = min(desk.spare.get(id(table), left), left, key=lambda spare: spare.joints)
    return joints


def check_ends(desk: Desk) -> None:
    """Doubt runs far above whose upper end joints were measured: by their length, or the pitch of another roof."""
    for spare in desk.spare.values():
        if spare.joints >= _SPARE and spare.joints > _SPARE_PART * spare.of:
            found = f"{spare.joints} of {spare.of} joints are not needed: the run ends {mm_text(spare.top_mm)} up"
            desk.tell(
                "CP402",
                spare.readings,
                found,
                "joints up to the first one above the upper end of the highest run",
                "Measure length and pitch again; if they are right, take out the joints far above the run.",
                Severity.WARNING,
            )


def _by_gauge(desk: Desk, gauge: float | str, first_mm: float, base: str, run: RunLine) -> tuple[BedJoint, ...]:
    """Return the joints of a constant gauge, unless they are more than any run has."""
    course = _gauge_mm(desk, gauge, base)
    most = desk.sizes["joints of a run"]
    top = run.slope_mm * sure.sin(math.radians(run.pitch_deg))
    if top / course > most.possible[1]:
        raise desk.refuse(
            "CP112",
            f"{base}.gauge",
            f"a gauge of {course:.6g} mm makes {top / course:,.0f} joints in this run",
            f"at most {most.possible[1]:g} ({most.founded_on})",
            "Check the gauge and the length of the run.",
        )
    return joints_from_gauge(
        first_mm,
        course,
        pitch_deg=run.pitch_deg,
        slope_mm=run.slope_mm,
        water_line_mm=run.water_line_mm,
    )


def _falling(heights_mm: Sequence[float]) -> bool:
    return len(heights_mm) > 1 and list(heights_mm) == sorted(heights_mm, reverse=True)


def _crossed(wall: Wall, reach_mm: float) -> list[Finding]:
    """Find joints that are not in order from the corner as far as a run reaches, and say what they look like."""
    joints, second = wall.joints, wall.table.second_reading
    crossed = out_of_order(joints, reach_mm)
    if crossed is None:
        return []
    low, high = crossed
    where, remedy = f"{wall.base}.{wall.readings}[{high}]", ""
    heights = [joint.y_mm for joint in joints]
    once = wall.table.along_water_line or wall.table.joints or heights
    again = [] if second is None else second.joints if isinstance(second, SecondHeights) else second.along
    if _falling(heights):
        remedy = "They stand from the top down: write them from the bottom up."
    elif once == sorted(once) and _falling(again):
        remedy = "The second readings stand from the top down: write them from the bottom up."
    elif once == sorted(once):
        place = next((place for place, (one, next_one) in enumerate(pairwise(again), 1) if next_one <= one), None)
        guess = slip_out_of_order(again, place) if place else None
        if guess:
            where = f"{wall.second_key}[{guess[0]}]"
            remedy = f"That reading looks like a slip of {guess[1]}? Measure it again."
    elif guess := slip_out_of_order(once, high - 1):
        remedy = f"Joint {guess[0]} looks like a slip of {guess[1]}? Measure joints {low} and {high} again."
    return [order_fault(crossed, wall.desk.where(where), remedy)]


def along_water_line(desk: Desk, path: str, asked: CoursingTable | str | None) -> bool:
    """Tell whether the joints of a detail were read along its water line.

    Raises
    ------
    LeftOutError
        When the coursing cannot be found; the findings say why.
    """
    table, _ = _table(desk, path, asked)
    return table.along_water_line is not None


def _key(name: str) -> str:
    """Return ``name`` as a key in TOML, in quotes unless it is bare."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else json.dumps(name, ensure_ascii=False)


def _table(desk: Desk, path: str, asked: CoursingTable | str | None) -> tuple[CoursingTable, str]:
    named = desk.job.coursing
    lost = [name for name in desk.lost if name.startswith("coursing")]
    if isinstance(asked, CoursingTable):
        return asked, path
    if isinstance(asked, str):
        if asked in named:
            return named[asked], f"coursing.{asked}"
        if f"coursing.{asked}" in lost or "coursing" in lost:
            raise LeftOutError(path)
        meant = did_you_mean(asked, named)
        raise desk.refuse(
            "CP108",
            path,
            f"no coursing named {written(asked)}",
            f"one of {', '.join(sorted(named))}" if named else "a coursing of this job",
            f"Did you mean {meant}?" if meant else f"Add a table [coursing.{_key(asked)}], or correct the name.",
        )
    if len(named) == 1 and not lost:
        name = next(iter(named))
        return named[name], f"coursing.{name}"
    if lost:
        raise LeftOutError(path)
    raise desk.refuse(
        "CP104",
        path,
        f"{len(named)} coursings to choose from" if named else "no coursing",
        f"needed: one of {', '.join(sorted(named))}" if named else f"needed: {_WAYS}",
        "Name the coursing in the detail." if named else "Measure the bed joints at the lower corner.",
    )


def _faults(desk: Desk, table: CoursingTable, base: str) -> list[Finding]:
    """Find what does not go together in one coursing."""
    ways = [
        way
        for way in ("joints", "along_water_line", "steps", "step_points", "gauge")
        if getattr(table, way) is not None
    ]
    if not ways:
        alone = table.first_joint is not None
        return [
            desk.finding(
                "CP104",
                base,
                "first_joint alone" if alone else "no joints",
                f"needed: {_WAYS}",
                "Add gauge." if alone else "Add the joints as measured.",
            )
        ]
    unknown = find_masonry(desk, table.masonry, f"{base}.masonry") if table.masonry is not None else None
    if isinstance(unknown, Finding):
        return [unknown]
    if len(ways) > 1:
        both = f"{in_words(ways)} are given together"
        return [desk.finding("CP111", base, both, f"accepted: one of {_WAYS}", "Keep the one you measured.")]
    if table.gauge is not None:
        return _gauge_faults(desk, table, base)
    if table.step_points is not None:
        return point_faults(table.step_points, desk.where(f"{base}.step_points"))
    out = _second_faults(desk, table, f"{base}.second_reading")
    if table.first_joint is not None:
        out.append(
            desk.finding(
                "CP111",
                f"{base}.first_joint",
                f"first_joint and {ways[0]} are both given",
                "accepted: first_joint with gauge only",
                "Take the line out.",
            )
        )
    return out


def _gauge_faults(desk: Desk, table: CoursingTable, base: str) -> list[Finding]:
    out = []
    if table.first_joint is None:
        out.append(
            desk.finding(
                "CP104",
                f"{base}.first_joint",
                "nothing",
                "needed: height of the first bed joint at the lower corner",
                "Measure from the roof line up to the first joint.",
            )
        )
    if table.second_reading is not None:
        out.append(
            desk.finding(
                "CP111",
                f"{base}.second_reading",
                "a second reading is given with a gauge",
                "accepted: a second reading of measured joints",
                "Measure the joints instead of giving a gauge.",
            )
        )
    return out


def _second_faults(desk: Desk, table: CoursingTable, path: str) -> list[Finding]:
    match table.second_reading:
        case None:
            return []
        case _ if table.steps is not None:
            return [
                desk.finding(
                    "CP111",
                    path,
                    "a second reading is given with steps",
                    "accepted: a second reading of measured joints",
                    "Take the line out: the beds of your own steps are level.",
                )
            ]
        case SecondHeights(joints=again) if table.joints is not None:
            key, found, wanted = "joints", len(again), len(table.joints)
        case SecondLine(along=again) if table.along_water_line is not None:
            key, found, wanted = "along", len(again), len(table.along_water_line)
        case _:
            kind = "at and joints" if table.joints is not None else "line and along"
            return [
                desk.finding(
                    "CP111",
                    path,
                    "a second reading of the other kind",
                    f"accepted: {kind}",
                    "Take both readings in the same way.",
                )
            ]
    return _partly_read(desk, table, f"{path}.{key}", found, wanted)


def _partly_read(desk: Desk, table: CoursingTable, path: str, found: int, wanted: int) -> list[Finding]:
    """Find a second reading that leaves open which joints it holds."""
    second = table.second_reading
    given = second.from_joint if second is not None else None
    fits = second_fits(table)
    certain = fits == [wanted - found + 1]
    if (given is None and (found == wanted or certain)) or (given is not None and given + found - 1 <= wanted):
        return []
    if given is not None:
        remedy = (
            f"Begin it at joint {wanted - found + 1}, or leave readings out." if found <= wanted else "Count again."
        )
    elif len(fits) == 1:
        remedy = f"They look like joints {fits[0]} to {fits[0] + found - 1}: if so, add from_joint = {fits[0]} there."
    else:
        remedy = "Give both readings of every joint, or say with from_joint = ... at which joint the second begins."
    return [
        desk.finding(
            "CP107",
            path,
            f"{found} readings" + (f" from joint {given} on" if given is not None else ""),
            f"needed: {wanted}, one for each joint of the first reading, or from_joint and no more than there are",
            remedy,
        )
    ]


def _gauge_mm(desk: Desk, gauge: float | str, base: str) -> float:
    if not isinstance(gauge, str):
        return gauge
    brick = find_masonry(desk, gauge, f"{base}.gauge")
    if isinstance(brick, Finding):
        desk.add([brick])
        raise LeftOutError(base)
    if brick.course_least_mm != brick.course_most_mm:
        raise desk.refuse(
            "CP107",
            f"{base}.gauge",
            written(gauge),
            "a course that was measured; those of old brick vary "
            f"from {mm_text(brick.course_least_mm)} to {mm_text(brick.course_most_mm)} "
            f"({graded(brick.source, brick.confidence)})",
            "Measure the joints, or give the course that you measured in mm.",
        )
    return brick.course_least_mm


def _measured(desk: Desk, table: CoursingTable, base: str, run: RunLine) -> tuple[tuple[BedJoint, ...], str]:
    """Return the joints as measured, and the key that holds the readings."""
    second = table.second_reading
    if table.steps is not None:
        return joints_from_steps([(step.run, step.rise) for step in table.steps]), "steps"
    if table.step_points is not None:
        return joints_from_points(table.step_points), "step_points"
    if table.joints is not None:
        if isinstance(second, SecondHeights):
            return joints_from_heights(table.joints, second.joints, second.at, first_read_twice(table)), "joints"
        return joints_from_heights(table.joints), "joints"
    along = table.along_water_line or []
    try:
        if isinstance(second, SecondLine):
            first = first_read_twice(table)
            joints = joints_from_line(along, run.water_line_mm, run.pitch_deg, second.along, second.line, first)
        else:
            joints = joints_from_line(along, run.water_line_mm, run.pitch_deg)
    except ValueError as error:
        raise desk.refuse(
            "CP107",
            f"{base}.second_reading.along",
            str(error),
            "two readings of a joint at different distances from the corner",
            "Take the second reading along a line well above the water line.",
        ) from error
    return joints, "along_water_line"
