"""Job files as a roofer writes them, surveyed."""

from __future__ import annotations

import math
import os
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from cutpath.errors import Finding, Refused, Severity, faults
from cutpath.families.checking import check_rules
from cutpath.intake.files import read_bytes
from cutpath.jobs import load_job, load_jobs, read_jobs
from cutpath.plain import is_unseen
from cutpath.profiles import practice
from cutpath.profiles.rolls import parse_rolls
from cutpath.values.leadwork import (
    Apron,
    BackGutter,
    CornerKind,
    CornerWork,
    CoverFlashing,
    EndCut,
    PipeSlate,
    PlainOutline,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TiltingFillet,
    TopAbutment,
    ValleyGutter,
)
from cutpath.values.survey import Hand, Job

GOOD = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"

MINIMAL = """
name = "Back addition"
pitch = 35
covering = "plain tile 265"

[[detail]]
kind = "step flashing"
length = "2.4 m"
hands = "pair"
coursing = { gauge = 75, first_joint = 110 }
soakers = true
"""


@pytest.fixture
def job_file(tmp_path: Path):
    """Write a job file and give its path."""

    def write(text: str, name: str = "job.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def loaded(path: Path) -> Job:
    job, findings = load_job(path)
    assert findings == ()
    return job


def step(job: Job) -> StepFlashing:
    (found,) = [detail for detail in job.details if isinstance(detail, StepFlashing)]
    return found


def fault(path: Path) -> Finding:
    with pytest.raises(Refused) as refused:
        load_job(path)
    (found,) = faults(refused.value.findings)
    return found


def with_step(keys: str, top: str = "") -> str:
    none = ("" if "soakers" in keys else "soakers = false\n") + ("" if "hands" in keys else 'hands = "pair"\n')
    return (
        f'name = "J"\npitch = 40\ncovering = "plain tile 265"\n{top}\n[[detail]]\nkind = "step flashing"\n'
        f"length = 1200\n{none}{keys}\n"
    )


GAUGE = "coursing = { gauge = 75, first_joint = 110 }\n"


def test_a_pair_of_step_flashings_with_soakers_takes_no_more_than_15_lines(job_file) -> None:
    assert len(MINIMAL.strip().splitlines()) <= 15
    job = loaded(job_file(MINIMAL))
    flashing, soakers = job.details
    assert isinstance(flashing, StepFlashing)
    assert isinstance(soakers, Soakers)
    assert flashing.head.hands == soakers.head.hands == (Hand.RIGHT, Hand.LEFT)
    assert (flashing.head.label, soakers.head.label) == ("S1", "K1")
    assert (flashing.head.lead.code, soakers.head.lead.code) == (4, 3)
    assert flashing.head.longest_mm == 1500
    assert flashing.head.lap_mm == 100
    assert (flashing.pitch_deg, flashing.slope_mm) == (35, 2400)
    assert (flashing.water_line_mm, flashing.turn_in_mm, flashing.riser_deg) == (80, 25, 90)
    assert flashing.corner.kind is CornerKind.NONE
    assert flashing.upper_end is EndCut.PLUMB
    assert (soakers.count, soakers.length_mm) == (24, 190)
    assert (soakers.upstand_mm, soakers.roof_mm, soakers.turn_down_mm) == (75, 100, 25)
    assert soakers.head.origin.key("upstand").endswith("job.toml: detail[1].soakers.upstand")


@pytest.mark.parametrize("path", sorted(GOOD.glob("*.toml")), ids=lambda path: path.stem)
def test_the_demonstration_jobs_have_no_fault(path: Path) -> None:
    job, findings = load_job(path)
    found = [*findings, *check_rules(job, practice())]
    assert faults(found) == ()
    assert job.details


def test_the_demonstration_jobs_go_together() -> None:
    jobs, _ = load_jobs(sorted(GOOD.glob("*.toml")))
    assert len({job.mark for job in jobs}) == len(jobs) >= 4


def test_old_brickwork_is_warned_of_and_let_pass() -> None:
    job, _ = load_job(GOOD / "abutment.toml")
    found = check_rules(job, practice())
    assert {f.code for f in found} == {"CP304", "CP305", "CP318"}
    assert {f.severity for f in found} == {Severity.WARNING}
    assert "old brickwork" in next(str(f) for f in found if f.code == "CP304")


def test_every_way_of_writing_a_job_means_the_same(job_file) -> None:
    plain = loaded(job_file(MINIMAL, "plain.toml"))
    other = loaded(
        job_file(
            MINIMAL.replace("pitch = 35", "pitch = { rise = 700.2075382097097, run = 1000 }")
            .replace('"2.4 m"', '"240 cm"')
            .replace("gauge = 75", 'gauge = "Metric brick"')
            .replace("110", '"11 cm"'),
            "other.toml",
        )
    )
    assert step(plain).joints == step(other).joints
    assert step(plain).pitch_deg == pytest.approx(step(other).pitch_deg, abs=1e-9)
    assert step(plain).slope_mm == step(other).slope_mm


def test_joints_from_a_gauge_reach_past_the_end(job_file) -> None:
    flashing = step(loaded(job_file(MINIMAL)))
    pitch = math.radians(35)
    top = 2400 * math.sin(pitch) + 80 / math.cos(pitch)
    heights = [joint.y_mm for joint in flashing.joints]
    assert heights[0] == 110
    assert heights[-2] >= top > heights[-3]
    assert [joint.number for joint in flashing.joints] == list(range(1, len(heights) + 1))


def test_joints_out_of_level_by_a_second_reading(job_file) -> None:
    text = with_step(
        "coursing = { joints = [110, 190], second_reading = { at = 1000, joints = [104, 186] } }\nskip_joints = [1]\n"
    )
    (joint,) = step(loaded(job_file(text))).joints
    assert (joint.number, joint.y_mm, joint.slope) == (2, 190, pytest.approx(-0.004))


def test_tape_readings_along_the_water_line(job_file) -> None:
    joint = step(loaded(job_file(with_step("water_line = 65\ncoursing = { along_water_line = [100] }\n")))).joints[0]
    pitch = math.radians(40)
    assert joint.y_mm == pytest.approx(65 / math.cos(pitch) + 100 * math.sin(pitch))
    assert joint.slope == 0


def test_one_coursing_serves_each_detail_by_its_own_pitch(job_file) -> None:
    wall = "[coursing.wall]\nalong_water_line = [100, 220]\n"
    own = '[[detail]]\nkind = "step flashing"\nhands = "pair"\nlength = 900\npitch = 30\nsoakers = false\n'
    text = with_step("water_line = 65\n", wall) + own
    first, second = loaded(job_file(text)).details
    assert isinstance(first, StepFlashing)
    assert isinstance(second, StepFlashing)
    assert first.joints[0].y_mm != second.joints[0].y_mm


@pytest.mark.parametrize(
    ("keys", "water_line", "upstand"),
    [
        ("soakers = true\n", 80, 75),
        ("soakers = true\nclearance = 10\n", 85, 75),
        ("soakers = { upstand = 90 }\n", 95, 90),
        ("soakers = true\nwater_line = 65\n", 65, 60),
        ("soakers = true\nwater_line = 65\nclearance = 8\n", 65, 57),
        ("soakers = { upstand = 70 }\nwater_line = 100\n", 100, 70),
        ("soakers = true\nwater_line = 120\n", 120, 75),
    ],
)
def test_water_line_and_soakers_stand_clear_of_each_other(job_file, keys, water_line, upstand) -> None:
    flashing, soakers = loaded(job_file(with_step(GAUGE + keys))).details
    assert isinstance(flashing, StepFlashing)
    assert isinstance(soakers, Soakers)
    assert (flashing.water_line_mm, soakers.upstand_mm) == (water_line, upstand)


def test_whoever_says_nothing_of_soakers_is_told_that_none_are_made(job_file) -> None:
    """Not in single lap, nor where they are ruled out."""
    said = with_step(GAUGE)
    for text, noted in ((said, 0), (said.replace("soakers = false\n", ""), 1)):
        for covering, double in (("plain tile 265", 1), ("interlocking tile", 0)):
            _, findings = read_jobs([job_file(text.replace("plain tile 265", covering))])
            notes = [(f.code, f.where.rpartition(": ")[2], f.severity) for f in findings]
            assert notes == [("CP113", "detail[1]", Severity.NOTE)] * (noted * double)


@pytest.mark.parametrize("kind", ["step flashing", "step and cover", "secret gutter", "soakers", "apron", "chimney"])
def test_whoever_says_nothing_of_hands_is_told_what_is_made(job_file, kind: str) -> None:
    """A pair was made of it, twice the lead of one side, with no word. A stack has both sides."""
    keys = {"apron": "width = 600\n", "chimney": f"width = 600\ndepth = 600\n{GAUGE}"}
    keys |= {"step flashing": f"length = 900\nsoakers = false\n{GAUGE}", "step and cover": f"length = 900\n{GAUGE}"}
    text = f'name = "J"\npitch = 35\ncovering = "plain tile 265"\n[[detail]]\nkind = "{kind}"\n'
    text += keys.get(kind, "length = 900\n")
    handed = kind not in ("apron", "chimney")
    for more, said in (("", "no hand given, so a pair is made, one right and one left"),
                       ("quantity = 3\n", "3 sets and no hand given, so 3 pairs are made, 3 right and 3 left"),
                       ('hands = "pair"\n' * handed, "")):  # fmt: skip
        _, found = read_jobs([job_file(text + more)])
        told = [(f.found, f.severity) for f in found if f.code == "CP113"]
        assert told == [(said, Severity.NOTE)] * (handed and bool(said))


def test_without_soakers_the_water_line_is_the_old_one(job_file) -> None:
    assert step(loaded(job_file(with_step(GAUGE)))).water_line_mm == 65


@pytest.mark.parametrize(
    ("keys", "riser"),
    [
        ("", 90),
        ('riser = "plumb"\n', 90),
        ("riser = 70\n", 70),
        ('riser = "45 deg"\nriser_from = "water line"\n', 85),
        ('riser = 50\nriser_from = "water line"\n', 90),
    ],
)
def test_the_riser_is_counted_from_the_line_that_is_named(job_file, keys: str, riser: float) -> None:
    assert step(loaded(job_file(with_step(GAUGE + keys)))).riser_deg == riser


def test_a_return(job_file) -> None:
    corner = step(loaded(job_file(with_step(GAUGE + "return = { length = 150, joint = 2 }\n")))).corner
    assert (corner.kind, corner.length_mm, corner.joint, corner.foot_mm) == (CornerKind.INTEGRAL, 150, 2, 0)


def test_stock_widths_come_from_the_rolls_of_the_lead(job_file) -> None:
    path = job_file(with_step(GAUGE))
    assert step(load_job(path)[0]).stock_widths_mm[:3] == (150, 180, 210)
    rolls = parse_rolls(
        "[[rolls]]\nwidth_mm = 240\nlength_mm = 6000\ncode = 4\n"
        "[[rolls]]\nwidth_mm = 225\nlength_mm = 3000\n"
        "[[rolls]]\nwidth_mm = 225\nlength_mm = 6000\n"
        "[[rolls]]\nwidth_mm = 175\nlength_mm = 6000\ncode = 3\n",
        "rolls",
    )
    assert step(load_job(path, rolls)[0]).stock_widths_mm == (225, 240)


def test_limits_and_laps_of_the_users_own(job_file) -> None:
    head = step(loaded(job_file(with_step(GAUGE + 'lap = 200\ncode = 5\nlongest = "1.2 m"\n')))).head
    assert (head.lap_mm, head.longest_mm, head.lead.code) == (200, 1200, 5)
    text = with_step(GAUGE + "soakers = true\ncode = 3\n", 'longest = "1.2 m"')
    assert step(loaded(job_file(text))).head.longest_mm == 1000
    own = job_file(with_step(GAUGE + "code = 3\nlongest = 1200\n"))
    job, found = load_job(own)
    assert step(job).head.longest_mm == 1200, "that code 3 is held to 1 m has no published source"
    assert [(f.code, f.severity) for f in found] == [("CP302", Severity.WARNING)]
    assert fault(job_file(with_step(GAUGE + "code = 3\nlongest = 1501\n"))).code == "CP302"


GUTTER = """name = "Gutters"
pitch = 30
covering = "slate 500"
{top}[[detail]]
kind = "{kind}"
hands = "left"
length = "3.5 m"
{own}"""


def test_a_gutter_may_be_longer_than_the_table_for_flashings_and_is_warned_of(job_file) -> None:
    job, found = load_job(job_file(GUTTER.format(kind="secret gutter", top="", own="longest = 1800\n")))
    assert [d.head.longest_mm for d in job.details] == [1800]
    (said,) = [f for f in found if f.code == "CP302"]
    assert (said.severity, said.where.split(":")[-1].strip()) == (Severity.WARNING, "detail[1].longest")
    job, found = load_job(job_file(GUTTER.format(kind="secret gutter", top="longest = 1800\n", own="")))
    assert [d.head.longest_mm for d in job.details] == [1500], "one limit for the whole job lengthens no detail"
    assert [f.severity for f in found if f.code == "CP302"] == [Severity.WARNING]


def test_a_valley_is_held_to_its_published_length(job_file) -> None:
    """Source: NHBC Standards 7.2.21, edition of 2020."""
    valley = GUTTER.replace('hands = "left"\n', "").format(kind="valley gutter", top="", own="longest = 1800\n")
    assert fault(job_file(valley)).code == "CP302"


def test_aprons_take_the_least_that_the_rules_allow(job_file) -> None:
    text = 'name = "J"\npitch = 30\n{}\n[[detail]]\nkind = "apron"\nwidth = 890\n{}\n'
    apron = loaded(job_file(text.format("", "side = 0\ncorners = 'welded'"))).details[0]
    assert isinstance(apron, Apron)
    assert (apron.side_mm, apron.upstand_mm, apron.cover_mm, apron.turn_in_mm) == (0, 75, 150, 25)
    assert apron.corners is CornerWork.WELDED
    assert (apron.head.hands, apron.head.lap_mm) == ((), 100)
    severe = loaded(job_file(text.format('exposure = "severe"', ""))).details[0]
    assert isinstance(severe, Apron)
    assert (severe.cover_mm, severe.side_mm, severe.corners) == (200, 150, CornerWork.BOSSED)


def test_cover_flashings_have_a_hand_when_they_rake(job_file) -> None:
    text = 'name = "J"\n[[detail]]\nkind = "cover flashing"\nlength = "3 m"\n{}\n'
    level = loaded(job_file(text.format(""))).details[0]
    assert isinstance(level, CoverFlashing)
    assert (level.slope_deg, level.cover_mm, level.head.hands) == (0, 75, ())
    raking = loaded(job_file(text.format('slope = "1:1"\nhands = "left"'))).details[0]
    assert isinstance(raking, CoverFlashing)
    assert (raking.slope_deg, raking.head.hands) == (pytest.approx(45), (Hand.LEFT,))
    assert fault(job_file(text.format('hands = "left"'))).code == "CP111"


def test_an_outline_is_taken_as_written(job_file) -> None:
    text = (
        'name = "J"\n[[detail]]\nkind = "outline"\npoints = [[0, 0], ["30 cm", 0], [300, 200], [0, 200]]\n'
        "holes = [[[50, 50], [80, 50], [80, 80]]]\ncuts = [[[0, 100], [40, 100]]]\n"
        "folds = [{ from = [0, 150], to = [300, 150], angle = -45 }]\nmay_flip = true\n"
    )
    outline = loaded(job_file(text)).details[0]
    assert isinstance(outline, PlainOutline)
    assert outline.outline == ((0, 0), (300, 0), (300, 200), (0, 200))
    assert outline.holes == (((50, 50), (80, 50), (80, 80)),)
    assert outline.cuts == (((0, 100), (40, 100)),)
    assert outline.folds == (((0, 150), (300, 150), -45),)
    assert outline.may_flip


@pytest.mark.parametrize(
    ("covering", "length", "count"),
    [
        ('"plain tile 265"', 190, 12),
        ('{ name = "slate 500", headlap = 80 }', 315, 6),
        ('{ name = "slate 500" }', 325, 6),
        ("{ length = 400, gauge = 160 }", 265, 8),
        ('{ name = "Slate 600" }', 380, 5),
    ],
)
def test_soakers_follow_the_covering(job_file, covering: str, length: float, count: int) -> None:
    text = f'name = "J"\ncovering = {covering}\n[[detail]]\nkind = "soakers"\nlength = 1200\nhands = "left"\n'
    soakers = loaded(job_file(text)).details[0]
    assert isinstance(soakers, Soakers)
    assert (soakers.length_mm, soakers.count, soakers.head.hands) == (length, count, (Hand.LEFT,))


def test_severe_exposure_lengthens_the_headlap_of_plain_tiles(job_file) -> None:
    text = 'name = "J"\nexposure = "severe"\ncovering = "plain tile 265"\n[[detail]]\nkind = "soakers"\nlength = 950\n'
    text += 'hands = "pair"\n'
    soakers = loaded(job_file(text)).details[0]
    assert isinstance(soakers, Soakers)
    assert (soakers.length_mm, soakers.count) == (195, 10)


def test_a_covering_laid_too_flat_is_a_warning(job_file) -> None:
    _, (found,) = load_job(job_file(MINIMAL.replace("pitch = 35", "pitch = 30")))
    assert (found.code, found.severity) == ("CP308", Severity.WARNING)
    assert found.where.endswith("job.toml: pitch")


COURSES = "coursing = { gauge = 75, first_joint = 120 }"
FLATTER = "above = [{ length = 900, pitch = 30 }]"


@pytest.mark.parametrize(
    ("pitch", "detail", "where"),
    [
        (30, 'kind = "soakers"\nlength = 900', "pitch"),
        (30, f'kind = "step and cover"\nlength = 900\n{COURSES}', "pitch"),
        (40, f'kind = "step and cover"\nlength = 900\npitch = 30\n{COURSES}', "detail[1].pitch"),
        (40, f'kind = "step flashing"\nlength = 900\nsoakers = true\n{COURSES}\n{FLATTER}', "detail[1].above[1].pitch"),
        (30, f'kind = "step flashing"\nlength = 900\n{COURSES}', ""),
        (36, 'kind = "soakers"\nlength = 900', ""),
    ],
)
def test_whatever_lies_under_or_on_a_covering_doubts_its_pitch(job_file, pitch: float, detail: str, where: str) -> None:
    text = f'name = "J"\npitch = {pitch}\ncovering = "plain tile 265"\n[[detail]]\n{detail}\n'
    _, findings = load_job(job_file(text))
    assert [f.where.rpartition(": ")[2] for f in findings if f.code == "CP308"] == ([where] if where else [])


def test_labels_of_the_users_own_are_kept_clear_of(job_file) -> None:
    text = with_step(GAUGE + 'label = "S2"\nsoakers = { label = "K1" }\n') + "".join(
        f'[[detail]]\nkind = "step flashing"\nlength = {length}\n{GAUGE}hands = "pair"\nsoakers = true\n'
        for length in (900, 910)
    )
    assert [detail.head.label for detail in loaded(job_file(text)).details] == ["S2", "K1", "S1", "K2", "S3", "K3"]


def test_marks_are_made_from_the_name_and_unlike(job_file) -> None:
    names = ["Moth Lane", "mill loft", "Mühle über Land", "ML", "?"]
    paths = [job_file(MINIMAL.replace("Back addition", name), f"{i}.toml") for i, name in enumerate(names)]
    paths.append(job_file('mark = "M"\n' + MINIMAL.replace("Back addition", "Own mark"), "own.toml"))
    jobs, _ = load_jobs(paths)
    assert [job.mark for job in jobs] == ["ML", "ML2", "MUL", "M2", "J", "M"]


def test_jobs_of_one_name_or_mark_are_two_jobs(job_file) -> None:
    first = job_file('mark = "A1"\n' + MINIMAL, "first.toml")
    second = job_file('mark = "A1"\n' + MINIMAL, "second.toml")
    jobs, findings = load_jobs([first, second])
    assert [(job.name, job.mark) for job in jobs] == [("Back addition (A1)", "A1"), ("Back addition (A12)", "A12")]
    notes = [f for f in findings if f.code == "CP109"]
    assert [(f.where, f.severity) for f in notes] == [
        (f"{second}: mark", Severity.NOTE),
        (f"{second}: name", Severity.NOTE),
    ]
    assert "Back addition (A12)" in notes[1].remedy


def test_jobs_of_one_name_get_unlike_marks(job_file, tmp_path) -> None:
    """Two folders with a file of the same name, made by copying one of them."""
    (tmp_path / "other").mkdir()
    files = [job_file(MINIMAL), job_file(MINIMAL, "other/job.toml")]
    files.append(job_file(MINIMAL.replace("Back addition", "Back addition (BA2)"), "third.toml"))
    jobs, _ = load_jobs(files)
    assert [job.mark for job in jobs] == ["BA", "BA2", "BAB"]
    assert [job.name for job in jobs] == ["Back addition (BA)", "Back addition (BA2, 1)", "Back addition (BA2)"]
    assert load_jobs(files)[0] == jobs


def test_a_file_given_twice_is_a_fault(job_file, tmp_path) -> None:
    path = job_file(MINIMAL)
    (tmp_path / "link.toml").symlink_to(path)
    for again in (path, tmp_path / "." / "job.toml", tmp_path / "link.toml"):
        with pytest.raises(Refused) as refused:
            load_jobs([path, again])
        (fault,) = refused.value.findings
        assert (fault.code, fault.where) == ("CP109", str(again))
        assert "quantity" in fault.remedy


@pytest.mark.parametrize("name", [b"j\xe9", "j\u202e".encode(), b"j\nM3 S9000", "j\u200bk".encode()])
def test_a_file_whose_name_cannot_be_read_is_told_before_it_is_written_down(name, tmp_path) -> None:
    """It stands in the manifest, and what made a run is read from there again."""
    file = Path(os.fsdecode(bytes(tmp_path) + b"/" + name + b".toml"))
    file.write_text(MINIMAL)
    _, (fault,) = read_jobs([file])
    assert (fault.code, fault.found.partition(" (")[0]) == ("CP101", "its name holds a character that cannot be seen")
    assert not any(map(is_unseen, fault.found))
    assert fault.remedy == "Give it another name."


def test_links_that_lead_in_a_circle_are_a_fault(tmp_path) -> None:
    (tmp_path / "job.toml").symlink_to("job.toml")
    _, (fault,) = read_jobs([tmp_path / "job.toml"])
    assert (fault.code, fault.found) == ("CP101", "too many levels of symbolic links")
    with pytest.raises(OSError, match="symbolic links"):
        read_bytes(tmp_path / "job.toml", inside=tmp_path)


def test_faults_of_every_file_come_at_once_and_the_rest_is_surveyed(job_file) -> None:
    first = job_file(
        with_step(GAUGE + 'rise = 3\nturn_in = "25"\n') + '[[detail]]\nkind = "apron"\nwidth = 900\n', "a.toml"
    )
    second = job_file("name = \n", "b.toml")
    missing = job_file("", "c.toml").with_name("nowhere.toml")
    third = job_file(with_step(GAUGE + "turn_inn = 3\n").replace('"J"', '"K"'), "d.toml")
    jobs, findings = read_jobs([first, second, missing, third])
    assert [(f.code, f.where) for f in findings] == [
        ("CP105", f"{first}: detail[1].turn_in"),
        ("CP103", f"{first}: detail[1].rise"),
        ("CP102", str(second)),
        ("CP101", str(missing)),
        ("CP103", f"{third}: detail[1].turn_inn"),
    ]
    kept, odd = jobs
    assert [detail.head.origin.path for detail in kept.details] == ["detail[2]"]
    assert [detail.head.origin.path for detail in odd.details] == ["detail[1]"]


def test_a_lost_value_is_complained_of_once(job_file) -> None:
    text = MINIMAL.replace("pitch = 35", 'pitch = "35"').replace(
        '"plain tile 265"', "{ length = 265, gauge = 100, headlap = 65 }"
    )
    _, findings = read_jobs([job_file(text)])
    assert [f.code for f in findings] == ["CP106", "CP111"]
    wall = '[coursing.wall]\njoints = [110, "190"]\n'
    _, findings = read_jobs([job_file(with_step('coursing = "wall"\n', wall))])
    assert [f.code for f in findings] == ["CP105"]


@pytest.mark.parametrize(
    ("text", "code", "key"),
    [
        (with_step(GAUGE + "clearance = 5\n"), "CP111", "clearance"),
        (with_step(GAUGE + "clearance = 5\nwater_line = 90\nsoakers = { upstand = 80 }\n"), "CP111", "clearance"),
        (with_step(GAUGE + "water_line = 20\nclearance = 20\nsoakers = true\n"), "CP107", "water_line"),
        (with_step(GAUGE + 'riser_from = "water line"\n'), "CP104", "riser"),
        (with_step(GAUGE + 'riser = 115\nriser_from = "water line"\n'), "CP107", "riser"),
        (with_step(""), "CP104", "coursing"),
        (with_step("coursing = {}\n"), "CP104", "coursing"),
        (with_step("coursing = { first_joint = 110 }\n"), "CP104", "coursing"),
        (with_step("coursing = { first_joint = 110, joints = [3] }\n"), "CP111", "coursing.first_joint"),
        (
            with_step("coursing = { first_joint = 90, gauge = 75, second_reading = { at = 900, joints = [3] } }\n"),
            "CP111",
            "coursing.second_reading",
        ),
        (
            with_step("coursing = { joints = [110], second_reading = { line = 9, along = [3] } }\n"),
            "CP111",
            "coursing.second_reading",
        ),
        (
            with_step("coursing = { along_water_line = [110], second_reading = { at = 900, joints = [3] } }\n"),
            "CP111",
            "coursing.second_reading",
        ),
        (
            with_step("coursing = { along_water_line = [110], second_reading = { line = 200, along = [110] } }\n"),
            "CP107",
            "coursing.second_reading.along",
        ),
        (with_step("coursing = { gauge = 'metrik brick', first_joint = 110 }\n"), "CP108", "coursing.gauge"),
        (
            with_step("coursing = { joints = [110, 120], second_reading = { at = 900, joints = [120, 119] } }\n"),
            "CP401",
            "coursing.joints[2]",
        ),
        (with_step("coursing = { along_water_line = [110, 90] }\n"), "CP401", "coursing.along_water_line[2]"),
        (with_step(GAUGE + 'label = "long label"\n'), "CP107", "label"),
        (with_step(GAUGE + "quantity = true\n"), "CP107", "quantity"),
        (with_step(GAUGE + f"return = {{ length = 120, joint = {10**400} }}\n"), "CP107", "return.joint"),
        (
            with_step(
                "coursing = { steps = [{ rise = 170, run = 120 }], second_reading = { at = 900, joints = [170] } }\n"
            ),
            "CP111",
            "coursing.second_reading",
        ),
        (with_step(GAUGE).replace("1200", "'1.2 km'"), "CP105", "length"),
        (with_step(GAUGE).replace("1200", "'1200 m'"), "CP112", "length"),
    ],
)
def test_what_does_not_go_together(job_file, text: str, code: str, key: str) -> None:
    found = fault(job_file(text))
    assert found.code == code
    assert found.where.endswith(f"detail[1].{key}")


SOAKERS = '[[detail]]\nkind = "soakers"\nlength = 1500\nhands = "right"\n'
OUTLINE = '[[detail]]\nkind = "outline"\npoints = [[0, 0], [300, 0], [300, 200], [0, 200]]\n'


@pytest.mark.parametrize(
    ("text", "code", "key", "says"),
    [
        (SOAKERS, "CP104", "covering", "nothing"),
        ("covering = { length = 500 }\n" + SOAKERS, "CP104", "covering", "neither headlap nor gauge"),
        ("covering = { headlap = 76 }\n" + SOAKERS, "CP104", "covering", "neither name nor length"),
        ('covering = "qqqqq"\n' + SOAKERS, "CP108", "covering", 'no covering named "qqqqq"'),
        (
            OUTLINE + "folds = [{ from = [0, 50], to = [300, 50], angle = 180 }]\n",
            "CP107",
            "detail[1].folds[1].angle",
            "180 deg",
        ),
        (OUTLINE + "cuts = [[[10, 10], [10, 10]]]\n", "CP409", "detail[1].cuts[1]", "a cut without length"),
    ],
)
def test_what_is_lacking_or_cannot_be(job_file, text: str, code: str, key: str, says: str) -> None:
    found = fault(job_file(f'name = "J"\npitch = 40\n{text}'))
    assert (found.code, found.where.rpartition(": ")[2], found.found) == (code, key, says)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name = \n", "at line 1, column 8"),
        ('name = "J\npitch = 3', "the line ends inside a text at line 1, column 10"),
        ('name = "J', "at the end of the file"),
        (with_step(GAUGE + "length = 3\n"), "line 11"),
        ("x = " + "[" * 5000, "too deep"),
    ],
)
def test_broken_toml_is_said_with_its_place(job_file, text: str, says: str) -> None:
    found = fault(job_file(text))
    assert found.code == "CP102"
    assert says in found.found


