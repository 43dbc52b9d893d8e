"""What the tests of soakers have to work with."""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

import math
from dataclasses import replace

from cutpath.values.leadwork import Soakers
from tests.faulty.faults import Fault, by, cut, drawn, every, instead, other_way, plus, surveyed

SOUND = {
    "soakers": 'pitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "soakers"\nlength = 3650\nquantity = 2\n',
    "soakers, slates": (
        'pitch = 40\ncovering = { length = 500, gauge = 205 }\n[[detail]]\nkind = "step flashing"\nlength = 2150\n'
        "soakers = true\ncoursing = { gauge = 75, first_joint = 120 }\n"
    ),
}
MEASURED = {
    "soakers": {"length", "upstand", "roof"},
}
FAULTS: tuple[Fault, ...] = (
    Fault(
        "soakers",
        "length without the headlap",
        "soakers",
        instead("cutpath.trade.coverings.soaker_length_mm", lambda right: lambda gauge, headlap, down: gauge + down),
    ),
    Fault(
        "soakers",
        "length without the turn-down",
        "soakers",
        instead("cutpath.trade.coverings.soaker_length_mm", lambda right: lambda gauge, headlap, down: gauge + headlap),
    ),
    Fault(
        "soakers",
        "a part of a course not counted",
        "soakers",
        instead("cutpath.trade.coverings.soaker_count", lambda right: lambda slope, gauge: math.floor(slope / gauge)),
    ),
    Fault(
        "soakers",
        "one more than the courses",
        "soakers",
        instead("cutpath.trade.coverings.soaker_count", lambda right: lambda slope, gauge: right(slope, gauge) + 1),
    ),
    Fault(
        "soakers",
        "gauge of a single lap",
        "soakers",
        instead("cutpath.trade.coverings.gauge_mm", lambda right: lambda length, headlap: length - headlap),
    ),
    Fault(
        "soakers",
        "headlap of a single lap",
        "soakers, slates",
        instead("cutpath.trade.coverings.headlap_mm", lambda right: lambda length, gauge: length - gauge),
    ),
    Fault("soakers", "upstand 5 mm low", "soakers", surveyed(Soakers, plus(upstand_mm=-5.0))),
    Fault(
        "soakers", "upstand folded 3 mm off", "soakers", drawn("soakers.pattern", every("folds", by(0, 3), "upstand"))
    ),
    Fault("soakers", "head turned up", "soakers", drawn("soakers.pattern", every("folds", other_way, "turn-down"))),
    Fault(
        "soakers",
        "a point 3 mm off",
        "soakers",
        drawn("soakers.pattern", every("stations", by(3, 0), "upstand fold, head")),
    ),
    Fault(
        "soakers",
        "one set cut for two",
        "soakers",
        cut(lambda pieces: [replace(p, quantity=p.quantity // 2) for p in pieces]),
    ),
    Fault(
        "soakers",
        "cut in code 4",
        "soakers",
        cut(lambda pieces: [replace(p, lead=replace(p.lead, code=4)) for p in pieces]),
    ),
)
