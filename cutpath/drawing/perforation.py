"""Fold lines of card as real cuts and bridges, so that a machine that knows no dashes makes them."""

from __future__ import annotations

import math
from itertools import pairwise

from cutpath.drawing.toolline import between
from cutpath.values.machine import Perforation
from cutpath.values.pattern import Polyline


def perforated(line: Polyline, perforation: Perforation) -> list[Polyline]:
    """Break a fold line into cuts of equal length between bridges, one at either end; none where it is too short."""
    total = math.fsum(math.dist(a, b) for a, b in pairwise(line))
    cut, bridge = perforation.cut_mm, perforation.bridge_mm
    count = int((total - bridge) // (cut + bridge))
    if count < 1:
        return []
    gap = (total - count * cut) / (count + 1)
    starts = [gap + k * (cut + gap) for k in range(count)]
    return [between(line, s, s + cut) for s in starts]