@pytest.mark.parametrize("day", ['"2026-02-30"', '"2026-13-01"', '"0000-01-01"', '"30.2.2026"', '"31/11/2026"', "7"])
def test_a_day_that_no_calendar_has_is_a_fault(job_file, day: str) -> None:
    _, (fault,) = read_jobs([job_file(f"due = {day}\n{MINIMAL}")])
    assert (fault.code, fault.where.rpartition(": ")[2]) == ("CP107", "due")
    assert fault.accepted == "accepted: a day such as 2026-11-30, or text"


@pytest.mark.parametrize(
    "day", ["2026-02-28", '"2024-02-29"', '"28/2/2026"', '"2/28/2026"', '"Friday"', '"week 13-14"']
)
def test_days_and_words_for_them_pass(job_file, day: str) -> None:
    (job,), _ = read_jobs([job_file(f"due = {day}\n{MINIMAL}")])
    assert job.due == day.strip('"')


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xff\xfe\x00")
    assert fault(path).code == "CP101"
    assert fault(tmp_path).code == "CP101"


def test_step_and_cover_takes_its_cover_from_the_exposure(job_file) -> None:
    text = 'name = "J"\npitch = 30\n{}\n[[detail]]\nkind = "step and cover"\nhands = "pair"\nlength = 1200\n{}\n'
    usual = loaded(job_file(text.format("", GAUGE))).details[0]
    assert isinstance(usual, StepFlashing)
    assert (usual.cover_mm, usual.water_line_mm, usual.head.lead.code) == (150, 65, 4)
    severe = loaded(job_file(text.format('exposure = "severe"', GAUGE))).details[0]
    assert isinstance(severe, StepFlashing)
    assert severe.cover_mm == 200
    own = loaded(job_file(text.format('exposure = "severe"', GAUGE + "cover = 240\nwater_line = 80"))).details[0]
    assert isinstance(own, StepFlashing)
    assert (own.cover_mm, own.water_line_mm) == (240, 80)
    assert fault(job_file(text.format("", GAUGE + "soakers = true"))).code == "CP103"


