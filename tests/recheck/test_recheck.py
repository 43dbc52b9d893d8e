"""What was written, worked out a second time: right jobs pass in every way of writing them, wrong figures are named."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume
from hypothesis import strategies as st

from cutpath.jobs import load_job, read_jobs
from cutpath.pieces import pieces_of as developed
from cutpath.profiles import practice
from cutpath.recheck import recheck
from cutpath.recheck.slopes import valley_rise
from cutpath.values.leadwork import Apron, BackGutter, CoverFlashing, Soakers, StepFlashing
from tests.families.families import families
from tests.faulty.jobs import JOBS, job_text
from tests.folding.test_stack import chimneys
from tests.properties.surveys import (
    aprons,
    cover_flashings,
    for_all,
    job_of,
    outlines,
    pieces_of,
    soakers,
    step_flashings,
)

ROOT = Path(__file__).resolve().parents[2]
GOOD = sorted((ROOT / "fixtures" / "jobs").glob("*.toml"))
STEPS = 'name = "J"\npitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 2400\nwater_line = 80\nhands = "right"\n'


def read(tmp_path, text):
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load_job(path)[0]


def found(job, **changed):
    """What is said of a job, with figures of the survey of its details changed."""
    wrong = replace(
        job, details=tuple(replace(d, **{k: v for k, v in changed.items() if hasattr(d, k)}) for d in job.details)
    )
    pieces, _ = developed([job])
    return recheck(wrong, pieces, practice())


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_the_demonstration_jobs_come_out_the_same(path):
    job, _ = load_job(path)
    assert not found(job)


@pytest.mark.parametrize(
    "lost", ["", ".above[1]", ".soakers"], ids=["a detail", "above a change of pitch", "soakers of its own"]
)
def test_what_was_written_and_not_surveyed_is_named(tmp_path, lost):
    own = "coursing = { gauge = 75, first_joint = 110 }\nabove = [{ length = 900, pitch = 42 }]\nsoakers = true\n"
    job = read(tmp_path, STEPS.replace("pitch = 35", 'pitch = 35\ncovering = "plain tile 265"') + own)
    pieces, _ = developed([job])
    without = replace(job, details=tuple(d for d in job.details if d.head.origin.path != f"detail[1]{lost}"))
    assert len(without.details) < len(job.details)
    said = [f.where for f in recheck(without, pieces, practice()) if f.found == "nothing surveyed"]
    assert [where.rpartition(": ")[2] for where in said] == [f"detail[1]{lost}"]


@pytest.mark.parametrize("name", JOBS)
def test_every_family_comes_out_the_same(tmp_path, name):
    assert not found(read(tmp_path, job_text(name)))


@pytest.mark.parametrize(
    "keys",
    [
        "water_line = 90\nsoakers = { upstand = 70 }\n",
        "clearance = 8\nsoakers = true\n",
        "soakers = { upstand = 60 }\nclearance = 10\n",
        "soakers = { headlap = 75, count = 7, roof = 120 }\n",
        'riser = 50\nriser_from = "water line"\n',
        "skip_joints = [4, 9]\nquantity = 3\ncode = 5\n",
        "longest = 1100\nlap = 120\nset_back = 30\nturn_in = 20\n",
        "code = 3\nlongest = 1200\nturn_in = 20\nabove = [{ length = 900, pitch = 42 }]\n",  # that rule only warns
        'return = { length = 140, foot = 5 }\nupper_end = "square"\n',
    ],
)
def test_whatever_is_written_counts(tmp_path, keys):
    text = STEPS if "water_line" not in keys and "clearance" not in keys else STEPS.replace("water_line = 80\n", "")
    text = text.replace("pitch = 35\n", 'pitch = 35\ncovering = "plain tile 265"\n')
    assert not found(read(tmp_path, text + "coursing = { gauge = 75, first_joint = 120 }\n" + keys))


def test_a_shops_own_figures_count(tmp_path):
    job = read(tmp_path, 'name = "J"\npitch = 35\n[[detail]]\nkind = "apron"\nwidth = 900\n')
    pieces, _ = developed([job])
    own = practice()
    shop = {**own, "apron_cover": replace(own["apron_cover"], value=180.0)}
    assert not recheck(job, pieces, own)
    (fault,) = recheck(job, pieces, shop)
    assert (fault.code, fault.where.rpartition(": ")[2]) == ("CP419", "detail[1].cover")
    assert "180" in fault.accepted


@pytest.mark.parametrize("key", ["points", "holes", "cuts", "folds"])
def test_a_shape_with_a_point_or_a_line_more_than_was_written_is_named(tmp_path, key):
    holes = "holes = [[[100, 100], [200, 100], [200, 200]]]\ncuts = [[[50, 0], [50, 40]]]\n"
    folds = "folds = [{ from = [0, 250], to = [400, 250] }]\n"
    points = "points = [[0, 0], [400, 0], [400, 300], [0, 300]]\n"
    job = read(tmp_path, f'name = "J"\n[[detail]]\nkind = "outline"\n{points}{holes}{folds}')
    (shape,) = job.details
    name = "outline" if key == "points" else key
    more = replace(job, details=(replace(shape, **{name: (*getattr(shape, name), *getattr(shape, name)[-1:])}),))
    said = recheck(more, developed([job])[0], practice())
    assert [f.where.rpartition(".")[2] for f in said if f.found.endswith("is not as written")] == [key]


@for_all(step_flashings() | cover_flashings() | aprons() | soakers() | outlines() | families)
def test_pieces_of_any_survey_come_out_the_same(detail):
    """Numbers, hands, lengths and runs; a job from no file has nothing written to be held to."""
    assert not recheck(job_of(detail), pieces_of(detail), practice())


@for_all(chimneys())
def test_any_chimney_comes_out_the_same(job):
    pieces, _ = developed([job])
    assert not recheck(job, pieces, practice())


@for_all(step_flashings() | families, st.data())
def test_a_piece_left_out_is_missed(detail, data):
    pieces = pieces_of(detail)
    assume(len(pieces) > 1)
    gone = data.draw(st.integers(0, len(pieces) - 1))
    assert recheck(job_of(detail), [*pieces[:gone], *pieces[gone + 1 :]], practice())


@pytest.mark.parametrize(("one", "other", "printed"), [(15, 15, 10.7), (12, 12, 8.55), (30, 42, 25.92)])
def test_the_pitch_of_a_valley_by_the_normals_of_its_roofs(one, other, printed):
    """10.7 is printed for two roofs of 15; the others by 1 / hypot(1 / tan p, 1 / tan q)."""
    assert math.degrees(math.asin(valley_rise(one, other))) == pytest.approx(printed, abs=0.06)


def test_a_wrong_number_of_soakers_is_said_with_the_right_one(tmp_path):
    job = read(tmp_path, job_text("soakers"))
    (soaker,) = job.details
    assert isinstance(soaker, Soakers)
    said = [f.accepted for f in found(job, count=soaker.count - 1) if f.where.endswith("count")]
    assert said == [f"worked out a second time: {soaker.count}, one to each course"]


def test_a_wrong_joint_is_named(tmp_path):
    job = read(tmp_path, job_text("steps, read twice"))
    (steps,) = job.details
    assert isinstance(steps, StepFlashing)
    joints = tuple(replace(j, y_mm=j.y_mm + 10 * (j.number == 7)) for j in steps.joints)
    said = [f.where.rpartition(": ")[2] for f in found(job, joints=joints)]
    assert said == [
        "detail[1].coursing, joint 7 at the corner",
        "detail[1].coursing, joint 7 at its second reading",
    ]


@pytest.mark.parametrize("gone", [1, 7, 19])
def test_a_joint_of_a_gauge_left_out_between_is_missed(tmp_path, gone):
    """Joint 19, at 1458 mm, is the last needed: the water line ends 2400 sin 35 + 80 / cos 35 = 1474 mm up."""
    job = read(tmp_path, STEPS + "coursing = { gauge = 75, first_joint = 108 }\n")
    (steps,) = job.details
    assert isinstance(steps, StepFlashing)
    assert not found(job)
    told = found(job, joints=tuple(joint for joint in steps.joints if joint.number != gone))
    assert [f.found for f in told if f.where.endswith("coursing.gauge")] == [f"no joint {gone}"]


@pytest.mark.parametrize(("more", "said"), [(0, []), (1, ["22 joints"])])
def test_more_joints_of_a_gauge_than_one_over_are_told(tmp_path, more, said):
    job = read(tmp_path, STEPS + "coursing = { gauge = 75, first_joint = 108 }\n")
    (steps,) = job.details
    assert isinstance(steps, StepFlashing)
    last = steps.joints[-1]
    over = [replace(last, number=last.number + k, y_mm=last.y_mm + 75 * k) for k in (1, 2)]
    told = found(job, joints=(*steps.joints, *over[: 21 - last.number + more]))
    assert [f.found for f in told if f.where.endswith("coursing.gauge")] == said


def test_a_joint_read_once_runs_as_the_nearest_that_was_read_twice(tmp_path):
    """Joints 3 to 20 were read twice; 1 and 2 run as joint 3, 21 and more as joint 20."""
    heights = [110 + 75 * n for n in range(24)]
    again = [height + (2 if n < 11 else 5) for n, height in enumerate(heights)][2:20]
    reading = f"{{ at = 1500, joints = {again}, from_joint = 3 }}"
    job = read(tmp_path, f"{STEPS}[detail.coursing]\njoints = {heights}\nsecond_reading = {reading}\n")
    assert not found(job)


@pytest.mark.parametrize(("first", "rise"), [(110, 0), (125, 12), (146, -12)])
def test_parts_of_a_chimney_meet_at_the_lowest_joints_that_they_all_allow(tmp_path, first, rise):
    """A joint farther up is told, at the front and at the back.

    Derived: the gutter's upstand ends 750 tan 40 + 100 = 729 mm up, where joint 9 stands 725 + 12 or 746 - 12 mm up.
    """
    heights = [first + 75 * n for n in range(16)]
    again = [height + 2.5 * rise for height in heights]
    coursing = f"{{ joints = {heights}, second_reading = {{ at = 1500, joints = {again} }} }}"
    job = read(
        tmp_path,
        'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\nwidth = 600\n'
        f"depth = 600\ncoursing = {coursing}\n",
    )
    assert not found(job)
    (stack,) = job.chimneys
    steps = next(d for d in job.details if isinstance(d, StepFlashing))
    following = {joint.number: after for joint, after in pairwise(steps.joints)}
    pieces, _ = developed([job])
    for end, key in (("front", "return.joint"), ("back", "coursing")):
        joint = following[getattr(stack, end).number]
        told = recheck(replace(job, chimneys=(replace(stack, **{end: joint}),)), pieces, practice())
        assert f"joint {joint.number} at the {end}" in [f.found for f in told if f.where.endswith(key)]


def test_a_joint_that_the_steps_skip_says_how_those_below_run(tmp_path):
    """Joints 1 and 2 were read once; the nearest that was read twice is joint 3, which the steps leave out."""
    heights = [110 + 75 * n for n in range(24)]
    again = [h + (5 if n == 2 else 8) for n, h in enumerate(heights)][2:]
    reading = f"{{ at = 1500, joints = {again}, from_joint = 3 }}"
    keys = f"skip_joints = [3]\n[detail.coursing]\njoints = {heights}\nsecond_reading = {reading}\n"
    assert not found(read(tmp_path, STEPS + keys))


def test_a_job_with_faults_is_not_said_to_lack_pieces(tmp_path):
    job = read(tmp_path, job_text("apron"))
    assert recheck(job, (), practice())
    assert not recheck(job, (), practice(), complete=False)


@pytest.mark.parametrize(
    ("kind", "size", "off", "said"),
    [
        (CoverFlashing, "cover_mm", 1.5, "detail[1].cover_flashing.cover"),
        (CoverFlashing, "cover_mm", -1.5, "detail[1].cover_flashing.cover"),
        (CoverFlashing, "cover_mm", 0.5, "detail[1].cover_flashing.cover"),
        (BackGutter, "upstand_mm", 0.5, "detail[1].back_gutter.upstand"),
        (BackGutter, "upstand_mm", -2.5, "detail[1].back_gutter.upstand"),
        (Apron, "upstand_mm", 0.5, "detail[1].apron.upstand"),
    ],
)
def test_what_fits_the_parts_of_a_chimney_together_is_worked_out_to_the_millimetre(tmp_path, kind, size, off, said):
    """Sizes that nobody wrote follow from the joints; covers and upstands are rounded to whole millimetres."""
    text = (
        'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 600\n'
    )
    job = read(tmp_path, text + "coursing = { gauge = 75, first_joint = 110 }\n")
    assert not found(job)
    details = tuple(replace(d, **{size: getattr(d, size) + off}) if isinstance(d, kind) else d for d in job.details)
    pieces, _ = developed([job])
    told = [f.where.rpartition(": ")[2] for f in recheck(replace(job, details=details), pieces, practice())]
    assert said in told


@pytest.mark.parametrize("fall", [9, -9])
def test_joints_round_a_stack_may_run_out_of_level(tmp_path, fall):
    heights = [110 + 75 * n for n in range(16)]
    again = [h - fall for h in heights]
    text = (
        'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 600\n'
        f"coursing = {{ joints = {heights}, second_reading = {{ at = 1500, joints = {again} }} }}\n"
    )
    assert not found(read(tmp_path, text))


@pytest.mark.parametrize("keys", ["", "other_pitch = 35\n"])
def test_the_other_roof_of_a_valley_is_worked_out_a_second_time(tmp_path, keys):
    text = 'name = "J"\npitch = 30\n[[detail]]\nkind = "valley gutter"\nlength = 3100\n'
    job = read(tmp_path, text + keys)
    (valley,) = job.details
    assert not found(job)
    said = [f.where.rpartition(": ")[2] for f in found(job, other_pitch_deg=valley.other_pitch_deg + 1.0)]
    assert "detail[1].other_pitch" in said


def test_a_covering_that_nobody_knows_is_no_fault_of_the_arithmetic(tmp_path):
    text = 'name = "J"\npitch = 18\ncovering = "pantile"\n[[detail]]\nkind = "step and cover"\nlength = 2310\n'
    (tmp_path / "job.toml").write_text(text + 'hands = "right"\ncoursing = { gauge = 75, first_joint = 112 }\n')
    (job,), _ = read_jobs([tmp_path / "job.toml"])
    assert not found(job)
