"""The library's public names are there, and do the whole job from a job file to a folder."""

import doctest
import importlib
import json
from dataclasses import replace
from pathlib import Path

import pytest

import cutpath

pytestmark = pytest.mark.nests

GABLE = Path(__file__).parents[1] / "fixtures" / "jobs" / "abutment.toml"


CONTRACT = {
    "Blank", "Budget", "CutpathError", "Finding", "NestProblem", "Objective", "OffcutRule", "Refused", "Roll",
    "Settings", "__version__", "develop", "draw", "dxf", "job",
    "load_job", "load_jobs", "make", "nest", "nest_batch", "plan", "polygon", "prove", "split", "svg", "write",
}  # fmt: skip


def test_the_contract_is_what_all_says():
    """A name that goes breaks other programs; one that comes is promised to them. Both want a decision."""
    assert set(cutpath.__all__) == CONTRACT


@pytest.mark.parametrize("name", cutpath.__all__)
def test_every_public_name_is_there(name):
    assert getattr(cutpath, name) is not None
    assert name in dir(cutpath)


def test_other_names_are_not():
    with pytest.raises(AttributeError):
        cutpath.solder  # noqa: B018


def test_the_verbs_do_the_job_one_by_one(tmp_path):
    job, findings = cutpath.load_job(GABLE)
    run, more = cutpath.develop(job.details[0])
    pieces, _ = cutpath.split(job, job.details[0], run)
    proofs, faults = cutpath.prove(job, pieces)
    assert not [f for f in (*findings, *more, *faults) if f.severity == "fault"]
    assert max(p.deviation_mm for p in proofs) < 1e-3
    planned = cutpath.plan([GABLE], settings=cutpath.Settings(budget=cutpath.Budget(work=5_000)))
    batch = cutpath.nest_batch(planned)
    out = tmp_path / "cut"
    cutpath.write(cutpath.make(batch).files, out)
    assert {r["id"] for r in json.loads((out / "yield.json").read_text())["rolls"]} == {s.id for s in batch.sheets}


WALL = {"kind": "step flashing", "length": 2450, "coursing": {"gauge": 75, "first_joint": 120}}


def test_a_job_built_in_code_is_the_same_as_from_a_file(tmp_path):
    """With its defaults filled in from four figures."""
    file = tmp_path / "job.toml"
    file.write_text(
        'name = "Back addition"\npitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 2450\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    )
    (read,) = cutpath.load_job(file)[0].details
    (built,) = cutpath.job(name="Back addition", pitch=35, detail=[WALL]).details
    assert replace(built, head=read.head) == read


def test_a_fault_of_a_job_built_in_code_says_where():
    with pytest.raises(cutpath.Refused) as refusal:
        cutpath.job(name="Back addition", detail=[WALL])
    assert refusal.value.findings[0].where == "job: detail[1].pitch"


def test_pieces_are_polygons_and_drawings_are_bytes():
    planned = cutpath.plan([{"name": "Back addition", "pitch": 35, "detail": [WALL]}])
    batch = cutpath.nest_batch(planned, budget=cutpath.Budget(work=50_000))
    hole = cutpath.polygon(planned.pieces[0])
    assert hole.is_valid
    assert hole.area > 10_000
    drawn = cutpath.draw(batch.sheets[0], batch)
    assert b"LWPOLYLINE" in cutpath.dxf(drawn)
    assert b"AC1009" in cutpath.dxf(drawn, r12=True)
    assert cutpath.svg(drawn).startswith(b"<?xml")


BATCH = [{"name": "Back addition", "pitch": 35, "detail": [WALL]}]


def test_rolls_of_ones_own_are_values_too():
    planned = cutpath.plan(BATCH, rolls=[cutpath.Roll(450, 6000)])
    batch = cutpath.nest_batch(planned, budget=cutpath.Budget(work=0))
    assert {sheet.nested.roll.width_mm for sheet in batch.sheets} == {450}


@pytest.mark.parametrize("given", [lambda job: job, lambda job: [job]])
def test_a_job_that_is_surveyed_already_is_not_planned(given):
    with pytest.raises(TypeError, match="not a Job: give what it was made from"):
        cutpath.plan(given(cutpath.job(**BATCH[0])))


def test_what_a_batch_cannot_do_is_refused():
    planned = cutpath.plan(BATCH)
    with pytest.raises(cutpath.Refused) as refused:
        cutpath.nest_batch(planned, seed=-1)
    assert [f.code for f in refused.value.findings] == ["CP107"]
    batch = cutpath.nest_batch(planned, budget=cutpath.Budget(work=0))
    with pytest.raises(cutpath.Refused) as refused:
        cutpath.make(batch, templates=["S9"])
    assert [f.code for f in refused.value.findings] == ["CP108"]
    shown = repr((planned, batch, cutpath.make(batch, formats=())))
    assert len(shown) < 5000, "a notebook shows what a cell ends with"


DOCUMENTED = ("cutpath", "cutpath.jobs.reading", "cutpath.library")


@pytest.mark.parametrize("module", DOCUMENTED)
def test_examples_in_docstrings_run(module):
    found = doctest.testmod(importlib.import_module(module), optionflags=doctest.ELLIPSIS)
    assert found.attempted > 0
    assert found.failed == 0
