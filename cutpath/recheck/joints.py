"""Bed joints against the readings that were written: each joint must pass through what was read of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cutpath import sure
from cutpath.errors import Finding
from cutpath.profiles import masonry
from cutpath.recheck.written import NEAR, Asked, Table
from cutpath.values.leadwork import StepFlashing
from cutpath.values.survey import BedJoint


@dataclass(frozen=True, slots=True)
class _Through:
    """A point of the wall frame of the whole run that a joint must pass through, mm, and how it was read."""

    x_mm: float
    y_mm: float
    how: str


@dataclass(frozen=True, slots=True)
class _Wall:
    """The wall frame of the whole run: pitch and water line of its lowest part, and how far up this part begins."""

    pitch_deg: float
    water_line_mm: float
    x_mm: float
    y_mm: float


def check_joints(asked: Asked, steps: StepFlashing) -> Iterator[Finding]:
    """Hold the joints of a run to its coursing."""
    table = _coursing(asked)
    if table is None:
        return
    wall = _wall(asked, steps)
    read = _readings(table, wall)
    for joint in steps.joints:
        points = read.get(joint.number) if read is not None else _by_gauge(table, joint.number)
        if not points:
            yield asked.wrong("coursing", f"a joint {joint.number}", "the joints that were read")
            continue
        yield from _passes(asked, joint, points, wall)
        if len(points) == 1 and points[0].how == _END and joint.end_x_mm is not None:
            yield from asked.differs(f"coursing, step {joint.number}", joint.end_x_mm + wall.x_mm, points[0].x_mm)
    skipped = set(asked.step_table().get("skip_joints") or ())
    left_out = set(read or ()) - skipped - {joint.number for joint in steps.joints}
    if left_out:
        yield asked.wrong("coursing", f"no joint {min(left_out)}", "every joint that was read, less skip_joints")
    yield from _alike(asked, steps.joints, read or {})
    if read is None:
        yield from _enough(asked, table, steps, wall)


def check_joint(asked: Asked, steps: StepFlashing, joint: BedJoint) -> Iterator[Finding]:
    """Hold one joint, which a run need not reach, to the coursing of that run."""
    if (table := _coursing(asked)) is not None:
        wall = _wall(asked, steps)
        read = _readings(table, wall)
        points = read.get(joint.number, []) if read is not None else _by_gauge(table, joint.number)
        yield from _passes(asked, joint, points, wall)


def _passes(asked: Asked, joint: BedJoint, points: Sequence[_Through], wall: _Wall) -> Iterator[Finding]:
    """See that a joint passes through what was read of it."""
    for point in points:
        # The joint's own frame begins farther up the wall above a change of pitch.
        at = joint.y_mm + joint.slope * (point.x_mm - wall.x_mm) + wall.y_mm
        yield from asked.differs(f"coursing, joint {joint.number} {point.how}", at, point.y_mm)


_END = "at its end"


def _alike(asked: Asked, joints: Sequence[BedJoint], read: Mapping[int, Sequence[_Through]]) -> Iterator[Finding]:
    """Hold joints that were read once to be level, or to run as the nearest does that was read twice.

    That may be one that the steps skip.
    """
    twice = {number: (one, other) for number, (one, *others) in read.items() for other in others}
    slopes = {number: (other.y_mm - one.y_mm) / (other.x_mm - one.x_mm) for number, (one, other) in twice.items()}
    for joint in joints:
        if joint.number in slopes:
            continue
        away = {abs(number - joint.number): slope for number, slope in reversed(slopes.items())}
        wanted = away[min(away)] if away else 0.0
        yield from asked.differs(f"coursing, fall of joint {joint.number}", joint.slope, wanted, "in 1")


def _coursing(asked: Asked) -> Table | None:
    table = asked.entry if asked.of_chimney else asked.step_table()
    coursing = table.get("coursing")
    named = asked.job.get("coursing") or {}
    if isinstance(coursing, str):
        coursing = named.get(coursing)
    elif coursing is None and len(named) == 1:
        coursing = next(iter(named.values()))
    return coursing if isinstance(coursing, Mapping) else None


def _wall(asked: Asked, steps: StepFlashing) -> _Wall:
    """Walk up the run from its lower corner to where this part of it begins."""
    if asked.above is None:
        return _Wall(steps.pitch_deg, steps.water_line_mm, 0.0, 0.0)
    table = asked.step_table()
    lowest = table.get("pitch") if table.get("pitch") is not None else asked.job.get("pitch")
    legs = [(float(table["length"]), float(lowest or 0.0))]
    legs += [(float(part["length"]), float(part["pitch"])) for part in table["above"][: asked.above - 1]]
    x = math.fsum(length * sure.cos(math.radians(pitch)) for length, pitch in legs)
    y = math.fsum(length * sure.sin(math.radians(pitch)) for length, pitch in legs)
    return _Wall(legs[0][1], steps.water_line_mm, x, y)


def _readings(table: Table, wall: _Wall) -> dict[int, list[_Through]] | None:
    """Return the points that each joint was read at; None for a gauge."""
    second: Any = table.get("second_reading") or {}
    if table.get("joints") is not None:
        once = [_Through(0.0, float(y), "at the corner") for y in table["joints"]]
        again = [_Through(float(second["at"]), float(y), "at its second reading") for y in second.get("joints") or ()]
    elif table.get("along_water_line") is not None:
        once = [_along(float(t), wall.water_line_mm, wall.pitch_deg, "on the water line") for t in _tape(table)]
        again = [
            _along(float(t), float(second["line"]), wall.pitch_deg, "on the second line")
            for t in second.get("along") or ()
        ]
    elif table.get("steps") is not None:
        once, again = _climbed(table["steps"]), []
    elif table.get("step_points") is not None:
        once, again = [_Through(float(x), float(y), _END) for x, y in table["step_points"]], []
    else:
        return None
    read = {number: [point] for number, point in enumerate(once, 1)}
    first = int(second.get("from_joint") or len(once) - len(again) + 1)
    for number, point in enumerate(again, first):
        read.setdefault(number, []).append(point)
    return read


def _tape(table: Table) -> Sequence[float]:
    return tuple(table["along_water_line"])


def _along(tape_mm: float, line_mm: float, pitch_deg: float, how: str) -> _Through:
    """Turn a point of the strip frame into the wall frame: the tape begins on the plumb line through the corner.

    That line leans back in the strip frame, so the tape's zero lies at u = v tan p.
    """
    p = math.radians(pitch_deg)
    u, v = tape_mm + line_mm * sure.tan(p), line_mm
    turned = complex(u, v) * complex(sure.cos(p), sure.sin(p))
    return _Through(turned.real, turned.imag, how)


def _climbed(steps: Sequence[Table]) -> list[_Through]:
    """Walk up steps of the user's own one by one: up the rise, then along the run."""
    out, x, y = [], 0.0, 0.0
    for step in steps:
        y += float(step["rise"])
        x += float(step["run"])
        out.append(_Through(x, y, _END))
    return out


