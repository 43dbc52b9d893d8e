"""Soakers against their covering, by laying its courses up the roof one by one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from cutpath import sure
from cutpath.errors import Finding
from cutpath.profiles import coverings
from cutpath.recheck.sizes import upstand_of_soakers
from cutpath.recheck.written import NEAR, Asked
from cutpath.values.leadwork import Soakers


def check_soakers(asked: Asked, soakers: Soakers) -> Iterator[Finding]:
    """Hold size and number of soakers to the covering and the run."""
    yield from upstand_of_soakers(asked, soakers)
    yield from asked.differs("turn_down", soakers.turn_down_mm, asked.fact("soaker_turn_down"))
    laid = _covering(asked)
    if laid is None:
        return
    length, headlap = laid
    gauge = soakers.gauge_mm
    # Two courses up lies the tail of the next slate but one, which laps over this one's head by the headlap.
    yield from asked.differs("covering, two courses and the headlap", 2 * gauge + headlap, length)
    under = soakers.length_mm - soakers.turn_down_mm
    yield from asked.differs("covering, a soaker and one course", under + gauge, length)
    written = asked.own.get("count")
    wanted = int(written) if written is not None else _courses(_run_mm(asked), gauge)
    if wanted is not None and soakers.count != wanted:
        yield asked.wrong(
            "count", f"{soakers.count} soakers to a run", f"worked out a second time: {wanted}, one to each course"
        )


def _courses(run_mm: float, gauge_mm: float) -> int | None:
    """Lay the courses of a run one by one, None where there is nothing to lay."""
    if gauge_mm <= NEAR:
        return None
    courses, up = 0, 0.0
    while up < run_mm - NEAR * gauge_mm:
        courses, up = courses + 1, up + gauge_mm
    return courses


def _covering(asked: Asked) -> tuple[float, float] | None:
    """Return the covering's length and headlap."""
    written = asked.job.get("covering")
    table: Mapping[str, object] = written if isinstance(written, Mapping) else {"name": written}
    name = table.get("name")
    listed = {known.casefold(): data for known, data in coverings().items()}.get(str(name or "").casefold())
    length = table.get("length") or (listed.length_mm if listed else None)
    if length is None:
        return None
    own, lap, gauge = asked.own.get("headlap"), table.get("headlap"), table.get("gauge")
    if own is not None:
        return _figure(length), _figure(own)
    if lap is not None:
        return _figure(length), _figure(lap)
    if gauge is not None:
        return _figure(length), _figure(length) - 2 * _figure(gauge)
    if listed is None:
        return None
    severe = asked.job.get("exposure") == "severe"
    return _figure(length), listed.headlap_severe_mm if severe else listed.headlap_mm


def _figure(value: object) -> float:
    return float(str(value))


def _run_mm(asked: Asked) -> float:
    """Return the length of the run along the slope, over every pitch of it."""
    if asked.of_chimney:
        depth, pitch = asked.entry.get("depth"), asked.pitch_deg()
        if depth is None or pitch is None:
            return float(asked.entry["slope_length"])
        return math.hypot(float(depth), float(depth) * sure.tan(math.radians(pitch)))
    table = asked.step_table()
    above = table.get("above") or ()
    return float(table["length"]) + math.fsum(float(part["length"]) for part in above)
