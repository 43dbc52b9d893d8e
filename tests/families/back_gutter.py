"""What the tests of back gutters have to work with."""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cutpath.values.leadwork import BackGutter, CornerWork, TiltingFillet
from tests.faulty.faults import (
    PATTERN,
    Fault,
    bend,
    by,
    cut,
    drawn,
    every,
    family,
    instead,
    misread,
    plus,
    side_moved,
    swapped_stations,
)
from tests.properties.surveys import figures, heads


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


SOUND = {
    "back gutter": 'pitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 900\nup_roof = 280\n',
    "back gutter, welded": (
        'pitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 900\nup_roof = 280\ncorners = "welded"\n'
    ),
    "back gutter, two": 'pitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 1900\nup_roof = 280\n',
}
MEASURED = {
    "back gutter": {"pitch", "width", "side", "upstand", "sole", "up_roof"},
}
SURVEYS = (back_gutters(),)
FAULTS: tuple[Fault, ...] = (
    Fault(
        "back gutter",
        "roof folded to the complement",
        "back gutter",
        drawn("back_gutter.pattern", every("folds", bend(lambda a: 90 - a), "sole")),
    ),
    Fault(
        "back gutter",
        "fillet's foot 10 mm off",
        "back gutter",
        drawn("back_gutter.pattern", every("folds", by(0, 10), "foot")),
    ),
    Fault("back gutter", "bossed sides 15 mm narrow", "back gutter", misread(BackGutter, plus(side_mm=-15.0))),
    Fault(
        "back gutter",
        "uncut sheet 12 mm low at a side",
        "back gutter",
        drawn("back_gutter.pattern", side_moved("top of the upstand", 0.0, -12.0)),
    ),
    Fault(
        "back gutter",
        "bossing lines past the sole",
        "back gutter",
        drawn(
            "back_gutter.pattern",
            every(
                "marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0], m.points[1][1] - 20))), "left end"
            ),
        ),
    ),
    Fault(
        "back gutter",
        "foot of the roll marked in the middle",
        "back gutter, two",
        drawn("back_gutter.pattern", every("marks", by(22.5, 0), "foot of the roll")),
    ),
    Fault("back gutter", "undercloak short", "back gutter, two", misread(BackGutter, plus(roll_under_mm=-10.0))),
    Fault(
        "back gutter",
        "both gussets of one hand",
        "back gutter, welded",
        instead(PATTERN, lambda right: lambda pattern: pattern),
    ),
    Fault(
        "back gutter",
        "gussets at the slope's length",
        "back gutter, welded",
        drawn("back_gutter.pattern", family("gusset", side_moved("weld to the sole", 3.0, 0.0))),
    ),
    Fault("back gutter", "one gusset left out", "back gutter, welded", cut(lambda pieces: pieces[:-1])),
    Fault(
        "back gutter",
        "points of the sole on the wall fold",
        "back gutter",
        drawn("back_gutter.pattern", swapped_stations("sole fold, left", "wall fold, left")),
    ),
)
