"""What the tests of lead slates have to work with."""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import strategies as st

from cutpath.values.leadwork import PipeSlate
from tests.faulty.faults import Fault, by, cut, drawn, every, instead, misread, plus, without_family
from tests.properties.surveys import figures, heads, pitches


@st.composite
def pipe_slates(draw):
    return PipeSlate(
        head=draw(heads(hands=((),))),
        pitch_deg=draw(pitches),
        pipe_mm=draw(figures(40, 300)),
        clearance_mm=draw(figures(2, 6)),
        sleeve_mm=draw(figures(100, 300)),
        seam_mm=draw(figures(5, 50)),
        side_mm=draw(figures(100, 250)),
        below_mm=draw(figures(100, 250)),
        above_mm=draw(figures(100, 250)),
    )


SOUND = {
    "lead slate": 'pitch = 30\n[[detail]]\nkind = "lead slate"\npipe = 110\n',
}
MEASURED = {
    "lead slate": {"pipe", "sleeve", "below", "above"},
}
SURVEYS = (pipe_slates(),)
FAULTS: tuple[Fault, ...] = (
    Fault(
        "lead slate",
        "round hole",
        "lead slate",
        drawn(
            "pipe_slate.pattern",
            lambda s: replace(
                s, holes=tuple(tuple((x, y * math.cos(math.radians(30))) for x, y in hole) for hole in s.holes)
            ),
        ),
    ),
    Fault(
        "lead slate",
        "sleeve cut square",
        "lead slate",
        instead("cutpath.families.pipe_slate.pattern.foot_mm", lambda right: lambda survey, round_mm: survey.sleeve_mm),
    ),
    Fault("lead slate", "seam's lap 10 mm short", "lead slate", misread(PipeSlate, plus(seam_mm=-10.0))),
    Fault(
        "lead slate",
        "seam marked at its end",
        "lead slate",
        drawn("pipe_slate.pattern", every("marks", by(25, 0), "line")),
    ),
    Fault(
        "lead slate",
        "middle line beside the hole",
        "lead slate",
        drawn("pipe_slate.pattern", every("marks", by(55, 0), "up the roof")),
    ),
    Fault(
        "lead slate",
        "a point of the foot off",
        "lead slate",
        drawn("pipe_slate.pattern", every("stations", by(0, 8), "foot, lower")),
    ),
    Fault("lead slate", "sleeve left out", "lead slate", cut(without_family("sleeve"))),
)
