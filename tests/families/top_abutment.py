"""What the tests of top-edge abutments have to work with."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cutpath.values.leadwork import CornerWork, TopAbutment
from tests.faulty.faults import Fault, bend, by, drawn, every, misread, plus, side_moved, surveyed
from tests.properties.surveys import figures, heads, pitches


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


SOUND = {
    "top-edge abutment": (
        'pitch = 18\n[[detail]]\nkind = "top-edge abutment"\nlength = 2900\nstop_ends = "both"\nstop_height = 90\n'
    ),
}
MEASURED = {
    "top-edge abutment": {"pitch", "length", "upstand", "cover", "turn_in"},
}
SURVEYS = (top_abutments(),)
FAULTS: tuple[Fault, ...] = (
    Fault(
        "top-edge abutment", "stop ends 10 mm low", "top-edge abutment", misread(TopAbutment, plus(stop_left_mm=-10.0))
    ),
    Fault(
        "top-edge abutment",
        "stop end's sheet cut short at its top",
        "top-edge abutment",
        drawn("top_abutment.pattern", side_moved("top of the stop end", -12.0, 0.0)),
    ),
    Fault(
        "top-edge abutment",
        "plumb line leans the wrong way",
        "top-edge abutment",
        drawn(
            "top_abutment.pattern",
            every("marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0], -m.points[1][1]))), "plumb"),
        ),
    ),
    Fault(
        "top-edge abutment",
        "front folded to the pitch",
        "top-edge abutment",
        drawn("top_abutment.pattern", every("folds", bend(lambda a: 90 - a), "front")),
    ),
    Fault(
        "top-edge abutment",
        "stop ends on the wrong side",
        "top-edge abutment",
        surveyed(TopAbutment, lambda d: replace(d, stop_left_mm=0.0)),
    ),
    Fault(
        "top-edge abutment",
        "lap marks 18 mm off",
        "top-edge abutment",
        drawn("top_abutment.pattern", every("marks", by(18, 0), "lap")),
    ),
    Fault(
        "top-edge abutment",
        "points of the stop end off",
        "top-edge abutment",
        drawn("top_abutment.pattern", every("stations", by(4, 0), "left stop end")),
    ),
)