def test_a_back_gutter_takes_its_sizes_from_practice(job_file) -> None:
    text = 'name = "J"\npitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 900\n{}\n'
    usual = loaded(job_file(text.format(""))).details[0]
    assert isinstance(usual, BackGutter)
    assert (usual.side_mm, usual.upstand_mm, usual.sole_mm, usual.up_roof_mm) == (150, 100, 150, 225)
    assert usual.fillet == TiltingFillet(150, 75, 25, 45)
    assert usual.corners is CornerWork.BOSSED
    own = loaded(job_file(text.format("side = 0\nfillet = false\nsole = 200"))).details[0]
    assert isinstance(own, BackGutter)
    assert (own.side_mm, own.sole_mm, own.fillet) == (0, 200, None)


def test_a_level_cover_flashing_may_go_round_both_arrises(job_file) -> None:
    text = 'name = "J"\n[[detail]]\nkind = "cover flashing"\nlength = 900\nreturns = 150\n'
    cover = loaded(job_file(text)).details[0]
    assert isinstance(cover, CoverFlashing)
    assert (cover.length_mm, cover.return_mm) == (900, 150)


def test_saddles_valleys_and_pipes_take_their_sizes_from_practice(job_file) -> None:
    text = 'name = "J"\npitch = 35\n[[detail]]\nkind = "{}"\n{}\n'
    saddle = loaded(job_file(text.format("ridge saddle", ""))).details[0]
    assert isinstance(saddle, RidgeSaddle)
    assert (saddle.width_mm, saddle.length_mm, saddle.upstand_mm, saddle.pitch_deg) == (450, 450, 150, 35)
    valley = loaded(job_file(text.format("valley gutter", "length = 3000\npitch = 15"))).details[0]
    assert isinstance(valley, ValleyGutter)
    assert (valley.other_pitch_deg, valley.true_pitch_deg) == (15, pytest.approx(10.7, abs=0.05))
    assert valley.head.lap_mm == math.inf  # under 11 degrees no lap will do
    assert "10.7 deg" in valley.head.no_lap
    steeper = loaded(job_file(text.format("valley gutter", "length = 3000\npitch = 20"))).details[0]
    assert (steeper.head.lap_mm, steeper.head.no_lap) == (305, "")  # 75 / sin 14.43 is 300.9
    pipe = loaded(job_file(text.format("lead slate", "pipe = 110"))).details[0]
    assert isinstance(pipe, PipeSlate)
    assert (pipe.clearance_mm, pipe.sleeve_mm, pipe.seam_mm, pipe.above_mm) == (3, 150, 25, 200)


