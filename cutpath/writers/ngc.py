"""RS-274/NGC for tables (after NIST NISTIR 6556 and ISO 6983; the latter was not read in its own text).

Millimetres, absolute, a G word on every line that moves, the speed with every way down, arcs by their centre and of
half a turn at most, comments in brackets, the head up before every travel and at the end. The head is moved down and
up by Z, a spindle started and stopped, a knife turned by A or C where the machine does not turn it. The length of a
tool is named by G43, unless each has a file of its own. Nothing is written that `cutpath.writers.ngc_check` finds fault
with. No real machine was tried; an interpreter reads the files back in the tests.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator

from cutpath.drawing.tangential import heading_deg, turn_deg
from cutpath.errors import Finding, Refused
from cutpath.tolerances import LEAST_STROKE_MM
from cutpath.values.machine import Head, HeadKind, Machine, ToolHeights
from cutpath.values.pattern import Point
from cutpath.values.toolpath import Frame, Pass, ToolMove, ToolPaths
from cutpath.writers.bed import limits_mm, on_bed
from cutpath.writers.ngc_check import Box, faults_of

_LONGEST_COMMENT = 200


def to_ngc(paths: ToolPaths, frame: Frame, machine: Machine) -> str:
    """Write one frame as RS-274/NGC.

    Raises
    ------
    ValueError
        For a frame without passes, or a machine that is not set for a sheet or lacks its user's figures.
    Refused
        When the strict check finds a fault (CP610).
    """
    if not frame.passes:
        raise ValueError(f"frame {frame.number}: there is nothing to run")
    used = [h for h in machine.heads if any(p.head == h.name for p in frame.passes)]
    if any(h.mat_mm and h.down_mm >= 0 for h in used):
        raise ValueError(f"{machine.name} has not been set for a sheet: Machine.over")
    if any(h.speed_mm_min is None or (_spins(h) and h.spindle_rpm is None) for h in used):
        raise ValueError(f"{machine.name} lacks figures of its user: cutpath.machines.unready")
    text = "\n".join(_program(paths, frame, machine)) + "\n"
    found = faults_of(
        text,
        _room(machine),
        safe_mm=min(h.up_mm for h in used),
        spinning=frozenset(h.number for h in used if _spins(h)),
        rotary="".join(sorted({h.axis for h in used})),
    )
    if found:
        raise Refused(
            Finding(
                "CP610",
                f"{paths.title}, frame {frame.number}",
                fault,
                "a program that passes the strict check",
                "Nothing was written. This is a fault of the program: please keep the job file and report it.",
            )
            for fault in found
        )
    return text


def _room(machine: Machine) -> Box:
    """Return what the carriage may reach, wherever on it the heads sit."""
    (x0, y0), (x1, y1) = limits_mm(machine)
    asides = [h.at_mm for h in machine.heads]
    return Box(
        (x0 - max(x for x, _ in asides), y0 - max(y for _, y in asides), min(h.down_mm for h in machine.heads)),
        (x1 - min(x for x, _ in asides), y1 - min(y for _, y in asides), max(h.up_mm for h in machine.heads)),
    )


def _program(paths: ToolPaths, frame: Frame, machine: Machine) -> Iterator[str]:
    yield "%"
    yield _comment(f"{paths.title}. Millimetres. Frame {frame.number} of {len(paths.frames)} for {machine.name}")
    if paths.report.seconds is not None:
        minutes = max(1, round(paths.report.seconds / 60))
        yield _comment(f"All frames about {minutes} min, starts, stops and setting the sheet not counted")
    for caution in machine.cautions:
        yield _comment(caution)
    writer = _Writer(machine, frame)
    for at in frame.register:
        yield _comment(f"Set the sheet to the mark at {writer.xy(at, machine.heads[0])}")
    yield "G21 G17 G90 G94 G40 G49 G80"
    before: Pass | None = None
    for p in frame.passes:
        head = machine.head(p.head)
        on = p.goes_on_from(before)
        if before is not None and not on:
            yield writer.up(machine.head(before.head))
        if before is None or before.head != p.head:
            if before is not None:
                yield from _stopped(machine.head(before.head))
            yield from _taken(head, machine, writer)
        if not on:
            yield f"G0 {writer.xy(p.start, head)}"
        yield from writer.one_pass(p, head, before if on else None)
        before = p
    if before is not None:
        yield writer.up(machine.head(before.head))
        yield from _stopped(machine.head(before.head))
    yield "M2"
    yield "%"


def _spins(head: Head) -> bool:
    return head.kind is HeadKind.SPINDLE


def _taken(head: Head, machine: Machine, writer: _Writer) -> Iterator[str]:
    """Yield the change to a head: its length from the machine's table where that is used, up, its spindle started."""
    yield _comment(f"{head.name}, a {head.kind.value}{_depth(head)}")
    yield f"T{head.number} M6"
    if machine.tool_heights is ToolHeights.OFFSETS:
        yield f"G43 H{head.number}"
    yield writer.up(head)
    if _spins(head):
        yield f"S{head.spindle_rpm:.0f} M3"
        if head.spin_up_s:
            yield f"G4 P{head.spin_up_s:.1f}"


