"""What the tests of valley gutters have to work with."""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

from hypothesis import strategies as st

from cutpath.trade.physics import valley_pitch_deg
from cutpath.values.leadwork import TiltingFillet, ValleyGutter
from tests.faulty.faults import (
    Fault,
    bend,
    by,
    drawn,
    every,
    instead,
    lap_by,
    other_way,
    plus,
    surveyed,
    swapped_stations,
)
from tests.properties.surveys import figures, heads, pitches


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


SOUND = {
    "valley gutter": 'pitch = 30\n[[detail]]\nkind = "valley gutter"\nlength = 3300\nother_pitch = 42\n',
}
MEASURED = {
    "valley gutter": {"length", "width", "fillet.foot"},
}
SURVEYS = (valleys(),)
FAULTS: tuple[Fault, ...] = (
    Fault(
        "valley gutter",
        "the flatter roof's pitch for its own",
        "valley gutter",
        instead("cutpath.trade.physics.valley_pitch_deg", lambda right: min),
    ),
    Fault(
        "valley gutter",
        "pitch as between equal roofs",
        "valley gutter",
        instead("cutpath.trade.physics.valley_pitch_deg", lambda right: lambda one, other: right(one, one)),
    ),
    Fault(
        "valley gutter",
        "middle folded by half",
        "valley gutter",
        drawn("strips", every("folds", bend(lambda a: a / 2), "middle")),
    ),
    Fault(
        "valley gutter",
        "crests folded the wrong way",
        "valley gutter",
        drawn("strips", every("folds", other_way, "crest")),
    ),
    Fault("valley gutter", "lap by the steeper roof", "valley gutter", lap_by(lambda slope: 150.0)),
    Fault(
        "valley gutter", "lap marks half a lap off", "valley gutter", drawn("strips", every("marks", by(75, 0), "lap"))
    ),
    Fault(
        "valley gutter",
        "points of the fillets mixed up",
        "valley gutter",
        drawn("strips", swapped_stations("middle, lower end", "middle, upper end")),
    ),
    Fault("valley gutter", "narrower than ordered", "valley gutter", surveyed(ValleyGutter, plus(width_mm=-50.0))),
)