def test_stop_ends_are_said_by_the_side_facing_the_wall(job_file) -> None:
    text = 'name = "J"\npitch = 30\n[[detail]]\nkind = "top-edge abutment"\nlength = 3000\n{}\n'
    for word, heights in (("none", (0, 0)), ("left", (75, 0)), ("right", (0, 75)), ("both", (75, 75))):
        flashing = loaded(job_file(text.format(f'stop_ends = "{word}"'))).details[0]
        assert isinstance(flashing, TopAbutment)
        assert (flashing.stop_left_mm, flashing.stop_right_mm) == heights
        assert (flashing.upstand_mm, flashing.cover_mm, flashing.head.lap_mm) == (75, 150, 100)


@pytest.mark.parametrize(
    ("former", "name", "more"),
    [
        ("pipe slate", "lead slate", "pipe = 110"),
        ("top abutment", "top-edge abutment", "length = 3000"),
        ("abutment gutter", "secret gutter", "length = 2700"),
    ],
)
def test_former_names_of_kinds_are_read_with_a_note(job_file, former, name, more):
    text = 'name = "J"\npitch = 20\n[[detail]]\nkind = "{}"\n' + more + "\n"
    now, then = job_file(text.format(name), "now.toml"), job_file(text.format(former), "then.toml")
    (today,), none = read_jobs([now])
    (before,), notes = read_jobs([then])
    assert [f.code for f in none if f.code == "CP114"] == []
    (note,) = [f for f in notes if f.code == "CP114"]
    assert note.severity is Severity.NOTE
    assert note.sentence == f'"{former}" is a former name; its name is "{name}" now'
    assert [type(d) for d in before.details] == [type(d) for d in today.details]


