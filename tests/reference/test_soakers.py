"""Sizes, numbers and masses of soakers, from the job file to the cutting list."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cutpath.reports.account.cutting_list import CuttingRow, cutting_list

Develop = Callable[[str], Any]


def soaker_row(develop_job: Develop, covering: str, exposure: str = "moderate") -> CuttingRow:
    developed = develop_job(
        f"""
        name = "soakers"
        exposure = "{exposure}"
        covering = {covering}
        [[detail]]
        kind = "soakers"
        length = "1.2 m"
        hands = "right"
        """
    )
    assert developed.findings == ()
    (row,) = cutting_list(developed.pieces)
    assert (row["family"], row["code"]) == ("soaker", 3)
    return row


# Covering as written in the job file, its gauge, length of the soaker, mass in code 3.
TABLE = [
    ('"plain tile 265"', 100, 190, 0.498),
    ("{ length = 265, headlap = 65 }", 100, 190, 0.498),
    ("{ length = 500, headlap = 80 }", 210, 315, 0.825),
    ("{ length = 500, headlap = 100 }", 200, 325, 0.851),
    ("{ length = 600, headlap = 110 }", 245, 380, 0.996),
    ("{ length = 400, headlap = 80 }", 160, 265, 0.694),
]


@pytest.mark.parametrize(("covering", "length_mm", "mass_kg"), [(row[0], row[2], row[3]) for row in TABLE])
def test_size_and_mass_of_a_soaker(develop_job: Develop, covering: str, length_mm: float, mass_kg: float) -> None:
    """Source: common practice, no source (gauge + headlap + 25; 75 + 100); mass derived."""
    row = soaker_row(develop_job, covering)
    assert (row["length_mm"], row["width_mm"]) == pytest.approx((length_mm, 175.0), abs=1e-9)
    assert row["each_kg"] == pytest.approx(mass_kg, abs=0.0005)


@pytest.mark.parametrize(("covering", "gauge_mm"), [row[:2] for row in TABLE])
def test_one_soaker_to_each_course(develop_job: Develop, covering: str, gauge_mm: float) -> None:
    """Source: common practice, no source; gauge = (length - headlap) / 2, derived."""
    row = soaker_row(develop_job, covering)
    assert row["quantity"] * gauge_mm >= 1200 > (row["quantity"] - 1) * gauge_mm
    assert row["total_kg"] == pytest.approx(row["quantity"] * row["each_kg"], rel=1e-12)


def test_gauge_and_headlap_are_two_ways_to_say_the_same(develop_job: Develop) -> None:
    """Source: derived (length - headlap is twice the gauge)."""
    by_gauge = soaker_row(develop_job, "{ length = 500, gauge = 200 }")
    by_headlap = soaker_row(develop_job, "{ length = 500, headlap = 100 }")
    assert by_gauge == by_headlap


def test_plain_tiles_in_severe_exposure_lap_75(develop_job: Develop) -> None:
    """Source: common practice, no source (headlap 75 in severe exposure); rest derived.

    Gauge 95, so 95 + 75 + 25 = 195 long and 13 to 1.2 m of slope.
    """
    row = soaker_row(develop_job, '"plain tile 265"', exposure="severe")
    assert row["length_mm"] == pytest.approx(195.0, abs=1e-9)
    assert row["quantity"] == 13
