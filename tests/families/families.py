"""Random surveys of the families that stand beside step flashings, aprons and soakers."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cutpath.trade.physics import valley_pitch_deg
from cutpath.values.survey import (
    AbutmentGutter,
    BackGutter,
    CornerWork,
    CoverFlashing,
    PipeSlate,
    RidgeSaddle,
    TiltingFillet,
    TopAbutment,
    ValleyGutter,
)
from tests.families.changes import upper_reaches
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


pitches = st.integers(125, 600).map(lambda n: n / 10)


@st.composite
def saddles(draw, corners=tuple(CornerWork)):
    return RidgeSaddle(
        head=draw(heads(hands=((),))),
        pitch_deg=draw(pitches),
        width_mm=draw(figures(300, 700)),
        length_mm=draw(figures(400, 700)),
        upstand_mm=draw(figures(75, 200)),
        corners=draw(st.sampled_from(corners)),
    )


@st.composite
def top_abutments(draw, corners=tuple(CornerWork)):
    stop = st.one_of(st.just(0.0), figures(50, 160))
    return TopAbutment(
        head=draw(heads(hands=((),))),
        pitch_deg=draw(pitches),
        length_mm=draw(figures(300, 5000)),
        upstand_mm=draw(figures(75, 150)),
        cover_mm=draw(figures(150, 250)),
        turn_in_mm=draw(figures(15, 30)),
        stop_left_mm=draw(stop),
        stop_right_mm=draw(stop),
        corners=draw(st.sampled_from(corners)),
    )


@st.composite
def valleys(draw):
    one, other = draw(pitches), draw(pitches)
    fillet = TiltingFillet(
        draw(figures(60, 120)), draw(figures(60, 100)), draw(figures(15, 30)), draw(st.integers(40, 90))
    )
    return ValleyGutter(
        head=draw(heads(hands=((),))),
        pitch_deg=one,
        other_pitch_deg=other,
        true_pitch_deg=valley_pitch_deg(one, other),
        length_mm=draw(figures(300, 6000)),
        width_mm=draw(figures(400, 600)),
        fillet=draw(st.sampled_from([fillet, None])),
        turn_over_mm=25.0,
    )


@st.composite
def abutment_gutters(draw):
    return AbutmentGutter(
        head=draw(heads()),
        pitch_deg=draw(pitches),
        length_mm=draw(figures(300, 6000)),
        upstand_mm=draw(figures(75, 150)),
        sole_mm=draw(figures(75, 200)),
        edge_mm=draw(figures(25, 60)),
    )


@st.composite
def pipe_slates(draw):
    return PipeSlate(
        head=draw(heads(hands=((),))),
        pitch_deg=draw(pitches),
        pipe_mm=draw(figures(40, 300)),
        clearance_mm=draw(figures(1, 6)),
        sleeve_mm=draw(figures(100, 300)),
        seam_mm=draw(figures(5, 50)),
        side_mm=draw(figures(100, 250)),
        below_mm=draw(figures(100, 250)),
        above_mm=draw(figures(100, 250)),
    )


families = st.one_of(
    step_and_covers(),
    upper_reaches(cover=True),
    returned_covers(),
    back_gutters(),
    saddles(),
    top_abutments(),
    valleys(),
    abutment_gutters(),
    pipe_slates(),
)