@pytest.mark.parametrize(
    ("sizes", "exposure", "own", "where", "says"),
    [
        ('name = "plain tile 265", gauge = 101', "moderate", "", "covering.gauge", "63 mm; it takes at least 65 mm"),
        ('name = "plain tile 265", gauge = 100', "moderate", "", "", ""),
        ('name = "plain tile 265", gauge = 96', "severe", "", "covering.gauge", "73 mm; it takes at least 75 mm"),
        ('name = "slate 500", headlap = 53', "moderate", "", "covering.headlap", "53 mm; it takes at least 54 mm"),
        ('name = "slate 500"', "severe", "headlap = 50", "detail[1].headlap", "50 mm; it takes at least 70 mm"),
        ("length = 500, headlap = 50", "moderate", "", "", ""),
        ('name = "slate 500", headlap = 0.08', "moderate", "", "", ""),
    ],
)
def test_a_measured_headlap_is_held_to_the_least_of_its_covering(job_file, sizes, exposure, own, where, says) -> None:
    """Source: NHBC Standards 7.2.19 Table 21."""
    text = f'name = "J"\npitch = 40\nexposure = "{exposure}"\ncovering = {{ {sizes} }}\n'
    file = job_file(f'{text}[[detail]]\nkind = "soakers"\ncount = 4\nhands = "left"\n{own}\n')
    _, findings = read_jobs([file])
    short = [f for f in findings if f.code == "CP308"]
    assert [(f.where.rpartition(": ")[2], f.severity) for f in short] == [(where, Severity.WARNING)] * bool(where)
    assert all(says in f.sentence for f in short)


