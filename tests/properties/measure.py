"""A second opinion on flat patterns: where their points stand on the wall, by formulas of the tests' own.

Wall frame and strip frame are those of the survey: x level and up the slope, y plumb, the roof line
y = x tan p; u along the roof line, v square to it.
"""

from __future__ import annotations

import math

from shapely import Polygon

NEAR_MM = 1e-6
AREA_MM2 = 1e-3


def to_run(pattern, points):
    """Pattern points in the right-handed run frame: a left hand is seen in a mirror, then moved back."""
    width = max(x for x, _ in pattern.outline)
    dx, dy = pattern.run_offset
    return [((width - x if pattern.mirrored else x) + dx, y + dy) for x, y in points]


def to_wall(pattern, points, pitch_deg):
    """Pattern points of a step flashing in the wall frame."""
    c, s = math.cos(math.radians(pitch_deg)), math.sin(math.radians(pitch_deg))
    return [(u * c - v * s, u * s + v * c) for u, v in to_run(pattern, points)]


def shape_on_run(pattern):
    return Polygon(to_run(pattern, pattern.outline), [to_run(pattern, h) for h in pattern.holes])


def toe_on_wall(survey, joint):
    """Where a bed joint dips to the water line: y_k + s x = x tan p + w / cos p."""
    p = math.radians(survey.pitch_deg)
    x = (joint.y_mm - survey.water_line_mm / math.cos(p)) / (math.tan(p) - joint.slope)
    return (x, joint.y_mm + joint.slope * x)


def head_on_wall(survey, joint, foot):
    """Where the riser from ``foot`` on the water line meets a bed joint."""
    x0, y0 = foot
    rise = joint.y_mm + joint.slope * x0 - y0  # from the foot plumb up to the joint
    r = math.radians(survey.riser_deg)
    along = rise / (math.sin(r) - joint.slope * math.cos(r))
    return (x0 + along * math.cos(r), y0 + along * math.sin(r))


def across_slope(point, pitch_deg):
    """Height above the roof line, square to it."""
    p = math.radians(pitch_deg)
    return -point[0] * math.sin(p) + point[1] * math.cos(p)


def along_slope(point, pitch_deg):
    p = math.radians(pitch_deg)
    return point[0] * math.cos(p) + point[1] * math.sin(p)


def gap(a, b):
    return math.hypot(a[0] - b[0], a[1] - b[1])


def edges_of(ring):
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def shared_length(a, b):
    """Length over which two segments run on one another, within 1e-6 mm."""
    (ax, ay), (bx, by) = a
    size = gap(*a)
    dx, dy = (bx - ax) / size, (by - ay) / size
    ts = []
    for x, y in b:
        if abs((x - ax) * dy - (y - ay) * dx) > NEAR_MM:
            return 0.0
        ts.append((x - ax) * dx + (y - ay) * dy)
    return max(0.0, min(size, max(ts)) - max(0.0, min(ts)))
