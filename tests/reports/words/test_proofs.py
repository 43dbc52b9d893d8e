"""What the page says of the proof: how many patterns, the worst error, and what is worked and so not proved."""

from __future__ import annotations

from pathlib import Path

from cutpath.pipeline import plan
from cutpath.reports.words.page.proofs import proof_words
from cutpath.values.proof import Proof

JOBS = Path(__file__).resolve().parents[3] / "fixtures" / "jobs"


def planned(name):
    made = plan([JOBS / f"{name}.toml"])
    (job,) = made.jobs
    return job, made.pieces, made.proofs


def test_the_worst_miss_of_pieces_and_of_chimneys_is_said():
    job, pieces, proofs = planned("whole-chimney")
    words = proof_words(job, pieces, proofs)
    assert f"{len(pieces)} patterns were folded by calculation and compared with wall, joints and roof" in words
    assert "joints and roof: worst error under 0.001 mm." in words
    assert "2 chimneys were put together from parts: worst error under 0.001 mm" in words
    assert "worked out a second time from the job file, come out the same." in words
    assert words.endswith("Bossed corners cannot be checked this way: those of RY-A1-1, RY-G1-1.")


def test_a_miss_is_said_in_figures():
    job, pieces, proofs = planned("whole-chimney")
    off = Proof(pieces[0].id, 1.25, "the upstand stands off the wall", (), ())
    assert "worst error 1.250 mm." in proof_words(job, pieces, (off, *proofs[1:]))


def test_nothing_is_said_of_other_jobs():
    job, pieces, proofs = planned("old-gable")
    _, _, others = planned("whole-chimney")
    assert proof_words(job, pieces, others) == ""
    assert "chimney" not in proof_words(job, pieces, (*proofs, *others))


def test_of_shapes_alone_no_wall_is_said():
    made = plan([{"name": "Counter", "detail": [{"kind": "outline", "size": [600, 240], "quantity": 6}]}])
    words = proof_words(made.jobs[0], made.pieces, made.proofs)
    assert "compared with the shapes that were ordered" in words
    assert not any(word in words for word in ("wall", "roof", "joints", "laps"))
