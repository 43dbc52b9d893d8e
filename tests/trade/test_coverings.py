"""Gauge and soaker sizes."""

from __future__ import annotations

import pytest

from cutpath.profiles import lead_table
from cutpath.trade.coverings import gauge_mm, headlap_mm, soaker_count, soaker_length_mm


@pytest.mark.parametrize(
    ("length", "headlap", "gauge", "soaker", "kg"),
    [
        (265, 65, 100, 190, 0.498),
        (500, 80, 210, 315, 0.825),
        (500, 100, 200, 325, 0.851),
        (600, 110, 245, 380, 0.996),
        (400, 80, 160, 265, 0.694),
    ],
)
def test_the_table_of_soakers(length: float, headlap: float, gauge: float, soaker: float, kg: float) -> None:
    """Derived from a published rule (read; name not recorded): gauge + headlap + 25, 175 wide, code 3."""
    assert gauge_mm(length, headlap) == gauge
    assert headlap_mm(length, gauge) == headlap
    assert soaker_length_mm(gauge, headlap, 25) == soaker
    assert soaker * 175 * lead_table()[3].mass_kg_m2 / 1e6 == pytest.approx(kg, abs=0.0006)


@pytest.mark.parametrize(("slope", "count"), [(1200, 12), (1200.1, 13), (1199, 12), (100, 1), (1, 1), (0.3, 1)])
def test_a_part_of_a_course_takes_a_whole_soaker(slope: float, count: int) -> None:
    assert soaker_count(slope, 100) == count


def test_rounding_of_the_last_figure_makes_no_soaker() -> None:
    assert soaker_count(0.1 + 0.2, 0.1) == 3
