"""Soakers and their covering beside a wall, seen by a person who faces it: drawn behind the flashing over them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from cutpath.paper.brickwork import View, all_inside
from cutpath.paper.ink import Contours, Ink, line
from cutpath.paper.markup import number
from cutpath.plane import turned
from cutpath.values.leadwork import Soakers
from cutpath.values.pattern import Point

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SLATE_MM = 10.0
"""Thickness at which slates and tiles are suggested in section; common practice, no source."""


def roof_in_section(view: View, pitch_deg: float, start_mm: float, end_mm: float, soakers: Soakers | None) -> list[Ink]:
    """Draw the roof line between two distances along the slope, and slates below it at the gauge of the soakers."""

    def at(u: float, v: float) -> Point:
        return view.at(turned(((u, v),), pitch_deg)[0])

    inks: list[Ink] = []
    if soakers is not None and soakers.gauge_mm:
        gauge = soakers.gauge_mm
        headlap = soakers.length_mm - soakers.turn_down_mm - gauge
        reach, fall = 2 * gauge + headlap, SLATE_MM * (2 + headlap / gauge)
        for i in range(math.floor((end_mm - start_mm) / gauge) + 1):
            tail = start_mm + i * gauge
            shown = min(reach, end_mm - tail)
            dip = fall * shown / reach
            quad = (at(tail, -SLATE_MM), at(tail, 0.0), at(tail + shown, -dip), at(tail + shown, -dip - SLATE_MM))
            inks.append(line("slate", *quad, closed=True))
    roof = (at(start_mm, 0.0), at(end_mm, 0.0))
    inks.append(line("roof-line", *roof, pitch=number(pitch_deg)))
    return inks


def soakers_behind(view: View, pitch_deg: float, soakers: Soakers, wall: BaseGeometry) -> list[Ink]:
    """Draw the upstands of the soakers on the wall, which the flashing hides: each from its tail to its head."""
    boxes = []
    top = soakers.upstand_mm
    for i in range(soakers.count):
        tail = i * soakers.gauge_mm
        head = tail + soakers.length_mm - soakers.turn_down_mm
        boxes.append(turned(((tail, 0.0), (tail, top), (head, top), (head, 0.0)), pitch_deg))
    found = [view.all(part) for parts in all_inside(boxes, wall) for part in parts]
    data = (("count", str(soakers.count)), ("upstand", number(top)))
    return [Contours(tuple(found), "soaker", data=data)] if found else []