def test_a_name_has_one_line(job_file) -> None:
    _, (fault,) = read_jobs([job_file(MINIMAL.replace("Back addition", "Fern\\nCottage"))])
    assert (fault.code, fault.where.rpartition(": ")[2]) == ("CP107", "name")
    assert fault.sentence == "a text of several lines; it takes one line"


@pytest.mark.parametrize(
    ("one", "other"), [("Fern", "FERN"), ("Caf\u00e9", "Cafe\u0301"), ("Fern", " Fern "), ("F  7", "F 7")]
)
def test_names_that_are_read_as_one_are_told_apart_by_their_marks(job_file, one, other) -> None:
    files = [job_file(MINIMAL.replace("Back addition", name), f"{n}.toml") for n, name in enumerate((one, other))]
    jobs, findings = read_jobs(files)
    assert [job.name for job in jobs] == [f"{name} ({job.mark})" for name, job in zip((one, other), jobs, strict=True)]
    assert [f.where for f in findings if f.code == "CP109"] == [f"{files[1]}: name"]


COVER = {"kind": "cover flashing", "length": 700, "quantity": 2}
STACK = {"kind": "chimney", "width": 600, "depth": 450, "coursing": {"gauge": 75, "first_joint": 120}}


@pytest.mark.parametrize(
    "keys",
    [
        {"length": np.int64(700), "quantity": np.int64(2)},
        {"length": np.float64(700)},
        {"length": Decimal(700)},
        {"length": Fraction(700)},
    ],
)
def test_a_job_in_code_may_have_numbers_of_other_libraries(keys) -> None:
    job = {"name": "J", "detail": ({**COVER, **keys},)}
    assert read_jobs(job) == read_jobs([{"name": "J", "detail": [COVER]}])


