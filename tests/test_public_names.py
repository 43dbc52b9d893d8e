"""The library's public names are there, and do the whole job from a job file to a folder."""

import json
from pathlib import Path

import pytest

import cutpath

pytestmark = pytest.mark.nests

CHIMNEY = Path(__file__).parents[1] / "fixtures" / "jobs" / "chimney.toml"


@pytest.mark.parametrize("name", cutpath.__all__)
def test_every_public_name_is_there(name):
    assert getattr(cutpath, name) is not None
    assert name in dir(cutpath)


def test_other_names_are_not():
    with pytest.raises(AttributeError):
        cutpath.solder  # noqa: B018


def test_the_verbs_do_the_job_one_by_one(tmp_path):
    job, findings = cutpath.load_job(CHIMNEY)
    run, more = cutpath.develop(job.details[0])
    pieces, _ = cutpath.split(job, job.details[0], run)
    proofs, faults = cutpath.prove(job, pieces)
    assert not [f for f in (*findings, *more, *faults) if f.severity == "fault"]
    assert max(p.deviation_mm for p in proofs) < 1e-3
    planned = cutpath.plan([CHIMNEY], settings=cutpath.Settings(budget=cutpath.Budget(work=100_000)))
    batch = cutpath.nest_batch(planned)
    out = tmp_path / "cut"
    cutpath.write(cutpath.make(batch).files, out)
    assert {r["id"] for r in json.loads((out / "yield.json").read_text())["rolls"]} == {s.id for s in batch.sheets}
