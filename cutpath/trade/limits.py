"""The rules of leadwork held against a surveyed job.

A published figure that was read refuses the job, and so does a shop's own; all others warn. Where it is otherwise, the
reason stands beside it and in the list of `rules`. Figures come from ``profiles/practice`` with their sources.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import surface_deg
from cutpath.trade.rules import Practice, severity_of
from cutpath.units import deg_text, mm_text
from cutpath.values.fact import Fact
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    CornerKind,
    CoverFlashing,
    Covering,
    Detail,
    DetailHead,
    Job,
    Origin,
    PipeSlate,
    PlainOutline,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)

SEVERE = "severe"
_LAPPED = (StepFlashing, AbutmentGutter, Apron, TopAbutment, CoverFlashing, ValleyGutter)
_LEAST_CODE: dict[type[Detail], str] = {
    StepFlashing: "least_code_step_flashing",
    Soakers: "least_code_soakers",
    Apron: "least_code_apron",
    CoverFlashing: "least_code_cover_flashing",
    BackGutter: "least_code_back_gutter",
    RidgeSaddle: "least_code_saddle",
    TopAbutment: "least_code_apron",
    ValleyGutter: "least_code_valley_gutter",
    AbutmentGutter: "least_code_abutment_gutter",
    PipeSlate: "least_code_pipe_slate",
}

_THICKER_IN_SEVERE = (StepFlashing, Apron, TopAbutment, CoverFlashing, RidgeSaddle)
"""What NHBC Standards 7.2.20 Table 22 lists: flashing, apron, cover flashing and saddle."""


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


def check_rules(job: Job, practice: Practice) -> tuple[Finding, ...]:
    """Hold every detail of a job against the rules of the trade.

    Parameters
    ----------
    job : Job
    practice : mapping of str to Fact

    Returns
    -------
    tuple of Finding
        Faults and warnings in the order of the details; each names its figure, its rule and the rule's source.
    """
    out: list[Finding] = []
    for detail in job.details:
        out += _check_code(detail, practice)
        out += _check_exposure(detail, job, practice)
        out += _check_lap(detail, practice)
        out += _check_sizes(detail, job, practice)
    return tuple(out)


def _check_sizes(detail: Detail, job: Job, practice: Practice) -> Iterator[Finding]:
    match detail:
        case StepFlashing():
            yield from _check_step(detail, practice)
            yield from _check_step_cover(detail, job, practice)
            yield from _check_change(detail)
        case Soakers():
            yield from _check_soakers(detail, job, practice)
        case Apron() | TopAbutment():
            yield from _check_apron(detail, job, practice)
        case CoverFlashing():
            yield from _check_turn_in(detail.head, detail.turn_in_mm, practice)
            yield from _least(detail.head, "cover", detail.cover_mm, practice["cover_flashing_cover"], "CP306")
        case BackGutter():
            yield from _check_gutter(detail, practice)
        case RidgeSaddle():
            yield from _check_saddle(detail, practice)
        case AbutmentGutter():
            yield from _least(detail.head, "upstand", detail.upstand_mm, practice["upstand"], "CP305")
        case PipeSlate():
            yield from _least(detail.head, "sleeve", detail.sleeve_mm, practice["pipe_sleeve"], "CP305")
            yield from _least(detail.head, "below", detail.below_mm, practice["apron_cover"], "CP306")
        case ValleyGutter():
            yield from _check_fillet(detail, detail.width_mm / 2, "width", practice)
        case PlainOutline():
            pass


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


def _least(
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


def _check_code(detail: Detail, practice: Practice) -> Iterator[Finding]:
    name = _LEAST_CODE.get(type(detail))
    head = detail.head
    if name and head.lead.code < practice[name].value:
        fact = practice[name]
        yield Finding(
            "CP301",
            head.origin.key("code"),
            f"code {head.lead.code}",
            f"code {fact.value:.0f} or thicker ({fact.founded_on})",
            f"Use code {fact.value:.0f}.",
            severity_of(fact),
        )
    most = practice["most_code_soakers"]
    if isinstance(detail, Soakers) and head.lead.code > most.value:
        yield Finding(
            "CP311",
            head.origin.key("code"),
            f"code {head.lead.code} for soakers",
            f"code {most.value:.0f} or thinner ({most.founded_on})",
            "Use code 3: thicker soakers lift the slates or tiles.",
            severity_of(most),
        )


def _check_exposure(detail: Detail, job: Job, practice: Practice) -> Iterator[Finding]:
    """Find the least code where a severe exposure asks for a thicker one; thinner still is a finding of its own."""
    if job.exposure != SEVERE or not isinstance(detail, _THICKER_IN_SEVERE):
        return
    least, fact = practice[_LEAST_CODE[type(detail)]].value, practice["codes_more_in_severe_exposure"]
    head = detail.head
    if least <= head.lead.code < least + fact.value:
        yield Finding(
            "CP318",
            head.origin.key("code"),
            f"code {head.lead.code} in severe exposure",
            f"code {least + fact.value:.0f} or thicker ({fact.founded_on})",
            f"Use code {least + fact.value:.0f}, or ask whoever answers for the roof.",
            Severity.WARNING,
        )


def _roof_slope_deg(detail: Detail) -> float | None:
    """Return the true pitch of the roof on which laps of a detail lie; None where they stand on a wall or are level.

    The rule of the slope is for lead that lies in the way of the water; strips that stand on a wall keep the lap
    between lengths, whichever way they run.
    """
    match detail:
        case StepFlashing():
            return surface_deg(detail.pitch_deg, detail.covering) if detail.cover_mm else None
        case AbutmentGutter():
            return detail.pitch_deg
        case ValleyGutter():
            return detail.true_pitch_deg
        case _:
            return None


def _check_lap(detail: Detail, practice: Practice) -> Iterator[Finding]:
    """Find a lap under the rule of the slope on which it lies, or under the level rule where it lies on none.

    Where no lap may be made, whether one is needed shows when the run is divided.
    """
    if not isinstance(detail, _LAPPED) or detail.head.no_lap:
        return
    head, rule, slope_deg = detail.head, practice["slope_lap_head"], _roof_slope_deg(detail)
    if slope_deg is None:
        yield from _least(head, "lap", head.lap_mm, practice["least_lap"], "CP303")
        return
    least = lap_mm(slope_deg, practice)
    if head.lap_mm < least - POINT_MM:
        yield Finding(
            "CP303",
            head.origin.key("lap"),
            mm_text(head.lap_mm),
            f"at least {mm_text(least)} along a slope of {deg_text(slope_deg)} ({rule.founded_on})",
            f"Make it {mm_text(free_lap_mm(least, practice))}, or leave the key out.",
            severity_of(rule),
        )


def _check_turn_in(head: DetailHead, turn_in_mm: float, practice: Practice) -> Iterator[Finding]:
    """Find a turn-in that is shallow, or so deep that it is painted.

    As deep as old brickwork allows is a warning, shallower still goes by the rule's own weight.
    """
    today, old = practice["turn_in"], practice["turn_in_old_brickwork"]
    if old.value - POINT_MM <= turn_in_mm < today.value - POINT_MM:
        yield Finding(
            "CP304",
            head.origin.key("turn_in"),
            mm_text(turn_in_mm),
            f"at least {mm_text(today.value)} ({today.founded_on}); {old.founded_on}",
            "Rake the joint out deeper where the brick allows it; else hold it with wedges at every step.",
            Severity.WARNING,
        )
    elif turn_in_mm < today.value - POINT_MM:
        yield from _least(head, "turn_in", turn_in_mm, today, "CP304")
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


def _check_step(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    yield from _check_turn_in(step.head, step.turn_in_mm, practice)
    fact = practice["step_joint_above_roof"]
    plumb_mm = step.water_line_mm / math.cos(math.radians(step.pitch_deg))
    if plumb_mm < fact.value - POINT_MM:
        needed = fact.value * math.cos(math.radians(step.pitch_deg))
        yield Finding(
            "CP310",
            step.head.origin.key("water_line"),
            f"folds begin {mm_text(plumb_mm)} plumb above the roof",
            f"at least {mm_text(fact.value)} ({fact.founded_on})",
            f"Raise the water line to {mm_text(math.ceil(needed))} where the joints allow it.",
            Severity.WARNING,  # the old model water line of 65 breaks this rule under 30 deg: the sources disagree
        )


def _check_change(step: StepFlashing) -> Iterator[Finding]:
    """Say why a strip ends where the roof changes its pitch, and how it is fitted there."""
    if step.tongue is None:
        return
    yield Finding(
        "CP313",
        step.head.origin.key(""),
        f"the roof changes from {deg_text(step.tongue.pitch_deg)} to {deg_text(step.pitch_deg)}",
        f"a lap of {mm_text(step.tongue.lap_mm)} there: lead cannot be bent in its own plane, so the strip is cut",
        "Fit the length below first; the tongue of this one follows the lower roof, over its last tooth up to the "
        "mark, and turns into the same joints."
        + (
            " Fold its cover where the roof changes, and weld the notch between wall and cover."
            if step.cover_mm
            else ""
        ),
        Severity.NOTE,
    )


def _check_step_cover(step: StepFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a cover on the roof to its width, and say what holds its free edge and what meets it at the arris."""
    if not step.cover_mm:
        return
    least = practice["step_cover_on_roof_severe" if job.exposure == SEVERE else "step_cover_on_roof"]
    yield from _least(step.head, "cover", step.cover_mm, least, "CP306")
    yield _clips(step.head, step.slope_mm, practice)
    yield from _surface(step, practice)
    if step.corner.kind is CornerKind.NONE:
        return
    if step.head.no_lap:
        yield Finding(
            "CP315",
            step.head.origin.key("return"),
            f"a cover that laps over the apron at the arris, on a roof at {step.head.no_lap}",
            "parts that meet without a lap down the slope",
            "Have apron and cover welded into one, or a drip formed between them; ask a competent leadworker.",
        )
        return
    lap = mm_text(free_lap_mm(step.head.lap_mm, practice))
    yield Finding(
        "CP313",
        step.head.origin.key("return"),
        "the return goes round the arris; the cover on the roof ends square there and does not go round",
        f"an apron whose side lies under the cover, up the roof by at least {lap}",
        "Fit the apron first, and dress the foot of the arris down over it; no lead is cut away there.",
        Severity.NOTE,
    )


