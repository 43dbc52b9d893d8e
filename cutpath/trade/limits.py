"""What families share of the rules of leadwork: lengths, laps, codes, turn-ins.

A published figure that was read refuses the job, and so does a shop's own; all others warn. Where it is otherwise, the
reason stands beside the figure in ``profiles/practice``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from cutpath import sure
from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import lain_on_deg
from cutpath.trade.rules import Practice, held, said
from cutpath.units import deg_text, mm_text, unlike
from cutpath.values.fact import Fact
from cutpath.values.survey import Covering, DetailHead, Origin

SEVERE = "severe"


LISTED = frozenset({"step_flashing", "cover_flashing", "apron", "abutment", "saddle", "valley_gutter"})
"""Uses of lead for which a longest length is published: flashing, apron, cover flashing and saddle (NHBC Standards
7.2.20 Table 22), lead-lined valleys (7.2.21, edition of 2020)."""


def longest_fact(code: int, use: str, practice: Practice) -> Fact:
    """Return the rule for the longest length in lead of ``code`` for a ``use``, a key of the job's ``lead`` table."""
    if code <= 3:
        return practice["longest_code_3"]
    return practice["longest_code_4" if use in LISTED else "longest_unlisted"]


def longest_mm(code: int, use: str, practice: Practice, user_mm: float | None = None) -> float:
    """Return the longest length allowed: the rule's for the code, or the user's own where that is less.

    Parameters
    ----------
    code : int
    use : str
        Key of the job's ``lead`` table.
    practice : mapping of str to Fact
    user_mm : float, optional
        The user's own limit; more than the rule does not count.

    Returns
    -------
    float
        mm.

    Notes
    -----
    Sources: NHBC Standards 7.2.20 Table 22 and 7.2.21 (code 4 and up, what they list); common practice, no source
    (all else).
    """
    rule = longest_fact(code, use, practice).value
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
    return max(practice["slope_lap_head"].value / sure.sin(math.radians(slope_deg)), practice["slope_lap_least"].value)


def free_lap_mm(lap_mm: float, practice: Practice) -> float:
    """Return a lap of lengths that may be cut anywhere: rounded up to a mark that is easy to read on a tape.

    Laps of whole steps are not rounded: they are as long as the courses make them.
    """
    step = practice["lap_rounding"].value
    return lap_mm if math.isinf(lap_mm) else step * math.ceil(lap_mm / step - POINT_MM)


def too_flat(slope_deg: float, practice: Practice) -> str:
    """Return why lengths on a roof of this slope may not lap: the slope, the rule and its source."""
    fact = practice["slope_lap_flattest"]
    found = unlike(deg_text(slope_deg), slope_deg, deg_text, fact.value)
    return (
        f"a true pitch of {found}: lead is lapped from {deg_text(fact.value)} on, and joints across the fall are drips "
        f"below that ({fact.founded_on})"
    )


def check_covering(covering: Covering, pitch_deg: float, origin: Origin) -> tuple[Finding, ...]:
    """Warn where a covering lies flatter than its least pitch, or laps too little for its pitch.

    Lead cannot cure either, so that they are no faults. A headlap that no pitch allows is told where it is written.
    """
    least, where = covering.least_pitch_deg, origin.key("pitch")
    if least is not None and pitch_deg < least - POINT_MM:
        pitch = unlike(deg_text(pitch_deg), pitch_deg, deg_text, least)
        return (said("covering_too_flat", where, covering=covering.name, pitch=pitch, least=least),)
    listed = [pair for pair in covering.least_headlaps if pair[0] < pitch_deg + POINT_MM]
    if not listed or covering.headlap_mm < min(mm for _, mm in covering.least_headlaps):
        return ()
    from_deg, wanted = max(listed)
    if covering.headlap_mm > wanted - POINT_MM:
        return ()
    return (
        said(
            "headlap_short_at_its_pitch",
            where,
            covering=covering.name,
            headlap=covering.headlap_mm,
            pitch=pitch_deg,
            least=wanted,
            listed=from_deg,
        ),
    )


def check_least_code(head: DetailHead, fact: Fact) -> Iterator[Finding]:
    """Find lead that is thinner than its rule allows."""
    yield from held(fact, head.origin.key("code"), head.lead.code)


def check_exposure(head: DetailHead, least: Fact, practice: Practice) -> Iterator[Finding]:
    """Find the least code where a severe exposure asks for a thicker one; thinner still is a finding of its own."""
    more, code = practice["codes_more_in_severe_exposure"], head.lead.code
    if code >= least.value:
        wanted = least.value + more.value
        yield from held(more, head.origin.key("code"), code - least.value, code=code, wanted=wanted)


def check_lap(head: DetailHead, slope_deg: float | None, practice: Practice) -> Iterator[Finding]:
    """Find a lap under the rule of the slope on which it lies, or under the level rule where it lies on none.

    ``slope_deg`` is the true pitch of the roof on which lengths lie, None where they stand on a wall or are level.
    Strips that stand on a wall keep the lap between lengths, whichever way they run. Where no lap may be made, whether
    one is needed shows when the run is divided.
    """
    if head.no_lap:
        return
    where = head.origin.key("lap")
    if slope_deg is None:
        yield from held(practice["least_lap"], where, head.lap_mm)
        return
    least = slope_lap(slope_deg, practice)
    yield from held(least, where, head.lap_mm, slope=slope_deg, rounded=free_lap_mm(least.value, practice))


def slope_lap(slope_deg: float, practice: Practice) -> Fact:
    """Return the rule for laps along a slope, with the lap that it gives for this one in mm."""
    return replace(practice["slope_lap_head"], value=lap_mm(slope_deg, practice))


def lap_over(pitch_deg: float, covering: Covering | None, practice: Practice) -> Fact:
    """Return the rule for lead that laps down the roof over a covering, with the lap that it gives in mm.

    Where that is too flat for lead to lap it is the lap of the flattest that is not: the most that is printed.
    """
    return slope_lap(max(lain_on_deg(pitch_deg, covering), practice["slope_lap_flattest"].value), practice)


def check_lies_over(
    pitch_deg: float, covering: Covering | None, origin: Origin, sentence: str, practice: Practice
) -> Iterator[Finding]:
    """Warn where lead laps down the roof over a covering that is too flat for a lap."""
    flattest, lies_deg = practice["slope_lap_flattest"], lain_on_deg(pitch_deg, covering)
    if math.isinf(lap_mm(lies_deg, practice)):
        yield said(sentence, origin.key("pitch"), flattest, no_lap=too_flat(lies_deg, practice))


def check_turn_in(head: DetailHead, turn_in_mm: float, practice: Practice) -> Iterator[Finding]:
    """Find a turn-in that is shallow, or so deep that it is painted.

    As deep as old brickwork allows is a warning, shallower still goes by the rule's own weight.
    """
    where = head.origin.key("turn_in")
    least, old = practice["turn_in"], practice["turn_in_old_brickwork"]
    if old.value - POINT_MM <= turn_in_mm < least.value - POINT_MM:
        found = unlike(mm_text(turn_in_mm, side=-1), turn_in_mm, mm_text, least.value)
        yield said(old.name, where, old, found=found, least=least.value, least_founded_on=least.founded_on)
    else:
        yield from held(least, where, turn_in_mm)
    yield from held(practice["turn_in_unpainted"], where, turn_in_mm)
