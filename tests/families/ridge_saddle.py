"""What the tests of ridge saddles have to work with."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cutpath.values.leadwork import CornerWork, RidgeSaddle
from tests.faulty.faults import (
    Fault,
    bend,
    cut,
    drawn,
    every,
    family,
    side_moved,
    swapped_stations,
    without_family,
)
from tests.properties.surveys import figures, heads, pitches


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


SOUND = {
    "ridge saddle": 'pitch = 38\n[[detail]]\nkind = "ridge saddle"\n',
    "ridge saddle, welded": 'pitch = 38\n[[detail]]\nkind = "ridge saddle"\ncorners = "welded"\n',
}
MEASURED = {
    "ridge saddle": {"pitch", "width", "length", "upstand"},
}
SURVEYS = (saddles(),)
FAULTS: tuple[Fault, ...] = (
    Fault(
        "ridge saddle",
        "ridge folded once the pitch",
        "ridge saddle",
        drawn("ridge_saddle.pattern", every("folds", bend(lambda a: a / 2), "ridge")),
    ),
    Fault(
        "ridge saddle",
        "bossing lines at the pitch from level",
        "ridge saddle",
        drawn(
            "ridge_saddle.pattern",
            every(
                "marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0] * 0.8, m.points[1][1]))), "bossing"
            ),
        ),
    ),
    Fault(
        "ridge saddle",
        "uncut sheet 15 mm narrow",
        "ridge saddle",
        drawn("ridge_saddle.pattern", family("ridge saddle", side_moved("top of the upstand", -15.0, 0.0))),
    ),
    Fault(
        "ridge saddle",
        "gusset opens by once the pitch",
        "ridge saddle, welded",
        drawn(
            "ridge_saddle.pattern",
            family("gusset", lambda s: replace(s, sides=tuple(((x / 2, y), n) for (x, y), n in s.sides))),
        ),
    ),
    Fault("ridge saddle", "gusset left out", "ridge saddle, welded", cut(without_family("gusset"))),
    Fault(
        "ridge saddle",
        "points of ridge and wall mixed up",
        "ridge saddle",
        drawn("ridge_saddle.pattern", swapped_stations("ridge at the wall", "wall fold, left")),
    ),
)
