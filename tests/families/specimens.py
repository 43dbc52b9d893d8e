"""Surveys by hand, for tests that look at one of them: say what matters there, the rest is as on a plain wall.

Random ones are in `tests.properties.surveys` and `tests.families.families`.
"""

from __future__ import annotations

from dataclasses import replace

from cutpath.profiles import lead_table
from cutpath.values.leadwork import CornerKind, CornerReturn, EndCut, StepFlashing
from cutpath.values.survey import BedJoint, DetailHead, Hand, Origin

NO_RETURN = CornerReturn(CornerKind.NONE, 0.0, None, 0.0)


def head(*hands: Hand, label: str = "S1", code: int = 4, **changes) -> DetailHead:
    """One set, at most 1500 mm long, lapped by 150 mm."""
    plain = DetailHead(label, Origin("j.toml", "detail[1]"), lead_table()[code], 1, hands, 1500.0, 150.0)
    return replace(plain, **changes)


def courses(count: int, gauge_mm: float = 75.0, lowest_mm: float = 0.0, slope: float = 0.0) -> tuple[BedJoint, ...]:
    """Level joints, the first one course above ``lowest_mm``."""
    return tuple(BedJoint(k, lowest_mm + gauge_mm * k, slope) for k in range(1, count + 1))


def steps(**changes) -> StepFlashing:
    """A right hand at 35 degrees, 1500 mm up the slope, without a return."""
    plain = StepFlashing(
        head=head(Hand.RIGHT),
        pitch_deg=35.0,
        slope_mm=1500.0,
        joints=courses(29),
        water_line_mm=65.0,
        turn_in_mm=25.0,
        riser_deg=90.0,
        strip_width_mm=None,
        stock_widths_mm=(150.0, 180.0),
        set_back_mm=0.0,
        upper_end=EndCut.PLUMB,
        corner=NO_RETURN,
        least_fold_mm=25.0,
    )
    return replace(plain, **changes)
