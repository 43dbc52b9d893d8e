"""What the tests of aprons have to work with."""

from __future__ import annotations

from dataclasses import replace

from cutpath.values.leadwork import Apron
from cutpath.values.pattern import Side
from tests.faulty.faults import (
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
    surveyed,
    swapped_stations,
)

SOUND = {
    "apron": 'pitch = 35\n[[detail]]\nkind = "apron"\nwidth = 900\nupstand = 100\n',
    "apron, long": 'pitch = 35\n[[detail]]\nkind = "apron"\nwidth = 3200\nupstand = 100\n',
    "apron, welded": (
        'pitch = 35\n[[detail]]\nkind = "apron"\nwidth = 900\nupstand = 100\ncorners = "welded"\nquantity = 2\n'
    ),
}
MEASURED = {
    "apron": {"pitch", "width", "side", "upstand", "cover", "turn_in"},
}
FAULTS: tuple[Fault, ...] = (
    Fault(
        "apron",
        "front folded to the pitch",
        "apron",
        drawn("apron.pattern", every("folds", bend(lambda a: 90 - a), "front")),
    ),
    Fault(
        "apron",
        "the left arris said to be the right one",
        "apron",
        drawn("apron.pattern", every("folds", lambda f: replace(f, side=Side.RIGHT), "left arris")),
    ),
    Fault("apron", "bossed sides 10 mm narrow", "apron", misread(Apron, plus(side_mm=-10.0))),
    Fault(
        "apron",
        "uncut sheet cut away at a bossed corner",
        "apron",
        drawn("apron.pattern", side_moved("right end", -20.0, 0.0)),
    ),
    Fault(
        "apron", "bossed side's top 8 mm low", "apron", drawn("apron.pattern", side_moved("top of the side", 0.0, -8.0))
    ),
    Fault(
        "apron",
        "bossing lines at the slope's cosine",
        "apron",
        drawn(
            "apron.pattern",
            every(
                "marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0], m.points[1][1] * 0.9))), "roof line"
            ),
        ),
    ),
    Fault(
        "apron",
        "return turn-ins 6 mm long",
        "apron",
        instead("cutpath.families.apron.pattern.return_reach_mm", lambda right: lambda survey: right(survey) + 6.0),
    ),
    Fault(
        "apron",
        "gussets 5 mm narrow",
        "apron, welded",
        drawn(
            "apron.pattern",
            family(
                "gusset", lambda s: replace(s, sides=tuple(((min(x, s.length_mm - 5), y), n) for (x, y), n in s.sides))
            ),
        ),
    ),
    Fault(
        "apron", "one gusset to a set", "apron, welded", cut(lambda pieces: [replace(p, quantity=2) for p in pieces])
    ),
    Fault("apron", "lap marks 30 mm off", "apron, long", drawn("apron.pattern", every("marks", by(30, 0), "lap"))),
    Fault(
        "apron",
        "a point on the wrong arris",
        "apron",
        drawn("apron.pattern", swapped_stations("left arris at the front fold", "right arris at the front fold")),
    ),
    Fault("apron", "cover by the wrong exposure", "apron", surveyed(Apron, plus(cover_mm=50.0))),
    Fault(
        "apron",
        "lengths lap 20 mm short",
        "apron, long",
        instead(
            "cutpath.pieces.division.free_lengths",
            lambda right: lambda run, longest, lap: right(run, longest, lap - 20),
        ),
    ),
)