def _by_gauge(table: Table, number: int) -> list[_Through]:
    """Climb the courses one by one to a joint."""
    course, first = course_mm(table), table.get("first_joint")
    if course is None or first is None:
        return []
    y = float(first)
    for _ in range(number - 1):
        y += course
    return [_Through(0.0, y, "by the gauge")]


def course_mm(table: Table) -> float | None:
    """Return the course of a gauge: as written, or of the brickwork that it names."""
    gauge = table.get("gauge")
    if isinstance(gauge, str):
        named = {name.casefold(): brick for name, brick in masonry().items()}
        return named[gauge.casefold()].course_least_mm if gauge.casefold() in named else None
    return None if gauge is None else float(gauge)


def _enough(asked: Asked, table: Table, steps: StepFlashing, wall: _Wall) -> Iterator[Finding]:
    """Count the courses of a gauge up to the water line at the upper end, and see that none is left out between."""
    course, first = course_mm(table), table.get("first_joint")
    if course is None or first is None or not steps.joints:
        return
    p = math.radians(steps.pitch_deg)
    top = wall.y_mm + steps.slope_mm * sure.sin(p) + steps.water_line_mm / sure.cos(p)
    skipped = set(asked.step_table().get("skip_joints") or ())
    number, y = 1, float(first)
    wanted = []
    while True:
        wanted.append(number)
        if y >= top - NEAR:
            break
        number, y = number + 1, y + course
    there = {joint.number for joint in steps.joints} | skipped
    if missing := [str(n) for n in wanted if n not in there]:
        yield asked.wrong(
            "coursing.gauge",
            f"no joint {', '.join(missing[:5])}",
            f"worked out a second time: {len(wanted)} joints up to the water line at the upper end",
        )
    one_run = not asked.of_chimney and not asked.step_table().get("above")
    if one_run and max(there) > len(wanted) + 1:
        yield asked.wrong(
            "coursing.gauge",
            f"{max(there)} joints",
            f"worked out a second time: {len(wanted)} up to the water line at the upper end, and one over",
        )
