"""Random surveys of the families that stand beside step flashings, aprons and soakers."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from tests.properties.surveys import figures, step_flashings


@st.composite
def step_and_covers(draw):
    survey = draw(step_flashings())
    return replace(survey, cover_mm=draw(figures(150, 250)), stock_widths_mm=(300.0, 330.0, 360.0, 390.0, 450.0))


families = st.one_of(step_and_covers())
