"""True pitches and laps, by vectors: how steep the line is along which two roofs meet, and what a lap climbs on it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from cutpath import sure
from cutpath.errors import Finding
from cutpath.profiles import CoveringData, coverings
from cutpath.recheck.second import Second
from cutpath.recheck.written import NEAR, Asked
from cutpath.values.leadwork import Apron, StepFlashing, TopAbutment, ValleyGutter


def valley_rise(one_deg: float, other_deg: float) -> float:
    """Return how much a valley rises for each unit of its own length, between roofs whose eaves meet square.

    It runs in both roofs, so square to both of their normals.
    """
    one, other = (math.radians(pitch) for pitch in (one_deg, other_deg))
    first = np.array([sure.sin(one), 0.0, sure.cos(one)])
    second = np.array([0.0, sure.sin(other), sure.cos(other)])
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
    yield from asked.differs("pitch, the valley's own", valley.true_pitch_deg, math.degrees(sure.asin(rise)), "deg")


def check_lap(asked: Asked, second: Second) -> Iterator[Finding]:
    """Hold the lap to what was written, else to the rule; where the roof rises too little there is none.

    Of lengths that may be cut anywhere a lap on a roof is rounded up to a mark of the tape.
    """
    rise, lap = second.rise(asked, asked.detail), asked.detail.head.lap_mm
    if rise is None and not second.on_wall:
        return
    rule = lap_by_rule_mm(asked, rise, anywhere=second.run_mm(asked.detail) is not None)
    if math.isinf(rule):
        if math.isfinite(lap):
            yield asked.wrong("lap", f"a lap of {lap:.6g} mm on a roof that rises {rise:.4f} in 1", "no lap there")
        return
    written = asked.step_table().get("lap")
    yield from asked.differs("lap", lap, rule if written is None else float(written))


def check_change(asked: Asked, steps: StepFlashing) -> Iterator[Finding]:
    """Hold the lap at a change of pitch to what was written, else to the rule: the part above may end anywhere."""
    wanted, written = 0.0, asked.step_table().get("lap")
    if asked.goes_on_above:
        rule = lap_by_rule_mm(asked, cover_rise(asked, steps), anywhere=True)
        wanted = rule if written is None else float(written)
    yield from asked.differs("lap at the change of pitch", steps.lapped_mm, wanted)
    below = None if steps.tongue is None else steps.tongue.below
    if below != (asked.before if asked.above else None):
        yield asked.wrong("above", "no tongue" if below is None else "a tongue", "one over the run below, nowhere else")


def lap_by_rule_mm(asked: Asked, rise: float | None, *, anywhere: bool) -> float:
    """Return the least lap on a roof that rises so much for each unit of its length, or on a wall; infinite for none.

    On a roof it has to climb a height, and is never under a least one.
    """
    if rise is None:
        return asked.fact("least_lap")
    if rise < sure.sin(math.radians(asked.fact("slope_lap_flattest"))) - NEAR:
        return math.inf
    mark = asked.fact("lap_rounding")
    least = max(asked.fact("slope_lap_least"), asked.fact("slope_lap_head") / rise)
    return mark * math.ceil(least / mark - NEAR) if anywhere else least


def check_cover(asked: Asked, survey: Apron | TopAbutment) -> Iterator[Finding]:
    """Hold a cover down the roof to what was written, else to the usual one, or to what climbs as a lap has to."""
    usual = asked.fact("apron_cover_severe" if asked.severe else "apron_cover")
    written = asked.own.get("cover")
    wanted = max(usual, lap_over_covering_mm(asked, survey.pitch_deg)) if written is None else float(written)
    yield from asked.differs("cover", survey.cover_mm, wanted)


def lap_over_covering_mm(asked: Asked, pitch_deg: float) -> float:
    """Return the lap down the roof over a covering; on one too flat for a lap that of the flattest that is not."""
    slope = math.radians(pitch_deg - (_flatter_deg(asked) if _in_single_lap(asked) else 0.0))
    flattest = math.radians(asked.fact("slope_lap_flattest"))
    return lap_by_rule_mm(asked, sure.sin(max(slope, flattest)), anywhere=True)


def cover_rise(asked: Asked, steps: StepFlashing) -> float | None:
    """Return what the surface under a cover rises for each unit of its length; None of a step flashing without one."""
    if not steps.cover_mm:
        return None
    # A unit up the rafters, turned down by as much as the covering lies flatter, and never below the level.
    up, down = math.radians(steps.pitch_deg), math.radians(_flatter_deg(asked))
    return max(0.0, sure.sin(up) * sure.cos(down) - sure.cos(up) * sure.sin(down))


def _flatter_deg(asked: Asked) -> float:
    """Return how much flatter than the roof its covering lies, by what was written of it."""
    table, listed = _covering(asked)
    told = table.get("flatter_by")
    if isinstance(told, int | float):
        return float(told)
    if listed is None and table.get("length") is None:
        return 0.0  # a covering that nobody knows was refused, and the laps went by the roof
    return asked.fact(listed.flatter if listed else "true_pitch_less_most")


def _in_single_lap(asked: Asked) -> bool:
    """Tell whether the covering is laid in single lap: listed so, or not listed and without a length."""
    table, listed = _covering(asked)
    return bool(table) and (listed.single_lap if listed else table.get("length") is None)


def _covering(asked: Asked) -> tuple[Mapping[str, object], CoveringData | None]:
    """Return what was written of the covering, for the detail or its stack, else for the job, and what is listed."""
    stack = asked.entry.get("step_and_cover")
    tables = (asked.step_table(), stack if isinstance(stack, Mapping) else {}, asked.job)
    written = next((table["covering"] for table in tables if table.get("covering") is not None), None)
    if written is None:
        return {}, None
    table: Mapping[str, object] = written if isinstance(written, Mapping) else {"name": written}
    return table, {known.casefold(): data for known, data in coverings().items()}.get(
        str(table.get("name") or "").casefold()
    )
