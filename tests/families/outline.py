"""What the tests of plain outlines have to work with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cutpath.values.leadwork import PlainOutline
from tests.faulty.faults import Fault, by, cut, drawn, every, other_way, side_moved, surveyed


def _scaled(factor: float) -> Callable:
    return lambda survey: replace(survey, outline=tuple((x * factor, y * factor) for x, y in survey.outline))


SOUND = {
    "outline": (
        '[[detail]]\nkind = "outline"\npoints = [[0, 0], [450, 0], [450, 380], [0, 400]]\n'
        "holes = [[[185, 160], [275, 160], [290, 240], [170, 240]]]\n"
        "folds = [{ from = [0, 330], to = [450, 330], angle = 60 }]\nquantity = 3\n"
    ),
}
MEASURED = {
    "outline": {"size"},
}
FAULTS: tuple[Fault, ...] = (
    Fault("plain outline", "a corner 2 mm off", "outline", drawn("outline.pattern", side_moved("edge 3", 2.0, 0.0))),
    Fault("plain outline", "fold the wrong way", "outline", drawn("outline.pattern", every("folds", other_way))),
    Fault("plain outline", "fold 3 mm off", "outline", drawn("outline.pattern", every("folds", by(0, 3)))),
    Fault("plain outline", "hole left out", "outline", drawn("outline.pattern", lambda s: replace(s, holes=()))),
    Fault("plain outline", "a hundredth too large", "outline", surveyed(PlainOutline, _scaled(1.01))),
    Fault("plain outline", "one cut of three", "outline", cut(lambda pieces: [replace(p, quantity=1) for p in pieces])),
)
