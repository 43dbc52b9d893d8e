"""What the tests of cover flashings have to work with."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cutpath.values.leadwork import CoverFlashing
from tests.faulty.faults import Fault, by, drawn, every, instead, misread, plus, side_moved, surveyed
from tests.properties.surveys import figures, heads


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


SOUND = {
    "cover flashing": '[[detail]]\nkind = "cover flashing"\nlength = "4.2 m"\ncover = 100\n',
    "cover flashing, raking": '[[detail]]\nkind = "cover flashing"\nlength = "2.4 m"\nslope = 35\nhands = "pair"\n',
    "cover flashing, returns": '[[detail]]\nkind = "cover flashing"\nlength = 900\nreturns = 150\n',
}
MEASURED = {
    "cover flashing": {"length", "cover", "turn_in"},
}
SURVEYS = (returned_covers(),)
FAULTS: tuple[Fault, ...] = (
    Fault(
        "cover flashing",
        "plumb ends left square",
        "cover flashing, raking",
        misread(CoverFlashing, lambda d: replace(d, slope_deg=0.0, head=replace(d.head, hands=()))),
    ),
    Fault(
        "cover flashing",
        "laps twice as long as asked",
        "cover flashing",
        instead(
            "cutpath.pieces.division.free_lengths", lambda right: lambda run, longest, lap: right(run, longest, 2 * lap)
        ),
    ),
    Fault(
        "cover flashing",
        "more lengths than needed",
        "cover flashing",
        instead(
            "cutpath.pieces.division.free_lengths",
            lambda right: lambda run, longest, lap: right(run, longest * 0.7, lap),
        ),
    ),
    Fault(
        "cover flashing",
        "lap marks 25 mm off",
        "cover flashing",
        drawn("cover_flashing.pattern", every("marks", by(25, 0), "lap")),
    ),
    Fault(
        "cover flashing",
        "mitres left out",
        "cover flashing, returns",
        drawn("cover_flashing.pattern", side_moved("mitre", 5.0, 0.0)),
    ),
    Fault(
        "cover flashing",
        "returns 10 mm short",
        "cover flashing, returns",
        misread(CoverFlashing, plus(return_mm=-10.0)),
    ),
    Fault(
        "cover flashing",
        "a point off the free edge",
        "cover flashing",
        drawn("cover_flashing.pattern", every("stations", by(0, 5), "left end at the free edge")),
    ),
    Fault("cover flashing", "hangs down 25 mm less", "cover flashing", surveyed(CoverFlashing, plus(cover_mm=-25.0))),
)