def _stopped(head: Head) -> Iterator[str]:
    if _spins(head):
        yield "M5"


def _depth(head: Head) -> str:
    return (
        f", {-head.down_mm:.2f} mm down: through the sheet and {head.mat_mm:g} mm into the mat" if head.mat_mm else ""
    )


def _comment(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.replace("×", "x")).encode("ascii", "ignore").decode()
    return f"({plain.replace('(', '[').replace(')', ']')[:_LONGEST_COMMENT]})"


class _Writer:
    """Writes passes in the numbers of one frame on one machine."""

    def __init__(self, machine: Machine, frame: Frame) -> None:
        self._decimals = machine.decimals
        self._place = on_bed(machine, frame)
        self._angle_deg = 0.0

    def number(self, value: float) -> str:
        text = f"{value:.{self._decimals}f}"
        return text.removeprefix("-") if float(text) == 0 else text

    def at(self, point: Point, head: Head) -> Point:
        """Return where the point is in the file, rounded as it is written there."""
        x, y = self._place(point, head)
        return (round(x, self._decimals), round(y, self._decimals))

    def xy(self, point: Point, head: Head) -> str:
        x, y = self.at(point, head)
        return f"X{self.number(x)} Y{self.number(y)}"

    def up(self, head: Head) -> str:
        return f"G0 Z{self.number(head.up_mm)}"

    def one_pass(self, p: Pass, head: Head, before: Pass | None) -> Iterator[str]:
        """Yield the way down, unless the head is down there already, and the way along the line."""
        depth_mm = head.down_mm * p.number / p.of
        at_mm = depth_mm if before is not None and before.number == p.number else None
        here = self.at(p.start, head)
        for step in p.moves:
            there = self.at(step.to, head)
            if there == here:
                continue
            if head.axis:
                yield from self._turn(here, there, head, down=at_mm is not None)
            wanted_mm = max(depth_mm, -head.swivel_mm) if step.shallow and head.swivel_mm else depth_mm
            if at_mm != wanted_mm:
                yield f"G1 Z{self.number(wanted_mm)} F{head.speed_mm_min:.1f}"
                at_mm = wanted_mm
            yield self._step(step, here, there, head)
            here = there
        if at_mm != depth_mm:
            yield f"G1 Z{self.number(depth_mm)} F{head.speed_mm_min:.1f}"

    def _turn(self, here: Point, there: Point, head: Head, *, down: bool) -> Iterator[str]:
        """Yield the turn of a knife into the way from ``here`` to ``there``: in the air from -180 to 180 deg anew."""
        wanted = heading_deg(here, there)
        if down:
            wanted = self._angle_deg + turn_deg(self._angle_deg, wanted)
        if not down or self.number(wanted) != self.number(self._angle_deg):
            yield f"{'G1' if down else 'G0'} {head.axis}{self.number(wanted)}"
        self._angle_deg = wanted

    def _step(self, step: ToolMove, here: Point, there: Point, head: Head) -> str:
        end = f"X{self.number(there[0])} Y{self.number(there[1])}"
        # Rounding may turn the ends of a tiny arc round, which would then be run as a whole circle.
        if step.centre is None or math.dist(here, there) < LEAST_STROKE_MM:
            return f"G1 {end}"
        x, y = self._place(step.centre, head)
        return f"{'G3' if step.ccw else 'G2'} {end} I{self.number(x - here[0])} J{self.number(y - here[1])}"
