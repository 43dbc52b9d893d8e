"""Pieces of a job in all four turns, from the job file to the nest."""

from __future__ import annotations

import json

import pytest

from cutpath import pipeline
from cutpath.reports.account.outlines import outlines
from cutpath.values.nest import QUARTER_TURNS, Budget

pytestmark = pytest.mark.nests

SOAKERS = """
name = "Terrace"
mark = "TE"
pitch = 35
covering = "plain tile 265"

[[detail]]
kind = "outline"
points = [[0, 0], [190, 0], [190, 175], [0, 175]]
quantity = 48
"""
SLATE = """
name = "Pipe"
mark = "PI"
pitch = 35

[[detail]]
kind = "outline"
points = [[0, 0], [470, 0], [470, 646], [0, 646]]
"""


def planned(tmp_path, job: str, width_mm: float):
    (tmp_path / "job.toml").write_text(job)
    (tmp_path / "rolls.toml").write_text(f"rolls = [{{ width_mm = {width_mm}, length_mm = 6000 }}]\n")
    return pipeline.plan([tmp_path / "job.toml"], tmp_path / "rolls.toml")


def test_soakers_are_laid_crosswise_where_that_draws_less(tmp_path):
    batch = pipeline.nest_batch(planned(tmp_path, SOAKERS, 600), budget=Budget(work=300_000))
    (material,) = batch.materials
    assert material.nest.drawn_mm2 == pytest.approx(600.0 * 2800.0)
    assert material.nest.bound_mm2 == pytest.approx(600.0 * 2800.0)


def test_a_slate_that_fits_crosswise_only_is_not_refused(tmp_path):
    (problem,) = [problem for _, problem in planned(tmp_path, SLATE, 480).problems]
    assert {blank.turns_deg for blank in problem.blanks} == {QUARTER_TURNS}


def test_outlines_for_the_nest_command_may_lie_as_the_job_s_own_pieces_do(tmp_path):
    made = planned(tmp_path, SLATE, 480)
    assert json.loads(json.dumps(outlines(made.pieces)))["pieces"][0]["turns_deg"] == [0, 90, 180, 270]
