"""Random surveys of the families that stand beside step flashings, aprons and soakers."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cutpath.values.survey import BackGutter, CornerWork, CoverFlashing, TiltingFillet
from tests.properties.surveys import figures, heads, step_flashings


@st.composite
def step_and_covers(draw):
    survey = draw(step_flashings())
    return replace(survey, cover_mm=draw(figures(150, 250)), stock_widths_mm=(300.0, 330.0, 360.0, 390.0, 450.0))


@st.composite
def returned_covers(draw):
    return CoverFlashing(
        head=draw(heads(hands=((),))),
        length_mm=draw(figures(200, 3000)),
        slope_deg=0.0,
        cover_mm=draw(figures(75, 150)),
        turn_in_mm=draw(figures(12, 40)),
        return_mm=draw(figures(60, 250)),
    )


@st.composite
def back_gutters(draw, corners=tuple(CornerWork)):
    fillet = TiltingFillet(
        draw(figures(50, 200)), draw(figures(60, 100)), draw(figures(15, 40)), draw(st.integers(40, 90))
    )
    return BackGutter(
        head=draw(heads(hands=((),))),
        pitch_deg=draw(st.integers(175, 600)) / 10,
        width_mm=draw(figures(300, 2400)),
        side_mm=draw(st.one_of(st.just(0.0), figures(60, 200))),
        upstand_mm=draw(figures(75, 150)),
        sole_mm=draw(figures(100, 250)),
        up_roof_mm=draw(figures(200, 400)),
        fillet=draw(st.sampled_from([fillet, None])),
        turn_over_mm=25.0,
        corners=draw(st.sampled_from(corners)),
        roll_core_mm=draw(figures(40, 50)),
        roll_under_mm=draw(figures(80, 120)),
        roll_over_mm=draw(figures(140, 200)),
    )


families = st.one_of(step_and_covers(), returned_covers(), back_gutters())
