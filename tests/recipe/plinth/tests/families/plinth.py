"""What the tests of plates under posts have to work with."""

from __future__ import annotations

from dataclasses import replace

from cutpath.families.plinth import Plinth
from hypothesis import strategies as st

from tests.families.specimens import head
from tests.faulty.faults import Fault, cut, drawn, misread, plus, side_moved, surveyed
from tests.properties.surveys import figures, heads

SOUND = {"plinth": '[[detail]]\nkind = "plinth"\nside = 400\nquantity = 2\n'}
MEASURED = {"plinth": {"side"}}
SURVEYS = (st.builds(Plinth, heads(hands=((),)), figures(60, 900)),)
BREACHES = [("plinth_side", Plinth(head(label="Z1", code=5), 299.0), "moderate")]
FAULTS = (
    Fault("plinth", "a corner 2 mm off", "plinth", drawn("plinth", side_moved("right edge", 2.0, 0.0))),
    Fault("plinth", "out of square", "plinth", drawn("plinth", side_moved("upper edge", 0.0, -3.0))),
    Fault("plinth", "made 1 mm small", "plinth", misread(Plinth, plus(side_mm=-1.0))),
    Fault("plinth", "surveyed 5 mm large", "plinth", surveyed(Plinth, plus(side_mm=5.0))),
    Fault("plinth", "one of two", "plinth", cut(lambda pieces: [replace(p, quantity=1) for p in pieces])),
)
