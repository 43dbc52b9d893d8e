"""What leadworkers hold to be ordinary, from the job file to pieces; none of it has a printed source."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cutpath.errors import Severity
from cutpath.plane import bounds_mm
from cutpath.values.leadwork import Soakers, StepFlashing

Develop = Callable[[str], Any]


def wrapped(longest: str) -> str:
    return f"""
        name = "stack"
        pitch = 40
        [[detail]]
        kind = "step flashing"
        hands = "right"
        length = "1.2 m"
        longest = "{longest}"
        coursing = {{ gauge = 75, first_joint = 150 }}
        return = {{ kind = "integral", length = 200 }}
        """


def test_1200_along_the_slope_and_200_round_the_front_is_1400_of_flashing(develop_job: Develop) -> None:
    """Source: common practice, no source."""
    developed = develop_job(wrapped("1.5 m"))
    (piece,) = developed.pieces
    assert piece.pattern.length_mm == pytest.approx(1400.0, abs=1e-6)


def test_a_wrapped_run_of_1400_is_not_one_length_where_the_limit_is_1200(develop_job: Develop) -> None:
    """Source: common practice, no source (long thin step flashings are held to 1.2 m)."""
    developed = develop_job(wrapped("1.2 m"))
    lengths = [piece.pattern.length_mm for piece in developed.pieces]
    laps = (len(lengths) - 1) * developed.job.details[0].head.lap_mm
    assert len(lengths) == 2
    assert max(lengths) <= 1200.0 + 1e-6
    assert sum(lengths) >= 1400.0 + laps - 1e-6


OLD_BRICKWORK = """
    name = "old wall"
    pitch = 35
    [[detail]]
    kind = "step flashing"
    hands = "right"
    length = 800
    strip_width = 150
    water_line = 65
    turn_in = {turn_in}
    coursing = {{ joints = [68, 150, 229, 311, 392, 476, 557] }}
    """


def test_a_strip_of_800_by_150_on_old_brickwork_is_ordinary(develop_job: Develop) -> None:
    """Source: common practice, no source (water line at 65, turn-in of 15, courses of 79 to 84)."""
    developed = develop_job(OLD_BRICKWORK.format(turn_in=15))
    (piece,) = developed.pieces
    assert piece.pattern.length_mm == pytest.approx(800.0, abs=1e-6)
    assert bounds_mm(piece.pattern.outline)[3] <= 150.0
    assert [(f.code, f.severity) for f in developed.findings] == [("CP304", Severity.WARNING)]


@pytest.mark.parametrize(("turn_in_mm", "codes"), [(14, ["CP304"]), (25, ["CP404"])])
def test_that_strip_is_refused_with_less_turn_in_and_does_not_hold_25(
    develop_job: Develop, turn_in_mm: int, codes: list[str]
) -> None:
    """Source: common practice, no source (15 to 20 on old brickwork); at 25 derived: 65 + (84 + 25) cos 35 is 154."""
    findings = develop_job(OLD_BRICKWORK.format(turn_in=turn_in_mm)).findings
    assert [f.code for f in findings] == codes
    assert all(f.severity is Severity.FAULT for f in findings)


def over_soakers(step: str, soakers: str = "true") -> str:
    return f"""
        name = "soakers and steps"
        pitch = 40
        covering = "plain tile 265"
        [[detail]]
        kind = "step flashing"
        length = 1000
        coursing = {{ gauge = 75, first_joint = 150 }}
        {step}
        soakers = {soakers}
        """


@pytest.mark.parametrize("step", ["", "water_line = 65", "clearance = 10"])
def test_the_water_line_lies_5_to_10_above_the_soakers(develop_job: Develop, step: str) -> None:
    """Source: common practice, no source."""
    developed = develop_job(over_soakers(step))
    (flashing,) = (d for d in developed.job.details if isinstance(d, StepFlashing))
    (soakers,) = (d for d in developed.job.details if isinstance(d, Soakers))
    assert 5.0 <= flashing.water_line_mm - soakers.upstand_mm <= 10.0
    assert "CP307" not in {f.code for f in developed.findings}


@pytest.mark.parametrize(
    ("upstand_mm", "severity"), [(57, None), (62, Severity.WARNING), (65, Severity.WARNING), (75, Severity.FAULT)]
)
def test_a_soaker_that_stands_too_near_the_water_line_is_found(
    develop_job: Develop, upstand_mm: int, severity: Severity | None
) -> None:
    """Source: common practice, no source (the water line at 65)."""
    developed = develop_job(over_soakers("water_line = 65", f"{{ upstand = {upstand_mm} }}"))
    assert [f.severity for f in developed.findings if f.code == "CP307"] == ([severity] if severity else [])
