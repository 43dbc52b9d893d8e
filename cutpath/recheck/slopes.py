"""True pitches and laps, by vectors: how steep the line is along which two roofs meet, and what a lap climbs on it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from cutpath.errors import Finding
from cutpath.recheck.written import NEAR, Asked
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    CoverFlashing,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)


def valley_rise(one_deg: float, other_deg: float) -> float:
    """Give how much a valley rises for each unit of its own length, between roofs whose eaves meet square.

    It runs in both roofs, so square to both of their normals.
    """
    one, other = (math.radians(pitch) for pitch in (one_deg, other_deg))
    first = np.array([math.sin(one), 0.0, math.cos(one)])
    second = np.array([0.0, math.sin(other), math.cos(other)])
    along = np.cross(first, second)
    return float(abs(along[2]) / np.linalg.norm(along))


def check_valley(asked: Asked, valley: ValleyGutter) -> Iterator[Finding]:
    """Hold the pitch of the other roof, and the valley's own, to what was written."""
    pitch = asked.pitch_deg()
    if pitch is None:
        return
    other = asked.own.get("other_pitch")
    other_deg = pitch if other is None else float(other)
    yield from asked.differs("other_pitch", valley.other_pitch_deg, other_deg, "deg")
    rise = valley_rise(pitch, other_deg)
    yield from asked.differs("pitch, the valley's own", valley.true_pitch_deg, math.degrees(math.asin(rise)), "deg")


def check_lap(asked: Asked) -> Iterator[Finding]:
    """Hold the lap to what was written, else to the rule.

    On a roof a lap has to climb a height, and is never under a least one; on a wall it is level. It may be rounded up
    to a mark of the tape.
    """
    detail = asked.detail
    rise = _rise(asked)
    if rise is None:
        return
    written = asked.step_table().get("lap")
    if written is not None:
        yield from asked.differs("lap", detail.head.lap_mm, float(written))
        return
    least, climbs = asked.fact("least_lap"), 0.0
    if rise > NEAR:
        least, climbs = asked.fact("slope_lap_least"), asked.fact("slope_lap_head")
    lap, mark = detail.head.lap_mm, asked.fact("lap_rounding")
    short = lap < least - NEAR or lap * rise < climbs - NEAR
    shorter = lap - mark
    long = shorter > least + NEAR and (rise <= NEAR or shorter * rise > climbs + NEAR)
    if short or long:
        yield asked.wrong(
            "lap",
            f"a lap of {lap:.6g} mm, which climbs {lap * rise:.6g} mm",
            f"worked out a second time: {least:g} mm or more, climbing {climbs:g} mm or more, and no more than a "
            f"mark of {mark:g} mm over that",
        )


def _rise(asked: Asked) -> float | None:
    """Give what the line rises along which lengths lap, for each unit of its length; None where nothing laps."""
    detail = asked.detail
    match detail:
        case ValleyGutter():
            return valley_rise(detail.pitch_deg, detail.other_pitch_deg)
        case AbutmentGutter():
            return math.sin(math.radians(detail.pitch_deg))
        case StepFlashing() if detail.cover_mm:
            # A lap above a change of pitch is that of the lowest part.
            pitch = asked.step_table().get("pitch", asked.job.get("pitch"))
            lowest = detail.pitch_deg if asked.own is asked.step_table() or pitch is None else float(pitch)
            return math.sin(math.radians(lowest))
        case StepFlashing() | Apron() | TopAbutment() | CoverFlashing():
            return 0.0
        case _:
            return None
