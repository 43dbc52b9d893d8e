"""What families share of the rules of leadwork: lengths, laps, codes, turn-ins.

A published figure that was read refuses the job, and so does a shop's own; all others warn. Where it is otherwise, the
reason stands beside it and in the list of `rules`. Figures come from ``profiles/practice`` with their sources.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice, severity_of
from cutpath.units import deg_text, mm_text
from cutpath.values.fact import Fact
from cutpath.values.survey import Covering, DetailHead, Origin

SEVERE = "severe"


def longest_fact(code: int, practice: Practice) -> Fact:
    """Give the rule for the longest length in lead of ``code``."""
    return practice["longest_code_3" if code <= 3 else "longest_code_4"]


def longest_mm(code: int, practice: Practice, user_mm: float | None = None) -> float:
    """Give the longest length allowed: the rule's for the code, or the user's own where that is less.

    Parameters
    ----------
    code : int
    practice : mapping of str to Fact
    user_mm : float, optional
        The user's own limit; more than the rule does not count.

    Returns
    -------
    float
        mm.

    Notes
    -----
    Sources: NHBC Standards 7.2.20 Table 22 (code 4 and up); common practice, no source (code 3).
    """
    rule = longest_fact(code, practice).value
    return rule if user_mm is None else min(rule, user_mm)


def lap_mm(slope_deg: float, practice: Practice) -> float:
    """Return the least lap between two lengths that lie on a roof, one over the other down the slope.

    Parameters
    ----------
    slope_deg : float
        True pitch of what they lie on.
    practice : mapping of str to Fact

    Returns
    -------
    float
        mm; 75 / sin(slope) and never under 150. Infinite where the slope is flatter than 11 deg: no lap will do there,
        joints across the fall are drips.

    Notes
    -----
    Source: Roofconsult, "Tips 4"; the level lap is common practice, no source.
    """
    if slope_deg < practice["slope_lap_flattest"].value - POINT_MM:
        return math.inf
    return max(practice["slope_lap_head"].value / math.sin(math.radians(slope_deg)), practice["slope_lap_least"].value)


def free_lap_mm(lap_mm: float, practice: Practice) -> float:
    """Return a lap of lengths that may be cut anywhere: rounded up to a mark that is easy to read on a tape.

    Laps of whole steps are not rounded: they are as long as the courses make them.
    """
    step = practice["lap_rounding"].value
    return lap_mm if math.isinf(lap_mm) else step * math.ceil(lap_mm / step - POINT_MM)


def too_flat(slope_deg: float, practice: Practice) -> str:
    """Return why lengths on a roof of this slope may not lap: the slope, the rule and its source."""
    fact = practice["slope_lap_flattest"]
    return (
        f"a true pitch of {slope_deg:.4g} deg: lead is lapped from {deg_text(fact.value)} on, below that joints across "
        f"the fall are drips ({fact.founded_on})"
    )


def check_covering(
    covering: Covering, pitch_deg: float, origin: Origin, source: str = "the covering's own data"
) -> tuple[Finding, ...]:
    """Warn where a covering lies flatter than its least pitch; lead cannot cure that, so it is no fault."""
    least = covering.least_pitch_deg
    if least is None or pitch_deg > least - POINT_MM:
        return ()
    return (
        Finding(
            "CP308",
            origin.key("pitch"),
            f"{covering.name} at {deg_text(pitch_deg)}",
            f"its least pitch is {deg_text(least)} ({source})",
            "Measure the pitch again; if it is right, tell whoever answers for the roof.",
            Severity.WARNING,
        ),
    )


def under_least(
    head: DetailHead, key: str, value_mm: float, fact: Fact, code: str, severity: Severity | None = None
) -> Iterator[Finding]:
    """Find a length under the least of a rule."""
    if value_mm < fact.value - POINT_MM:
        yield Finding(
            code,
            head.origin.key(key),
            mm_text(value_mm),
            f"at least {mm_text(fact.value)} ({fact.founded_on})",
            f"Make it {mm_text(fact.value)} or more.",
            severity or severity_of(fact),
        )


def check_least_code(head: DetailHead, fact: Fact) -> Iterator[Finding]:
    """Find lead that is thinner than its rule allows."""
    if head.lead.code < fact.value:
        yield Finding(
            "CP301",
            head.origin.key("code"),
            f"code {head.lead.code}",
            f"code {fact.value:.0f} or thicker ({fact.founded_on})",
            f"Use code {fact.value:.0f}.",
            severity_of(fact),
        )


def check_exposure(head: DetailHead, least: Fact, practice: Practice) -> Iterator[Finding]:
    """Find the least code where a severe exposure asks for a thicker one; thinner still is a finding of its own."""
    fact = practice["codes_more_in_severe_exposure"]
    if least.value <= head.lead.code < least.value + fact.value:
        yield Finding(
            "CP318",
            head.origin.key("code"),
            f"code {head.lead.code} in severe exposure",
            f"code {least.value + fact.value:.0f} or thicker ({fact.founded_on})",
            f"Use code {least.value + fact.value:.0f}, or ask whoever answers for the roof.",
            Severity.WARNING,
        )


def check_lap(head: DetailHead, slope_deg: float | None, practice: Practice) -> Iterator[Finding]:
    """Find a lap under the rule of the slope on which it lies, or under the level rule where it lies on none.

    ``slope_deg`` is the true pitch of the roof on which lengths lie, None where they stand on a wall or are level.
    Strips that stand on a wall keep the lap between lengths, whichever way they run. Where no lap may be made, whether
    one is needed shows when the run is divided.
    """
    if head.no_lap:
        return
    rule = practice["slope_lap_head"]
    if slope_deg is None:
        yield from under_least(head, "lap", head.lap_mm, practice["least_lap"], "CP303")
        return
    wanted = lap_mm(slope_deg, practice)
    if head.lap_mm < wanted - POINT_MM:
        yield Finding(
            "CP303",
            head.origin.key("lap"),
            mm_text(head.lap_mm),
            f"at least {mm_text(wanted)} along a slope of {deg_text(slope_deg)} ({rule.founded_on})",
            f"Make it {mm_text(free_lap_mm(wanted, practice))}, or leave the key out.",
            severity_of(rule),
        )


def check_turn_in(head: DetailHead, turn_in_mm: float, practice: Practice) -> Iterator[Finding]:
    """Find a turn-in that is shallow, or so deep that it is painted.

    As deep as old brickwork allows is a warning, shallower still goes by the rule's own weight.
    """
    least, old = practice["turn_in"], practice["turn_in_old_brickwork"]
    if old.value - POINT_MM <= turn_in_mm < least.value - POINT_MM:
        yield Finding(
            "CP304",
            head.origin.key("turn_in"),
            mm_text(turn_in_mm),
            f"at least {mm_text(least.value)} ({least.founded_on}); {old.founded_on}",
            "Rake the joint out deeper where the brick allows it; else hold it with wedges at every step.",
            Severity.WARNING,
        )
    elif turn_in_mm < least.value - POINT_MM:
        yield from under_least(head, "turn_in", turn_in_mm, least, "CP304")
    bare = practice["turn_in_unpainted"]
    if turn_in_mm > bare.value + POINT_MM:
        yield Finding(
            "CP317",
            head.origin.key("turn_in"),
            f"{mm_text(turn_in_mm)} into the joint",
            f"bitumen paint on both sides beyond {mm_text(bare.value)} ({bare.founded_on})",
            "Paint both sides of the turn-in with bitumen before it goes into the joint.",
            Severity.NOTE,
        )
