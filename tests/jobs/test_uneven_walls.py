"""Walls as they are: steps of one's own choice, roofs that change their pitch, steps too short."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cutpath.errors import Refused, faults
from cutpath.jobs import load_job
from cutpath.pipeline import plan
from cutpath.values.leadwork import EndCut, Soakers, StepFlashing

HEAD = 'name = "J"\npitch = 30\ncovering = "slate 500"\n[[detail]]\nkind = "step flashing"\nwater_line = 80\n'

COURSES = "coursing = { gauge = 75, first_joint = 110 }"


def loaded(folder: Path, text: str):
    path = folder / "job.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    job, findings = load_job(path)
    assert not faults(findings)
    return job


def fault(folder: Path, text: str):
    path = folder / "job.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(Refused) as refused:
        load_job(path)
    (found,) = faults(refused.value.findings)
    return found.code, found.where.rpartition("detail[1].")[2]


def test_steps_and_points_mean_the_same(tmp_path: Path) -> None:
    steps = "length = 700\ncoursing.steps = [{ rise = 170, run = 120 }, { rise = '4 in', run = 250 }]\n"
    points = "length = 700\ncoursing.step_points = [[120, 170], [370, 271.6]]\n"
    (one,), (other,) = loaded(tmp_path, steps).details, loaded(tmp_path, points).details
    assert isinstance(one, StepFlashing)
    assert isinstance(other, StepFlashing)
    assert [(j.number, j.y_mm, j.end_x_mm) for j in one.joints] == [(1, 170, 120), (2, pytest.approx(271.6), 370)]
    assert [j.y_mm for j in other.joints] == pytest.approx([j.y_mm for j in one.joints])


def test_a_roof_that_changes_its_pitch_gives_a_detail_to_each_part(tmp_path: Path) -> None:
    text = (
        "length = 600\ncoursing = { gauge = 75, first_joint = 110 }\nsoakers = true\nupper_end = 'square'\n"
        "above = [{ length = 800, pitch = 40 }, { length = 500, pitch = 50 }]\n"
    )
    low, middle, top, soakers = loaded(tmp_path, text).details
    assert all(isinstance(d, StepFlashing) for d in (low, middle, top))
    assert [d.head.label for d in (low, middle, top)] == ["S1", "S2", "S3"]
    assert middle.head.origin.path == "detail[1].above[1]"
    assert [d.upper_end for d in (low, middle, top)] == [EndCut.PLUMB, EndCut.PLUMB, EndCut.SQUARE]
    assert [d.lapped_mm for d in (low, middle, top)] == [100, 100, 0]
    assert [d.tongue and (d.tongue.pitch_deg, d.tongue.lap_mm) for d in (low, middle, top)] == [
        None,
        (30, 100),
        (40, 100),
    ]
    # A course is one course: seen from the change it stands lower by what the roof has risen.
    rise = 600 * math.sin(math.radians(30))
    assert middle.joints[4].y_mm == pytest.approx(low.joints[4].y_mm - rise)
    assert top.joints[4].y_mm == pytest.approx(middle.joints[4].y_mm - 800 * math.sin(math.radians(40)))
    assert isinstance(soakers, Soakers)
    assert soakers.count == math.ceil(1900 / 210)


def test_short_steps_are_kept_unless_asked(tmp_path: Path) -> None:
    text = "length = 700\ncoursing = {{ gauge = 75, first_joint = 110 }}\n{}\n"
    (kept,) = loaded(tmp_path, text.format("")).details
    (skipped,) = loaded(tmp_path, text.format('short_steps = "skip"')).details
    assert (kept.skip_short, skipped.skip_short) == (False, True)


@pytest.mark.parametrize(
    ("text", "code", "key"),
    [
        ("length = 700\ncoursing.step_points = [[120, 170], [110, 260]]", "CP401", "coursing.step_points[2]"),
        ("length = 700\ncoursing.step_points = [[120, 170], [200, 160]]", "CP401", "coursing.step_points[2]"),
        ("length = 700\ncoursing = { steps = [{ rise = 170, run = 120 }], gauge = 75 }", "CP111", "coursing"),
        (
            "length = 700\nabove = [{ length = 500, pitch = 45 }]\ncoursing = { along_water_line = [99, 250, 400] }",
            "CP111",
            "coursing",
        ),
        (
            "length = 90\ncoursing = { gauge = 75, first_joint = 110 }\nabove = [{ length = 500, pitch = 45 }]",
            "CP410",
            "length",
        ),
        (
            f"length = 150\nset_back = 60\n{COURSES}\nabove = [{{ length = 500, pitch = 45 }}]",
            "CP410",
            "length",
        ),
        (
            f"length = 700\n{COURSES}\nabove = [{{ length = 90, pitch = 45 }}, {{ length = 500, pitch = 50 }}]",
            "CP410",
            "above[1].length",
        ),
        (
            "length = 700\ncoursing = { gauge = 75, first_joint = 110 }\nabove = [{ length = 500 }]",
            "CP104",
            "above[1].pitch",
        ),
    ],
)
def test_what_does_not_go_together(tmp_path: Path, text: str, code: str, key: str) -> None:
    assert fault(tmp_path, text + "\n") == (code, key)


def test_a_run_below_a_change_of_pitch_may_be_as_long_as_the_lap_over_it(tmp_path: Path) -> None:
    job = loaded(tmp_path, f"length = 100\nlap = 100\n{COURSES}\nabove = [{{ length = 500, pitch = 45 }}]\n")
    assert len(job.details) == 2


def test_a_cover_goes_over_a_change_of_pitch_by_the_lap_of_the_flatter_roof(tmp_path: Path) -> None:
    path = tmp_path / "cover.toml"
    path.write_text(
        'name = "J"\npitch = 25\n[[detail]]\nkind = "step and cover"\nlength = 700\n'
        "coursing = { gauge = 75, first_joint = 110 }\nabove = [{ length = 900, pitch = 40 }]\n",
        encoding="utf-8",
    )
    job, _ = load_job(path)
    low, top = job.details
    assert isinstance(low, StepFlashing)
    assert isinstance(top, StepFlashing)
    assert low.cover_mm == top.cover_mm == 150
    assert top.tongue is not None
    assert low.head.lap_mm == pytest.approx(75 / math.sin(math.radians(25)))  # lengths lap by whole steps
    assert top.tongue.lap_mm == low.lapped_mm == 180  # a tongue ends anywhere: 177.5, rounded up
    assert top.head.lap_mm == 150  # between lengths of the steeper roof


@pytest.mark.parametrize(("turned", "asked"), [(True, True), (False, False)])
def test_steps_whose_figures_are_changed_over_are_asked_for_the_other_way_round(turned, asked, tmp_path) -> None:
    ends = [(60 + 90 * n, 170 + 76 * n) for n in range(12)]
    points = [[y, x] if turned else [x, y - 80 * (n == 3)] for n, (x, y) in enumerate(ends)]
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "J"\npitch = 40\n[[detail]]\nkind = "step flashing"\nlength = 1200\nhands = "left"\n'
        f"coursing.step_points = {points}\n"
    )
    with pytest.raises(Refused) as refused:
        plan([job])
    remedies = [f.remedy for f in refused.value.findings if f.code in {"CP417", "CP401"}]
    assert remedies
    assert any(remedy.startswith("Are the two figures of each step changed over?") for remedy in remedies) is asked
