"""Laps, limits, and a job held against the rules."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from cutpath.errors import Finding, Severity
from cutpath.families.checking import check_rules
from cutpath.profiles import coverings, lead_table, practice
from cutpath.trade.limits import check_covering, free_lap_mm, lap_mm, longest_fact, longest_mm
from cutpath.values.fact import Confidence
from cutpath.values.leadwork import Apron, CornerWork, CoverFlashing, PlainOutline, Soakers
from cutpath.values.survey import BedJoint, Covering, Detail, Group, Hand, Job, Lead, Origin
from tests.families.specimens import head, steps

CODE_3 = Lead(3, 1.32, 14.97, "green")
CODE_4 = Lead(4, 1.80, 20.41, "blue")
HEAD = head(Hand.RIGHT)
STEP = steps(pitch_deg=40, slope_mm=1200, joints=(BedJoint(1, 110), BedJoint(2, 185)), water_line_mm=80)
SOAKERS = Soakers(
    replace(HEAD, label="K1", lead=CODE_3, origin=Origin("j.toml", "detail[1].soakers")), 12, 190, 75, 100, 25
)
APRON = Apron(replace(HEAD, label="A1", hands=()), 40, 890, 150, 75, 150, 25, CornerWork.BOSSED)
COVER = CoverFlashing(replace(HEAD, label="C1", hands=()), 3000, 0, 75, 25)
OUTLINE = PlainOutline(replace(HEAD, label="P1", lead=CODE_3, lap_mm=0), ((0, 0), (9, 0), (9, 9)), (), (), (), False)


def found_in(*details: Detail, exposure: str = "moderate", together: bool = True) -> tuple[Finding, ...]:
    # Soakers lie under the step flashing in whose table they stand.
    pairs = ((STEP.head.label, SOAKERS.head.label),) if together else ()
    group = Group(tuple(detail.head.label for detail in details), pairs)
    found = tuple(check_rules(Job("J", "J", "j.toml", "", exposure, details, groups=(group,)), practice()))
    assert all(f.found and f.accepted and f.remedy for f in found)
    return found


def rules(*details: Detail, exposure: str = "moderate", together: bool = True) -> list[tuple[str, str, Severity]]:
    found = found_in(*details, exposure=exposure, together=together)
    return [(f.code, f.where.removeprefix("j.toml: "), f.severity) for f in found]


def with_head(detail: Detail, **changes: object) -> Detail:
    return replace(detail, head=replace(detail.head, **changes))


def test_a_careful_job_gives_nothing_to_say() -> None:
    assert rules(STEP, SOAKERS, APRON, COVER, OUTLINE) == []


@pytest.mark.parametrize(("pitch", "printed"), [(11, 390), (15, 290), (17.5, 250), (22, 200), (30, 150)])
def test_laps_as_printed(pitch: float, printed: float) -> None:
    """Roofconsult, "Tips 4" (read): 75 / sin(true pitch); the source rounds to ten, we round up."""
    lap = free_lap_mm(lap_mm(pitch, practice()), practice())
    assert lap >= 75 / math.sin(math.radians(pitch)) - 1e-6
    assert 0 <= lap - printed <= 5


def test_laps_steep_and_nearly_level() -> None:
    assert [lap_mm(45, practice()), lap_mm(30, practice())] == pytest.approx([150, 150])
    assert lap_mm(24, practice()) == pytest.approx(184.39, abs=0.01)
    assert free_lap_mm(lap_mm(24, practice()), practice()) == 185
    assert lap_mm(2, practice()) == lap_mm(10.99, practice()) == math.inf


def test_the_longest_length_is_the_lesser_of_rule_and_user() -> None:
    facts = practice()
    for use in ("apron", "valley_gutter"):
        assert [longest_mm(code, use, facts) for code in (3, 4, 8)] == [1000, 1500, 1500]
        assert longest_mm(4, use, facts, 1200) == 1200
        assert longest_mm(3, use, facts, 1200) == 1000


def test_what_the_published_table_does_not_list_is_not_refused_by_it() -> None:
    facts = practice()
    for use in ("step_flashing", "cover_flashing", "apron", "abutment", "saddle", "valley_gutter"):
        assert longest_fact(4, use, facts).confidence is Confidence.READ
    for use in ("abutment_gutter", "back_gutter", "pipe_slate", "outline", "of a later family"):
        assert longest_fact(4, use, facts).confidence is Confidence.PRACTICE


FAULT, WARNING = Severity.FAULT, Severity.WARNING


@pytest.mark.parametrize(
    ("detail", "code", "key", "severity"),
    [
        (with_head(APRON, lead=CODE_3), "CP301", "code", FAULT),
        (with_head(COVER, lead=CODE_3), "CP301", "code", FAULT),
        (with_head(STEP, lead=CODE_3), "CP301", "code", WARNING),
        (with_head(SOAKERS, lead=replace(CODE_3, code=2)), "CP301", "soakers.code", FAULT),
        (with_head(SOAKERS, lead=replace(CODE_4, code=5)), "CP311", "soakers.code", WARNING),
        (with_head(STEP, lap_mm=99), "CP303", "lap", FAULT),
        (with_head(APRON, lap_mm=99), "CP303", "lap", FAULT),
        (replace(with_head(COVER, lap_mm=99), slope_deg=40), "CP303", "lap", FAULT),
        (replace(STEP, turn_in_mm=24), "CP304", "turn_in", WARNING),
        (replace(STEP, turn_in_mm=15), "CP304", "turn_in", WARNING),
        (replace(STEP, turn_in_mm=14), "CP304", "turn_in", FAULT),
        (replace(APRON, turn_in_mm=14), "CP304", "turn_in", FAULT),
        (replace(COVER, turn_in_mm=20), "CP304", "turn_in", WARNING),
        (replace(APRON, upstand_mm=74), "CP305", "upstand", WARNING),
        (replace(SOAKERS, upstand_mm=60), "CP305", "soakers.upstand", WARNING),
        (replace(APRON, cover_mm=149), "CP306", "cover", WARNING),
        (replace(COVER, cover_mm=74), "CP306", "cover", WARNING),
        (replace(SOAKERS, roof_mm=99), "CP306", "soakers.roof", WARNING),
        (replace(STEP, water_line_mm=57), "CP310", "water_line", WARNING),
    ],
)
def test_each_rule(detail: Detail, code: str, key: str, severity: Severity) -> None:
    assert rules(detail) == [(code, f"detail[1].{key}", severity)]


def test_severe_exposure_wants_more_cover() -> None:
    thicker = with_head(APRON, lead=lead_table()[5])
    assert rules(thicker, exposure="severe") == [("CP306", "detail[1].cover", WARNING)]
    assert rules(replace(thicker, cover_mm=200), exposure="severe") == []


@pytest.mark.parametrize(("upstand", "severity"), [(75, None), (76, WARNING), (80, WARNING), (81, FAULT)])
def test_soakers_stand_below_the_water_line(upstand: float, severity: Severity | None) -> None:
    wanted = [] if severity is None else [("CP307", "detail[1].soakers.upstand", severity)]
    assert rules(STEP, replace(SOAKERS, upstand_mm=upstand)) == wanted


@pytest.mark.parametrize("upstand", [75.3, 80.0, 74.3])
def test_a_water_line_raised_as_far_as_is_said_is_enough(upstand: float) -> None:
    """Of soakers that are too low, which are to be made higher as well, and of a water line that is."""
    low = replace(STEP, water_line_mm=78)
    found = found_in(low, replace(SOAKERS, upstand_mm=upstand))[0]
    told = re.search(r"water line (?:to|at) (\d+) mm", found.remedy)
    assert told is not None
    raised = replace(low, water_line_mm=float(told[1]))
    assert rules(raised, replace(SOAKERS, upstand_mm=max(upstand, 75))) == []


def test_soakers_of_another_detail_are_not_held_against_the_water_line() -> None:
    assert rules(STEP, replace(SOAKERS, upstand_mm=120), together=False) == []


@pytest.mark.parametrize(("pitch", "warned"), [(20, True), (29, True), (31, False), (45, False)])
def test_the_old_water_line_is_too_low_on_flat_roofs(pitch: float, warned: bool) -> None:
    step = with_head(replace(STEP, pitch_deg=pitch, water_line_mm=65), lap_mm=400)
    assert [code for code, _, _ in rules(step)] == (["CP310"] if warned else [])


def test_findings_name_figure_rule_and_source() -> None:
    (found,) = check_rules(Job("J", "J", "j.toml", "", "moderate", (replace(APRON, upstand_mm=50),)), practice())
    assert "50 mm" in found.found
    assert "75 mm" in found.accepted
    assert practice()["upstand"].source in found.accepted


def test_a_turn_in_that_is_shallow_by_less_than_a_millimetre_is_told_as_less() -> None:
    job = Job("J", "J", "j.toml", "", "moderate", (replace(STEP, turn_in_mm=24.6),))
    assert "24 mm" in [f.found for f in check_rules(job, practice())]


def test_a_flat_covering_is_warned_of() -> None:
    tiles = Covering("plain tile 265", 265, 65, 100, 35)
    (found,) = check_covering(tiles, 34, Origin("j.toml", ""))
    assert (found.code, found.where, found.severity) == ("CP308", "j.toml: pitch", WARNING)
    assert "; it takes at least 35 deg (" in found.sentence
    assert check_covering(tiles, 35, Origin("j.toml", "")) == ()
    assert check_covering(replace(tiles, least_pitch_deg=None), 5, Origin("j.toml", "")) == ()


@pytest.mark.parametrize(
    ("headlap_mm", "pitch", "least"),
    [(94, 26, "95 mm from 25 deg"), (95, 26, ""), (69, 35, "70 mm from 35 deg"), (54, 45, ""), (54, 44, "60 mm from"),
     (59, 44, "60 mm from"),
     (53, 30, ""), (114, 20, "115 mm from 20 deg"), (60, 19, "at least 20 deg")],
)  # fmt: skip
def test_slates_that_lap_too_little_for_their_pitch_are_warned_of(headlap_mm: float, pitch: float, least: str) -> None:
    """Less than any pitch allows is told where it is written."""
    listed = coverings()["slate 500"]
    slates = Covering("slate 500", 500, headlap_mm, 200, listed.least_pitch_deg, least_headlaps=listed.by_pitch)
    found = check_covering(slates, pitch, Origin("j.toml", ""))
    assert [(f.code, f.where, f.severity) for f in found] == [("CP308", "j.toml: pitch", WARNING)] * bool(least)
    assert all(least in f.accepted for f in found)


def test_strips_on_a_wall_keep_the_lap_between_lengths_and_lead_on_a_roof_that_of_its_slope() -> None:
    on_wall = replace(with_head(STEP, lap_mm=100), pitch_deg=35)
    assert rules(on_wall) == []
    on_roof = replace(on_wall, cover_mm=150)
    assert ("CP303", "detail[1].lap", FAULT) in rules(on_roof)
