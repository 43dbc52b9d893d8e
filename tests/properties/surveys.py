"""Random surveys: runs that a roofer could meet, and some that nobody should have to.

Joints are measured as on old work: courses of different height, out of level by up to 15 in 1000. Whether a
survey can be made is for `develop` to say: `run_of` and `pieces_of` drop an example that has a fault.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from cutpath.families.registry import develop
from cutpath.pieces import split
from cutpath.profiles import lead_table
from cutpath.values.leadwork import (
    Apron,
    CornerKind,
    CornerReturn,
    CornerWork,
    CoverFlashing,
    EndCut,
    PlainOutline,
    Soakers,
    StepFlashing,
)
from cutpath.values.survey import BedJoint, DetailHead, Hand, Job, Origin


def figures(low, high):
    """Lengths as a tape gives them: half millimetres."""
    return st.integers(math.ceil(low * 2), math.floor(high * 2)).map(lambda n: n / 2)


@st.composite
def heads(draw, hands=((Hand.RIGHT,), (Hand.LEFT,), (Hand.RIGHT, Hand.LEFT))):
    return DetailHead(
        label="D1",
        origin=Origin("random.toml", "detail[1]"),
        lead=lead_table()[draw(st.sampled_from([4, 5]))],
        quantity=draw(st.integers(1, 3)),
        hands=draw(st.sampled_from(hands)),
        longest_mm=draw(figures(900, 1500)),
        lap_mm=draw(figures(100, 200)),
    )


@st.composite
def step_flashings(draw, corners=tuple(CornerKind), risers=None):
    pitch = draw(st.integers(175, 600)) / 10
    p = math.radians(pitch)
    water = draw(figures(50, 100))
    slope = draw(figures(400, 6000))
    course = draw(figures(55, 120))
    upper_end = draw(st.sampled_from(EndCut))
    corner = draw(st.sampled_from(corners))
    riser = draw(st.one_of(st.just(90.0), st.integers(int(pitch) + 25, 100).map(float)) if risers is None else risers)
    joints, y = [], draw(figures(-40, 60))
    top = slope * math.sin(p) + water / math.cos(p) + 2 * course + 0.02 * slope
    settled = draw(st.one_of(st.just(0), st.integers(-150, 150)))
    uneven = draw(st.booleans())
    number = 0
    while y < top:
        number += 1
        # Each joint runs much as the one below it; 1 in 1000 over 6 m is 6 mm.
        slope_of_joint = (settled + (draw(st.integers(-10, 10)) if uneven else 0)) / 1e4
        joints.append(BedJoint(number, y, slope_of_joint))
        y += course + (draw(figures(-15, 15)) if uneven else 0.0)
    foot = draw(figures(0, 20)) if corner is not CornerKind.NONE else 0.0
    joint = None
    if corner is not CornerKind.NONE and draw(st.booleans()):
        joint = draw(st.integers(1, min(3, number)))
    return StepFlashing(
        head=draw(heads()),
        pitch_deg=pitch,
        slope_mm=slope,
        joints=tuple(joints),
        water_line_mm=water,
        turn_in_mm=draw(figures(12, 40)),
        riser_deg=riser,
        strip_width_mm=None,
        stock_widths_mm=(150.0, 180.0, 210.0, 240.0, 300.0),
        set_back_mm=0.0 if corner is not CornerKind.NONE else draw(figures(0, 60)),
        upper_end=upper_end,
        corner=CornerReturn(corner, 0.0 if corner is CornerKind.NONE else draw(figures(60, 300)), joint, foot),
        least_fold_mm=25.0,
    )


@st.composite
def cover_flashings(draw):
    return CoverFlashing(
        head=draw(heads()),
        length_mm=draw(figures(200, 6000)),
        slope_deg=draw(st.one_of(st.just(0.0), st.integers(100, 600).map(lambda n: n / 10))),
        cover_mm=draw(figures(75, 200)),
        turn_in_mm=draw(figures(12, 40)),
    )


@st.composite
def aprons(draw, corners=tuple(CornerWork)):
    return Apron(
        head=draw(heads(hands=((),))),
        pitch_deg=draw(st.integers(175, 600)) / 10,
        width_mm=draw(figures(250, 3500)),
        side_mm=draw(st.one_of(st.just(0.0), figures(60, 200))),
        upstand_mm=draw(figures(75, 150)),
        cover_mm=draw(figures(150, 250)),
        turn_in_mm=draw(figures(15, 30)),
        corners=draw(st.sampled_from(corners)),
    )


@st.composite
def soakers(draw):
    return Soakers(
        head=draw(heads()),
        count=draw(st.integers(1, 60)),
        length_mm=draw(figures(150, 450)),
        upstand_mm=draw(figures(50, 100)),
        roof_mm=draw(figures(75, 150)),
        turn_down_mm=draw(st.one_of(st.just(0.0), figures(15, 40))),
    )


@st.composite
def outlines(draw):
    """A star about a middle point, so never crossing itself; perhaps a fold across it and a cut into it."""
    n = draw(st.integers(4, 10))
    turns = sorted(draw(st.lists(st.integers(0, 359), min_size=n, max_size=n, unique=True)))
    assume(max((b - a) % 360 for a, b in zip(turns, (*turns[1:], turns[0]), strict=True)) < 150)
    ring = [
        (round(r * math.cos(math.radians(a)), 3), round(r * math.sin(math.radians(a)), 3))
        for a, r in zip(turns, draw(st.lists(figures(120, 400), min_size=n, max_size=n)), strict=True)
    ]
    cuts = ((ring[0], (ring[0][0] / 2, ring[0][1] / 2)),) if draw(st.booleans()) else ()
    holes = (((-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)),) if draw(st.booleans()) else ()
    if draw(st.booleans()):
        ring.reverse()
    return PlainOutline(draw(heads(hands=((),))), tuple(ring), holes, cuts, (), draw(st.booleans()))


details = st.one_of(step_flashings(), cover_flashings(), aprons(), soakers(), outlines())


def job_of(detail):
    return Job("Random", "R", "random.toml", "", "moderate", (detail,))


def run_of(detail):
    """The developed run of a detail; the example is dropped when the detail has a fault."""
    run, _ = develop(detail)
    assume(run is not None)
    return run


def pieces_of(detail):
    """The pieces of a detail, all hands; the example is dropped when there are none."""
    pieces, _ = split(job_of(detail), detail, run_of(detail))
    assume(pieces)
    return pieces


GATE = 6


def for_all(*strategies, gate=GATE):
    """Make a test of a check: the same few examples in every gate, 500 by chance under the slow mark."""

    def decorate(check):
        @pytest.mark.parametrize("examples", [gate, pytest.param(500, marks=pytest.mark.slow)])
        def test(examples):
            thorough = settings(
                max_examples=examples,
                derandomize=examples == gate,
                suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
            )
            thorough(given(*strategies)(check))()

        test.__doc__ = check.__doc__
        return test

    return decorate


pitches = st.integers(125, 600).map(lambda n: n / 10)
letters = st.characters(exclude_categories=["Cs"])
"""All that text in UTF-8 may hold, as `st.text` has it by itself, which takes a second to find that out."""