def _surface(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    """Say which slope laps on the roof follow; warn where lengths lap on a surface that is not known."""
    pitch, covering = deg_text(step.pitch_deg), step.covering
    if covering is not None and covering.flatter_deg > 0:
        yield Finding(
            "CP316",
            step.head.origin.key("pitch"),
            f"laps on {covering.name} at {deg_text(surface_deg(step.pitch_deg, covering))}: its surface lies "
            f"{deg_text(covering.flatter_deg)} flatter than the roof at {pitch}",
            "laps by the pitch of what they lie on",
            "Nothing to do; give flatter_by in the covering where it was measured on the tiles.",
            Severity.NOTE,
        )
    elif covering is None and step.slope_mm > step.head.longest_mm:
        least, most = practice["true_pitch_less_least"], practice["true_pitch_less_most"]
        yield Finding(
            "CP316",
            step.head.origin.key("covering"),
            f"no covering is named, so laps hold for a surface at {pitch}",
            f"tiles lie {least.value:g} to {deg_text(most.value)} flatter than the rafters ({most.founded_on})",
            'Name the covering, such as covering = "interlocking tile", or give its flatter_by.',
            Severity.WARNING,
        )


def _clips(head: DetailHead, edge_mm: float, practice: Practice) -> Finding:
    """Say how many clips hold a free edge: one near each end, and the rest no farther apart than the greatest."""
    least, most = practice["clip_spacing_least"], practice["clip_spacing_most"]
    count = math.ceil(edge_mm / most.value - POINT_MM) + 1
    return Finding(
        "CP312",
        head.origin.key(""),
        f"a free edge of {mm_text(edge_mm)} on the roof",
        f"clips {least.value:g} to {mm_text(most.value)} apart ({most.founded_on})",
        f"Fix {count} clips under it before it is dressed down, one near each end.",
        Severity.NOTE,
    )


def _check_soakers(soakers: Soakers, job: Job, practice: Practice) -> Iterator[Finding]:
    head = soakers.head
    fact, clear = practice["soaker_upstand"], practice["water_line_clearance_least"]
    if soakers.upstand_mm < fact.value - POINT_MM:
        yield Finding(
            "CP305",
            head.origin.key("upstand"),
            f"soakers stand {mm_text(soakers.upstand_mm)} up the wall",
            f"at least {mm_text(fact.value)} ({fact.founded_on})",
            f"Raise the water line to {mm_text(fact.value + clear.value)} where the joints allow it.",
            Severity.WARNING,  # a water line of 65, which old specifications have, leaves soakers no more than 60
        )
    yield from _least(head, "roof", soakers.roof_mm, practice["soaker_roof"], "CP306")
    step = _step_over(soakers, job)
    if step is None:
        return
    clearance = step.water_line_mm - soakers.upstand_mm
    fact = clear
    if clearance < fact.value - POINT_MM:
        above = clearance < -POINT_MM
        yield Finding(
            "CP307",
            head.origin.key("upstand"),
            f"{mm_text(soakers.upstand_mm)} under a water line at {mm_text(step.water_line_mm)}",
            f"at least {mm_text(fact.value)} below the water line ({fact.founded_on})",
            f"Raise the water line to {mm_text(soakers.upstand_mm + fact.value)}, or lower the upstand.",
            Severity.FAULT if above else Severity.WARNING,
        )


def _step_over(soakers: Soakers, job: Job) -> StepFlashing | None:
    """Give the step flashing in whose table these soakers were written, if any."""
    parent = soakers.head.origin.path.removesuffix(".soakers")
    for detail in job.details:
        if isinstance(detail, StepFlashing) and detail.head.origin.path == parent:
            return detail
    return None


def _check_apron(apron: Apron | TopAbutment, job: Job, practice: Practice) -> Iterator[Finding]:
    yield from _check_turn_in(apron.head, apron.turn_in_mm, practice)
    yield from _least(apron.head, "upstand", apron.upstand_mm, practice["upstand"], "CP305")
    cover = practice["apron_cover_severe" if job.exposure == SEVERE else "apron_cover"]
    yield from _least(apron.head, "cover", apron.cover_mm, cover, "CP306")


def _check_gutter(gutter: BackGutter, practice: Practice) -> Iterator[Finding]:
    """Hold a back gutter to its least sizes, and say where a roll divides its sole, which is never lapped."""
    head = gutter.head
    if gutter.upstand_mm < practice["upstand"].value - POINT_MM:
        yield from _least(head, "upstand", gutter.upstand_mm, practice["upstand"], "CP305")
    else:
        yield from _least(head, "upstand", gutter.upstand_mm, practice["gutter_upstand"], "CP305")
    for key, found in (("sole", gutter.sole_mm), ("up_roof", gutter.up_roof_mm)):
        yield from _least(head, key, found, practice[f"gutter_{key}"], "CP306")
    if gutter.side_mm:
        yield from _least(head, "side", gutter.side_mm, practice["gutter_side"], "CP306")
    yield from _check_fillet(gutter, gutter.up_roof_mm, "up_roof", practice)
    total = gutter.width_mm + 2 * gutter.side_mm
    if total > head.longest_mm + POINT_MM:
        level, roll = practice["laps_in_level_gutter_sole"], practice["roll_core"]
        yield Finding(
            "CP313",
            head.origin.key("width"),
            f"{mm_text(total)} of gutter in two lengths",
            f"at most {mm_text(head.longest_mm)} each, and no lap in a level sole ({level.founded_on})",
            f"Form a wood-cored roll {mm_text(roll.value)} wide across sole and roof at mid-length "
            f"({roll.founded_on}); its foot is marked on both lengths, the overcloak goes on last.",
            Severity.NOTE,
        )


def _check_fillet(
    gutter: BackGutter | ValleyGutter, reach_mm: float, key: str, practice: Practice
) -> Iterator[Finding]:
    """Find lead that reaches over the crest of a fillet, but not far enough; short of it there is no pattern at all."""
    if gutter.fillet is None:
        return
    crest, fact = gutter.fillet.crest_mm, practice["gutter_turn_over"]
    if crest + POINT_MM < reach_mm < crest + gutter.turn_over_mm - POINT_MM:
        yield Finding(
            "CP412",
            gutter.head.origin.key(key),
            f"the lead reaches {mm_text(reach_mm)}, and the crest of the fillet lies {mm_text(crest)} along it",
            f"at least {mm_text(gutter.turn_over_mm)} beyond the crest ({fact.founded_on})",
            "Take a wider sheet, or set the fillet nearer.",
            severity_of(fact),
        )


def _check_saddle(saddle: RidgeSaddle, practice: Practice) -> Iterator[Finding]:
    """Hold a saddle to its published size; the size is given for steep ridges only, so a flat one is warned of."""
    head, size, steep = saddle.head, practice["saddle_size"], practice["saddle_pitch"]
    yield from _least(head, "width", saddle.width_mm, size, "CP306")
    yield from _least(head, "length", saddle.length_mm, size, "CP306")
    yield from _least(head, "upstand", saddle.upstand_mm, practice["upstand"], "CP305")
    cover = practice["apron_cover"]
    if saddle.upstand_mm > saddle.length_mm - cover.value + POINT_MM:
        yield Finding(
            "CP306",
            head.origin.key("upstand"),
            f"{mm_text(saddle.upstand_mm)} of {mm_text(saddle.length_mm)} up the wall",
            f"at least {mm_text(cover.value)} left to lie on the ridge ({cover.founded_on})",
            "Take a longer sheet, or less of it up the wall.",
            severity_of(cover),
        )
    if saddle.pitch_deg <= steep.value:
        yield Finding(
            "CP306",
            head.origin.key("pitch"),
            f"a ridge at {deg_text(saddle.pitch_deg)}",
            f"{mm_text(size.value)} square is given for pitches over {deg_text(steep.value)} ({steep.founded_on})",
            "Take a larger sheet on a flatter roof: water runs farther back under the covering.",
            Severity.WARNING,
        )