def test_a_job_in_code_may_have_arrays() -> None:
    """They were refused as no list, and a truth of numpy as neither true nor false."""
    plate = {"kind": "outline", "points": [[0, 0], [300, 0], [300, 100]], "quantity": 2}
    arrays = {**plate, "points": np.array(plate["points"]), "quantity": np.array(2)}
    stack = {**STACK, "apron": np.bool_(False)}
    jobs, found = read_jobs({"name": "J", "pitch": 35, "covering": "plain tile 265", "detail": [arrays, stack]})
    plain = {"name": "J", "pitch": 35, "covering": "plain tile 265", "detail": [plate, {**STACK, "apron": False}]}
    assert (jobs, found) == read_jobs(plain)


@pytest.mark.parametrize(
    "left_out",
    [
        {"customer": None},
        {"detail": [{**STACK, "apron": {"upstand": None}, "back_gutter": {"upstand": None}}]},
        {"detail": [{**STACK, "cover_flashing": {"returns": None, "cover": None}}]},
    ],
)
def test_none_in_code_is_a_key_left_out(left_out) -> None:
    """Of a stack's apron and cover flashing it ended in a traceback, of its gutter in a proof that refused."""
    job = {"name": "J", "pitch": 35, "covering": "plain tile 265", "detail": [STACK]}
    assert read_jobs({**job, **left_out})[0] == read_jobs(job)[0]


def test_a_job_by_itself_is_read_as_a_list_of_one(job_file) -> None:
    file = job_file(MINIMAL)
    assert read_jobs(file)[0] == read_jobs(str(file))[0] == read_jobs([file])[0]


def endless() -> dict[str, object]:
    table: dict[str, object] = {"name": "J"}
    table["detail"] = table
    return table


