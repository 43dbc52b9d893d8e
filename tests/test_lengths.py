"""Runs that are divided by the nest, from the job file to the drawings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath import pipeline
from cutpath.errors import Refused
from cutpath.pieces import run_choices
from cutpath.values.nest import Budget

pytestmark = pytest.mark.nests

JOB = """
name = "Link wall"
mark = "LW"
pitch = 35
covering = "plain tile 265"

[[detail]]
kind = "cover flashing"
length = "2.6 m"
cover = 100

[[detail]]
kind = "cover flashing"
length = 900
cover = 100
"""
ROLLS = """
rolls = [
    { width_mm = 150, length_mm = 1200, quantity = 1, offcut = true },
    { width_mm = 150, length_mm = 1550, quantity = 1, offcut = true },
    { width_mm = 150, length_mm = 1000, quantity = 1 },
]
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """A strip whose equal halves of 1350 mm go on one of the three rolls only."""
    folder = tmp_path_factory.mktemp("lengths")
    (folder / "job.toml").write_text(JOB)
    (folder / "rolls.toml").write_text(ROLLS)
    return [folder / "job.toml"], folder / "rolls.toml"


@pytest.fixture(scope="module")
def planned(files):
    return pipeline.plan(*files)


@pytest.fixture(scope="module")
def batch(planned):
    return pipeline.nest_batch(planned, budget=Budget(work=1_000_000))


def test_lengths_differ_from_even_ones_and_carry_the_same_numbers(planned, batch):
    assert batch.divided
    assert [p.id for p in batch.pieces] == [p.id for p in planned.pieces]
    even = {p.id: p.pattern for p in planned.pieces}
    for name in batch.divided:
        lengths = [p for p in batch.pieces if p.id.startswith(name)]
        assert any(p.pattern.outline != even[p.id].outline for p in lengths)
        assert all(p.pattern.length_mm <= 1500.0 + 1e-6 for p in lengths)
    kept = [p for p in batch.pieces if not p.id.startswith(tuple(batch.divided))]
    assert all(p.pattern == even[p.id] for p in kept)


def test_each_length_is_on_a_roll_once_and_proved(batch):
    laid = [p.id for m in batch.materials for r in m.nest.rolls for p in r.placements]
    wanted = [p.id for p in batch.pieces for _ in range(p.quantity)]
    assert sorted(laid) == sorted(wanted)
    assert {p.id for p in batch.pieces} <= {proof.piece for proof in batch.proofs}


def test_the_report_and_the_drawings_follow(batch):
    made = pipeline.files_of(batch)
    report = made.files["report.html"].decode()
    assert "Divided to suit the rolls, not evenly" in report
    assert all(name.rstrip("-") in report for name in batch.divided)
    listed = made.files["cutting-list.csv"].decode()
    for piece in batch.pieces:
        assert f"{piece.pattern.length_mm:.1f}" in listed


def test_what_was_planned_with_is_what_is_nested_with(files):
    settings = pipeline.Settings(gap_mm=3.0, seed=4, budget=Budget(work=0))
    planned = pipeline.plan(files[0], settings=settings)
    batch = pipeline.nest_batch(planned)
    assert {m.problem.gap_mm for m in batch.materials} == {3.0}
    assert batch.seed == 4
    assert pipeline.nest_batch(planned, seed=9).seed == 9
    with pytest.raises(TypeError):
        pipeline.nest_batch(planned, replace(settings, gap_mm=0.0))


def test_even_lengths_stay_even(files):
    even = pipeline.Settings(choose_lengths=False)
    plain = pipeline.plan(*files, settings=even)
    with pytest.raises(Refused) as refused:
        pipeline.nest_batch(plain, budget=Budget(work=100_000))
    assert [f.code for f in refused.value.findings] == ["CP502"]


def test_sets_that_are_made_alike_are_divided_evenly(planned):
    (job, *_) = planned.jobs
    twice = replace(job, details=tuple(replace(d, head=replace(d.head, quantity=2)) for d in job.details))
    assert run_choices([job])
    assert run_choices([twice]) == ()
