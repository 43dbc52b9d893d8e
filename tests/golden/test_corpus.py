"""The good jobs give what they gave: the geometry of every piece, and every output."""

from __future__ import annotations

import copy

import pytest

from tests.golden.corpus import JOBS, differences, kept, kept_of


def test_there_are_twenty_jobs_and_more_and_all_are_kept() -> None:
    assert len(JOBS) >= 20
    assert sorted(kept()) == sorted(job.stem for job in JOBS)


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.stem)
def test_a_job_gives_what_it_gave(job) -> None:
    """Where a change is meant: ``python tests/golden/corpus.py --write``, and say why in the commit."""
    assert differences(job.stem, kept()[job.stem], kept_of(job)) == []


def test_a_moved_corner_and_another_letter_are_seen() -> None:
    before = kept()["valleys"]
    after = copy.deepcopy(before)
    name = next(iter(after["pieces"]))
    after["pieces"][name]["outline"][1] *= 1.000001
    after["files"]["report.html"] = "0"
    assert differences("valleys", before, after) == [f"valleys: {name}: outline", "valleys: report.html differs"]
