"""Which details of a job go together, and which of them lies over which."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from cutpath.families.checking import check_rules
from cutpath.jobs import load_job
from cutpath.profiles import practice
from cutpath.values.leadwork import BackGutter, CoverFlashing, Soakers, StepFlashing
from cutpath.values.survey import Job, Origin

HEAD = 'name = "J"\npitch = 40\ncovering = "plain tile 265"\n'
STEPS = """
[[detail]]
kind = "step flashing"
length = 1500
coursing = { gauge = 75, first_joint = 150 }
"""
SOAKERS = "\n[detail.soakers]\n"
GUTTER = '\n[[detail]]\nkind = "back gutter"\nwidth = 900\n'
COVER = '\n[[detail]]\nkind = "cover flashing"\nlength = 900\nreturns = 150\n'


def job_of(folder: Path, *tables: str) -> Job:
    file = folder / "job.toml"
    file.write_text(HEAD + "".join(tables), encoding="utf-8")
    return load_job(file)[0]


def labels(details: list) -> list[str]:
    return [detail.head.label for detail in details]


def test_soakers_lie_under_the_steps_in_whose_table_they_stand(tmp_path: Path) -> None:
    job = job_of(tmp_path, STEPS, SOAKERS, STEPS, SOAKERS)
    steps = [d for d in job.details if isinstance(d, StepFlashing)]
    soakers = [d for d in job.details if isinstance(d, Soakers)]
    assert [job.over(d) for d in soakers] == steps
    assert [job.under(d) for d in steps] == soakers
    assert [labels(job.beside(d)) for d in steps] == [labels([a, b]) for a, b in zip(steps, soakers, strict=True)]


def test_a_rule_of_soakers_and_steps_goes_by_that_and_not_by_the_file(tmp_path: Path) -> None:
    """Wherever the two were written, soakers higher than the water line of their own steps are refused."""
    job = job_of(tmp_path, STEPS, SOAKERS)
    moved = []
    for n, d in enumerate(job.details):
        d = replace(d, head=replace(d.head, origin=Origin("elsewhere.toml", f"detail[{9 - n}]")))
        moved.append(replace(d, water_line_mm=50.0) if isinstance(d, StepFlashing) else d)
    low = replace(job, details=tuple(moved))
    assert "CP307" in {finding.code for finding in check_rules(low, practice())}
    assert "CP307" not in {finding.code for finding in check_rules(replace(low, groups=()), practice())}


def test_a_cover_hangs_over_the_last_gutter_before_it_that_is_as_wide(tmp_path: Path) -> None:
    wide = GUTTER.replace("900", "1200")
    job = job_of(tmp_path, GUTTER, GUTTER, wide, COVER)
    first, second, third, cover = job.details
    assert job.under(cover) is second
    assert job.over(second) is cover
    assert job.over(first) is job.over(third) is None
    assert labels(job.beside(second)) == labels([second, cover])
    assert labels(job.beside(third)) == labels([third])


@pytest.mark.parametrize(
    "tables",
    [(COVER, GUTTER), (GUTTER, COVER.replace("returns = 150", "")), (GUTTER, COVER.replace("900", "910"))],
    ids=["written before it", "without returns", "of another width"],
)
def test_a_cover_that_hangs_over_no_gutter(tmp_path: Path, tables: tuple[str, ...]) -> None:
    job = job_of(tmp_path, *tables)
    (cover,) = [d for d in job.details if isinstance(d, CoverFlashing)]
    assert job.under(cover) is None
    assert job.groups == ()


def test_the_parts_of_a_chimney_go_together_and_its_cover_over_its_own_gutter(tmp_path: Path) -> None:
    stack = (
        '\n[[detail]]\nkind = "chimney"\nwidth = 900\ndepth = 700\n'
        "coursing = { gauge = 75, first_joint = 60 }\nstep_flashing = { soakers = {} }\n"
    )
    job = job_of(tmp_path, stack, stack)
    halves = len(job.details) // 2
    for own in (job.details[:halves], job.details[halves:]):
        assert all(labels(job.beside(detail)) == labels(list(own)) for detail in own)
        (cover,) = [d for d in own if isinstance(d, CoverFlashing)]
        (gutter,) = [d for d in own if isinstance(d, BackGutter)]
        assert job.under(cover) is gutter
        (soakers,) = [d for d in own if isinstance(d, Soakers)]
        assert job.over(soakers) in own


def test_the_keys_of_a_path() -> None:
    assert Origin("f", "detail[2].above[1].soakers").keys == ("detail", 2, "above", 1, "soakers")
    assert Origin("f", "").keys == ()