@pytest.mark.parametrize(
    ("job", "found"),
    [
        ({1: 2}, "a key that is no text: 1"),
        ({"name": "J", "detail": [{2: 3}]}, "a key that is no text: 2"),
        (endless(), "tables nested more than 30 deep"),
    ],
)
def test_what_no_job_file_could_hold_is_told_of_a_job_in_code(job, found) -> None:
    jobs, (fault,) = read_jobs([job])
    assert (jobs, fault.code, fault.where, fault.found) == ((), "CP102", "job", found)


def test_a_key_of_details_that_stands_in_the_job_is_sent_there(job_file) -> None:
    """The nearest word among the job's own keys was order."""
    finding = fault(job_file(MINIMAL.replace("pitch = 35", "pitch = 35\ncode = 5")))
    assert (finding.code, finding.remedy) == (
        "CP103",
        "It belongs in a [[detail]]: write it there, in each that it is for.",
    )


def test_a_key_below_the_header_of_a_table_inside_is_sent_out_of_it(job_file) -> None:
    """Starter files end with the coursing: a key written at the end fell into that, and was to be taken out."""
    top = 'name = "A"\npitch = 35\ncovering = "slate 500"\n'
    stack = '[[detail]]\nkind = "chimney"\nwidth = 665\ndepth = 440\n'
    coursing = "[detail.coursing]\ngauge = 75\nfirst_joint = 120\n"
    finding = fault(job_file(f'{top}{stack}{coursing}corners = "welded"\n'))
    assert (finding.code, finding.where.rpartition(": ")[2], finding.remedy) == (
        "CP103",
        "detail[1].coursing.corners",
        "It belongs beside coursing, not in it: write it above any header [detail.coursing].",
    )
    again = fault(job_file(f'{top}{stack}corners = "bossed"\n{coursing}corners = "welded"\n'))
    assert again.remedy.startswith("Take the line out"), "it stands there already"


@pytest.mark.parametrize(
    ("top", "remedy"),
    [
        ('exposure = "moderate"\n', "It counts for the whole file: it is given there, so take it out here."),
        ("", "It counts for the whole file: write it at the top, above any header."),
    ],
)
def test_a_key_of_the_job_that_stands_in_a_detail_is_sent_there(job_file, top, remedy) -> None:
    apron = '[[detail]]\nkind = "apron"\nwidth = 900\nexposure = "severe"\n'
    finding = fault(job_file(f'name = "J"\npitch = 35\n{top}{apron}'))
    assert (finding.code, finding.remedy) == ("CP103", remedy)


@pytest.mark.parametrize(
    ("kind", "figure", "on_slates", "on_tiles"),
    [
        ('kind = "apron"\nwidth = 900', "cover_mm", 180, 220),
        ('kind = "top-edge abutment"\nlength = 900', "cover_mm", 180, 220),
        ('kind = "lead slate"\npipe = 110', "above_mm", 200, 220),
    ],
)
def test_a_detail_may_lie_on_a_covering_of_its_own(job_file, kind, figure, on_slates, on_tiles) -> None:
    """Derived: 75 / sin 25 is 177.5; tiles in single lap lie 5 deg flatter, and 75 / sin 20 is 219.3."""
    top = 'name = "J"\npitch = 25\ncovering = "slate 500"\n[[detail]]\n'
    for own, far in (("", on_slates), ('covering = "interlocking tile"\n', on_tiles)):
        job, _ = load_job(job_file(f"{top}{kind}\n{own}"))
        assert getattr(job.details[0], figure) == far
    told = fault(job_file(f'{top}{kind}\ncovering = "interlocking tyle"\n'))
    assert (told.code, told.where.rpartition(": ")[2]) == ("CP108", "detail[1].covering")


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ('kind = "apron"\nwidth = 900', ["detail[1].pitch"]),
        ('kind = "top-edge abutment"\nlength = 900', ["detail[1].pitch"]),
        ('kind = "lead slate"\npipe = 110', ["detail[1].pitch"]),
        ('kind = "apron"\nwidth = 900\ncovering = "interlocking tile"', []),
        (
            'kind = "chimney"\nwidth = 600\ndepth = 600\ncoursing = { gauge = 75, first_joint = 110 }',
            ["detail[1].step_flashing.pitch"],
        ),
    ],
)
def test_a_detail_on_a_roof_too_flat_for_its_covering_is_told_once(job_file, kind, told) -> None:
    """Source: the covering's own data (plain tiles from 35 deg)."""
    top = 'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\npitch = 22\n'
    _, found = load_job(job_file(top + kind + "\n"))
    assert [f.where.rpartition(": ")[2] for f in found if f.code == "CP308"] == told


def test_a_detail_that_was_copied_and_left_as_it_was_is_told(job_file) -> None:
    apron, wide = (f'[[detail]]\nkind = "apron"\nwidth = {width}\n' for width in (900, 910))
    top = 'name = "J"\npitch = 40\n'
    (job,), found = read_jobs([job_file(top + apron + wide + apron)])
    (note,) = [f for f in found if f.code == "CP113"]
    assert (len(job.details), note.severity) == (3, Severity.NOTE)
    assert note.sentence.startswith("detail 1 once more")
    assert note.where.endswith(": detail[3]")


@pytest.mark.parametrize(("pitch", "guess"), [("0.7", '"0.7:1"'), ('"1:60"', "")])
def test_a_pitch_that_was_worked_out_is_no_ratio(job_file, pitch, guess) -> None:
    _, (fault,) = read_jobs([job_file(MINIMAL.replace("pitch = 35", f"pitch = {pitch}"))])
    assert ("Did you mean" in fault.remedy, guess in fault.remedy) == (bool(guess), True)


@pytest.mark.parametrize("name", ["pantile", "double roman", "Plain Tiles"])
def test_who_names_a_covering_that_is_not_listed_hears_what_pantiles_go_by(name, job_file) -> None:
    finding = fault(job_file(MINIMAL.replace("plain tile 265", name)))
    assert finding.code == "CP108"
    assert "pantiles, go by single-lap tile" in finding.remedy
