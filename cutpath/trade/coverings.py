"""Coverings: double lap and the soakers that go with it, in mm; how flat a surface lies, in degrees."""

from __future__ import annotations

import math

from cutpath.tolerances import POINT_MM
from cutpath.values.survey import Covering


def surface_deg(pitch_deg: float, covering: Covering | None) -> float:
    """Return the true pitch of what lead on a roof lies on: tiles lie flatter than the rafters under them.

    Parameters
    ----------
    pitch_deg : float
        Of the roof.
    covering : Covering or None
        None where it is not known; the pitch is then taken for the surface's own.

    Notes
    -----
    Source: Roofconsult, "Tips 4".
    """
    return max(0.0, pitch_deg - covering.flatter_deg) if covering else pitch_deg


def lain_on_deg(pitch_deg: float, covering: Covering | None) -> float:
    """Return the pitch by which lead laps down the roof over a covering: of tiles in single lap that of their surface.

    Notes
    -----
    Sources: Roofconsult, "Tips 4" (over tiles the same laps as over lead, by the true pitch) and "Tips 76" (150 at
    35 deg on slates and plain tiles, so that these count by the roof).
    """
    return surface_deg(pitch_deg, covering) if covering and covering.single_lap else pitch_deg


def gauge_mm(length_mm: float, headlap_mm: float) -> float:
    """Return the gauge of a double-lap covering: (length - headlap) / 2.

    Notes
    -----
    Source: arithmetic of double lap (derived).
    """
    return (length_mm - headlap_mm) / 2


def headlap_mm(length_mm: float, gauge_mm: float) -> float:
    """Return the headlap that a gauge leaves: length - 2 gauge."""
    return length_mm - 2 * gauge_mm


def soaker_length_mm(gauge_mm: float, headlap_mm: float, turn_down_mm: float) -> float:
    """Return a soaker's length: gauge + headlap + what turns over the head of the slate or tile.

    Notes
    -----
    Source: common practice, no source.
    """
    return gauge_mm + headlap_mm + turn_down_mm


def soaker_count(slope_mm: float, gauge_mm: float) -> int:
    """Return the number of courses that a run of ``slope_mm`` crosses, a part of a course counted whole."""
    return math.ceil(slope_mm / gauge_mm - POINT_MM)
