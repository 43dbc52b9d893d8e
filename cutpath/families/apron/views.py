"""An apron on the front of its stack, with the returns of the side flashings that go over it, and a section."""

from __future__ import annotations

from collections.abc import Iterable

from cutpath.families.fronts import (
    Face,
    Names,
    flashing_section,
    front_elevation,
    gauge_mm,
    joints_beside,
    returns_on_front,
)
from cutpath.families.laid import Laid
from cutpath.families.step_flashing.views import place_steps
from cutpath.paper.wall_sheet import Elevation
from cutpath.values.leadwork import Apron, StepFlashing

_NAMES = Names("front", "apron", "stack")


def views(laid: Laid[Apron]) -> Iterable[Elevation]:
    """Draw the front and a section."""
    apron = laid.survey
    face = Face(
        label=apron.head.label,
        names=_NAMES,
        pitch_deg=apron.pitch_deg,
        width_mm=apron.width_mm,
        upstand_mm=apron.upstand_mm,
        cover_mm=apron.cover_mm,
        turn_in_mm=apron.turn_in_mm,
        beyond_mm=apron.side_mm,
    )
    cheeks = [
        (hand, place_steps(side, lengths)[0])
        for side in laid.beside(StepFlashing)
        for hand in side.head.hands
        if (lengths := laid.lengths_of(side, hand))
    ]
    returns = returns_on_front(cheeks, apron.width_mm)
    yield front_elevation(face, laid.lengths, joints_beside(laid), returns, gauge_mm(laid))
    yield flashing_section(face, laid.lengths[0].pattern)
