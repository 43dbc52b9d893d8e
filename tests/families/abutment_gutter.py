"""What the tests of secret gutters have to work with."""

from __future__ import annotations

import math

from hypothesis import strategies as st

from cutpath.values.leadwork import AbutmentGutter
from tests.faulty.faults import (
    PATTERN,
    Fault,
    drawn,
    every,
    instead,
    label_left_behind,
    lap_by,
    misread,
    other_way,
    plus,
    surveyed,
    unmirrored,
)
from tests.properties.surveys import figures, heads, pitches


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


SOUND = {
    "secret gutter": 'pitch = 25\n[[detail]]\nkind = "secret gutter"\nlength = 2900\n',
}
MEASURED = {
    "secret gutter": {"length", "upstand", "sole", "edge"},
}
SURVEYS = (abutment_gutters(),)
FAULTS: tuple[Fault, ...] = (
    Fault("secret gutter", "a left hand made as a right one", "secret gutter", instead(PATTERN, unmirrored)),
    Fault("secret gutter", "outer edge 6 mm low", "secret gutter", misread(AbutmentGutter, plus(edge_mm=-6.0))),
    Fault(
        "secret gutter",
        "outer edge turned down",
        "secret gutter",
        drawn("strips", every("folds", other_way, "outer edge")),
    ),
    Fault(
        "secret gutter",
        "lap by the tangent",
        "secret gutter",
        lap_by(lambda slope: max(75 * math.tan(math.radians(slope)), 150.0)),
    ),
    Fault(
        "secret gutter", "lettering of a left hand off the sheet", "secret gutter", instead(PATTERN, label_left_behind)
    ),
    Fault("secret gutter", "sole wider than ordered", "secret gutter", surveyed(AbutmentGutter, plus(sole_mm=25.0))),
)
