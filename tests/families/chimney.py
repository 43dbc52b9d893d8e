"""What the tests of chimneys have to work with."""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

from dataclasses import replace

from cutpath.values.leadwork import Apron, BackGutter, CornerKind, CornerWork, CoverFlashing, Soakers, StepFlashing
from cutpath.values.survey import Hand
from tests.faulty.faults import Fault, cut, instead, lost, misread, only, plus, surveyed, without_family

SOUND = {
    "chimney": (
        'pitch = 40\ncovering = "plain tile 265"\n[coursing.stack]\ngauge = 75\nfirst_joint = 44\n'
        '[[detail]]\nkind = "chimney"\nwidth = 1020\ndepth = 560\n'
    ),
    "chimney, severe": (
        'pitch = 30\nexposure = "severe"\n[coursing.stack]\ngauge = 75\nfirst_joint = 92\n'
        '[[detail]]\nkind = "chimney"\nwidth = 610\nslope_length = 610\ncorners = "welded"\n'
        'step_and_cover = { water_line = 75, return = { kind = "integral", length = 130 } }\n'
    ),
}
MEASURED = {
    "chimney": {
        "pitch",
        "width",
        "depth",
        "slope_length",
        "apron.cover",
        "back_gutter.upstand",
        "back_gutter.sole",
    },
}
FAULTS: tuple[Fault, ...] = (
    Fault("chimney", "depth taken along the slope", "chimney", surveyed(StepFlashing, plus(slope_mm=-40.0))),
    Fault(
        "chimney",
        "sides as long as the stack is deep",
        "chimney",
        instead(
            "cutpath.families.chimney.parts.measured",
            lambda right: lambda desk, path, table, pitch: right(desk, path, table, 0.0001),
        ),
    ),
    Fault("chimney", "apron 10 mm wider than the stack", "chimney", surveyed(Apron, plus(width_mm=10.0))),
    Fault("chimney", "side flashings end at the back's sole", "chimney", misread(StepFlashing, plus(slope_mm=-60.0))),
    Fault(
        "chimney",
        "one soaker less up each side",
        "chimney",
        instead("cutpath.trade.coverings.soaker_count", lambda right: lambda slope, gauge: right(slope, gauge) - 1),
    ),
    Fault(
        "chimney", "cover flashing hangs clear of the gutter", "chimney", surveyed(CoverFlashing, plus(cover_mm=-60.0))
    ),
    Fault(
        "chimney",
        "returns of the sides in another joint",
        "chimney",
        misread(StepFlashing, lambda d: replace(d, corner=replace(d.corner, foot_mm=d.corner.foot_mm + 10))),
    ),
    Fault("chimney", "cover flashing hangs 5 mm lower", "chimney", surveyed(CoverFlashing, plus(cover_mm=5.0))),
    Fault("chimney", "gutter's upstand 4 mm low", "chimney", surveyed(BackGutter, plus(upstand_mm=-4.0))),
    Fault("chimney", "gutter's sole 20 mm narrow", "chimney, severe", surveyed(BackGutter, plus(sole_mm=-20.0))),
    Fault("chimney", "apron's gussets left out", "chimney, severe", cut(without_family("gusset"))),
    Fault(
        "chimney",
        "sides bossed though welded",
        "chimney, severe",
        misread(Apron, lambda d: replace(d, corners=CornerWork.BOSSED)),
    ),
    Fault(
        "chimney",
        "return left off a side",
        "chimney, severe",
        misread(StepFlashing, lambda d: replace(d, corner=replace(d.corner, kind=CornerKind.NONE))),
    ),
    Fault(
        "chimney",
        "back gutter not thought of",
        "chimney",
        instead(
            "cutpath.families.chimney.job.parts_wanted",
            lambda right: lambda table: [key for key in right(table) if key != "back_gutter"],
        ),
    ),
    Fault("chimney", "soakers lost", "chimney", surveyed(Soakers, lost)),
    Fault("chimney", "one of two sides", "chimney, severe", surveyed(StepFlashing, only(Hand.LEFT))),
)
