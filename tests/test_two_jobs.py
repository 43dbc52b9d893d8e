"""Two jobs of one name, or one file given twice: told apart from the number of a piece to the folder's files."""

import csv
import io
import json

import pytest

from cutpath import pipeline
from cutpath.errors import Refused
from cutpath.folding import prove
from cutpath.jobs import load_job
from cutpath.pieces import pieces_of
from cutpath.values.nest import Budget

pytestmark = pytest.mark.nests

STEPS = """
name = "Back addition"
pitch = 35

[[detail]]
kind = "step flashing"
length = {length}
hands = "left"
coursing = {{ gauge = 75, first_joint = 120 }}
"""
APRON = 'name = "Back addition"\npitch = 35\n[[detail]]\nkind = "apron"\nwidth = 900\n'


@pytest.fixture
def files(tmp_path):
    """Three jobs of one name in files of one name: two runs of steps, the second twice as long, and an apron."""
    out = []
    for place, text in enumerate((STEPS.format(length=600), STEPS.format(length=1200), APRON), 1):
        folder = tmp_path / f"plot-{place}"
        folder.mkdir()
        out.append(folder / "job.toml")
        out[-1].write_text(text, encoding="utf-8")
    return out


def test_they_are_planned_and_proved_as_two_jobs(files):
    planned = pipeline.plan(files)
    assert len({piece.id for piece in planned.pieces}) == len(planned.pieces)
    assert [proof.piece for proof in planned.proofs] == [piece.id for piece in planned.pieces]
    assert {piece.id.partition("-")[0] for piece in planned.pieces} == {"BA", "BA2", "BA3"}


def test_they_are_told_apart_in_every_file(files):
    made = pipeline.files_of(pipeline.nest_batch(pipeline.plan(files), budget=Budget(work=5_000)), templates=[])
    names = [f"Back addition ({mark})" for mark in ("BA", "BA2", "BA3")]
    assert list(json.loads(made.files["yield.json"])["jobs"]) == names
    for path in ("cutting-list.csv", "quantities.csv", "setting-out.csv"):
        rows = csv.DictReader(io.StringIO(made.files[path].decode()))
        assert {row["job"] for row in rows} == set(names), path
    for path in ("tickets.html", "report.html"):
        text = made.files[path].decode()
        assert all(text.count(name) for name in names), path
    patterns = [
        f["path"] for f in json.loads(made.files["manifest.json"])["files"] if f["path"].startswith("templates/")
    ]
    assert len(patterns) == len(set(patterns))
    assert {path.split("/")[-1].partition("-")[0] for path in patterns} >= {"BA", "BA2", "BA3"}


def test_jobs_that_were_read_one_by_one_are_proved_each_by_its_own_survey(files):
    """Read apart, they cannot know of each other: one name, one mark, but each piece says where it comes from."""
    jobs = [load_job(path)[0] for path in files]
    pieces, _ = pieces_of(jobs)
    for job in jobs:
        proofs, findings = prove(job, pieces)
        assert proofs
        assert not findings


def test_a_file_given_twice_is_refused(files):
    with pytest.raises(Refused, match="given twice"):
        pipeline.plan([files[0], files[0]])
