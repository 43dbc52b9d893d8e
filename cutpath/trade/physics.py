"""How lead moves with warmth, and how steep the line is along which two roofs meet."""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.units import MILLIONTHS


def thermal_movement_mm(length_mm: float, from_deg_c: float, to_deg_c: float, expansion_1e6_k: float) -> float:
    """Return how much longer a length grows between two temperatures; negative when it shrinks.

    Parameters
    ----------
    length_mm : float
        Length at the first temperature.
    from_deg_c, to_deg_c : float
        Temperatures of the lead in degrees Celsius.
    expansion_1e6_k : float
        Linear expansion in millionths for each kelvin, such as ``profiles.lead_facts()["linear_expansion"].value``.

    Returns
    -------
    float
        mm.

    Notes
    -----
    Source: linear expansion, as in Building Construction Handbook, 8th ed.
    """
    return length_mm * (to_deg_c - from_deg_c) * expansion_1e6_k / MILLIONTHS


def valley_pitch_deg(one_deg: float, other_deg: float) -> float:
    """Return the true pitch of the valley between two roofs whose eaves meet square in plan.

    Parameters
    ----------
    one_deg, other_deg : float
        Pitches of the two roofs from level, both above 0 and under 90.

    Returns
    -------
    float
        Degrees from level; under either roof's own pitch.

    Notes
    -----
    Source: plane trigonometry (derived): a rise of 1 takes 1 / tan of each pitch along the two eaves, and the valley
    covers both at once. For equal pitches it is atan(tan(pitch) cos(45 deg)).
    """
    run = math.hypot(1 / sure.tan(math.radians(one_deg)), 1 / sure.tan(math.radians(other_deg)))
    return math.degrees(sure.atan2(1.0, run))
