"""What step flashings are held to."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.step_flashing.layout import lay_out
from cutpath.families.step_flashing.run import joint_of_return
from cutpath.trade.coverings import surface_deg
from cutpath.trade.limits import (
    SEVERE,
    check_turn_in,
    free_lap_mm,
)
from cutpath.trade.rules import Practice, held, said
from cutpath.values.leadwork import CornerKind, StepFlashing
from cutpath.values.survey import DetailHead, Job


def _check_step(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    yield from check_turn_in(step.head, step.turn_in_mm, practice)
    fact, cos_p = practice["step_joint_above_roof"], sure.cos(math.radians(step.pitch_deg))
    where, plumb_mm = step.head.origin.key("water_line"), step.water_line_mm / cos_p
    yield from held(fact, where, plumb_mm, raised=math.ceil(fact.value * cos_p))


def _check_return(step: StepFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a return to a level lap on the next face; those of a chimney were held to it with its other parts."""
    if step.corner.kind is CornerKind.NONE or any(step.head.label in stack.parts for stack in job.chimneys):
        return
    where, over = step.head.origin.key("return.length"), "round the arris, over what lies on the next face"
    yield from held(practice["least_lap"], where, step.corner.length_mm, "least_lap_at_an_arris", over=over)


def _check_foot(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    """Hold a return whose foot stands above the roof to the cover over an upstand."""
    run = lay_out(step)[0] if step.corner.kind is not CornerKind.NONE and step.corner.foot_mm > 0 else None
    joint = joint_of_return(run) if run else None
    if joint is not None:
        where, high = step.head.origin.key("return.foot"), joint.y_mm - step.corner.foot_mm
        yield from held(practice["cover_flashing_cover"], where, high, "cover_of_a_return", joint=joint.number)


def _check_change(step: StepFlashing) -> Iterator[Finding]:
    """Say why a strip ends where the roof changes its pitch, and how it is fitted there."""
    if step.tongue is not None:
        yield said(
            "change_of_pitch_with_cover" if step.cover_mm else "change_of_pitch",
            step.head.origin.key(""),
            below=step.tongue.pitch_deg,
            above=step.pitch_deg,
            lap=step.tongue.lap_mm,
        )


def _check_step_cover(step: StepFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a cover on the roof to its width, and say what holds its free edge and what meets it at the arris."""
    if not step.cover_mm:
        return
    where, no_lap = step.head.origin.key, step.head.no_lap
    width = practice["step_cover_on_roof_severe" if job.exposure == SEVERE else "step_cover_on_roof"]
    yield from held(width, where("cover"), step.cover_mm)
    yield _clips(step.head, step.slope_mm, practice)
    yield from _surface(step, practice)
    if step.corner.kind is CornerKind.NONE:
        return
    if no_lap:
        yield said("no_lap_at_the_arris", where("return"), no_lap=no_lap)
    else:
        yield said("cover_ends_at_the_arris", where("return"), lap=free_lap_mm(step.head.lap_mm, practice))


def _surface(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    """Say which slope laps on the roof follow; warn where lengths lap on a surface that is not known."""
    where, pitch, covering = step.head.origin.key, step.pitch_deg, step.covering
    if covering is not None and covering.flatter_deg > 0:
        yield said(
            "surface_flatter",
            where("pitch"),
            covering=covering.name,
            surface=surface_deg(pitch, covering),
            flatter=covering.flatter_deg,
            pitch=pitch,
        )
    elif covering is None and step.slope_mm > step.head.longest_mm:
        least, most = practice["true_pitch_less_least"], practice["true_pitch_less_most"]
        yield said("surface_not_known", where("covering"), most, pitch=pitch, least=least.value)


def _clips(head: DetailHead, edge_mm: float, practice: Practice) -> Finding:
    """Say that clips hold a free edge, and how far apart; how many hangs on the lengths, which are not known yet."""
    least, most = practice["clip_spacing_least"], practice["clip_spacing_most"]
    return said(most.name, head.origin.key(""), most, edge=edge_mm, least=least.value)


def check(step: StepFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a run of step flashing to the rules."""
    yield from _check_step(step, practice)
    yield from _check_step_cover(step, job, practice)
    yield from _check_return(step, job, practice)
    yield from _check_foot(step, practice)
    yield from _check_change(step)


def roof_deg(step: StepFlashing) -> float | None:
    """Return the true pitch of what its laps lie on; None over soakers, where they stand on the wall."""
    return surface_deg(step.pitch_deg, step.covering) if step.cover_mm else None
