"""The good jobs give what they gave: the geometry of every piece, and every output."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from pathlib import Path

import pytest

from cutpath.values.formats import ALL_FORMATS
from tests.golden.corpus import DRAWINGS, JOBS, WRITTEN, developed, differences, kept, kept_of, within

WHOLE = {"barn-abutment", "chalk-line"}
"""Small jobs that the gate writes in all formats, so that their indexes are held too."""


def test_there_are_twenty_jobs_and_more_and_all_are_kept() -> None:
    assert len(JOBS) >= 20
    assert sorted(kept()) == sorted(job.stem for job in JOBS)


def families(jobs: Iterable[str]) -> set[str]:
    return {piece["part"].partition(",")[0] for job in jobs for piece in kept()[job]["pieces"].values()}


def test_the_gate_writes_every_family() -> None:
    assert families(WRITTEN) == families(kept())


IN_TURN = [
    (job, ALL_FORMATS if job.stem in WHOLE else ALL_FORMATS - DRAWINGS.keys() | {list(DRAWINGS)[k % len(DRAWINGS)]})
    for k, job in enumerate(job for job in JOBS if job.stem in WRITTEN)
]
IN_ALL = [pytest.param(job, ALL_FORMATS, marks=pytest.mark.slow) for job in JOBS if job.stem not in WHOLE]


@pytest.mark.parametrize(
    ("job", "formats"),
    IN_TURN + IN_ALL,
    ids=lambda value: value.stem if isinstance(value, Path) else "-".join(sorted(value)),
)
def test_a_job_gives_what_it_gave(job, formats) -> None:
    """Where a change is meant: ``python tests/golden/corpus.py --write``, and say why in the commit.

    In the gate one format in turn shows the lines of all rolls; with `slow` all jobs are written in all formats.
    """
    now = within(kept_of(job, formats), formats)
    assert differences(job.stem, within(kept()[job.stem], formats), now) == []


@pytest.mark.parametrize("job", [job for job in JOBS if job.stem not in WRITTEN], ids=lambda job: job.stem)
def test_a_job_has_the_pieces_that_it_had(job) -> None:
    now = {"pieces": developed(job), "files": {}}
    assert differences(job.stem, {"pieces": kept()[job.stem]["pieces"]}, now) == []


def test_a_moved_corner_and_another_letter_are_seen() -> None:
    before = kept()["valleys"]
    after = copy.deepcopy(before)
    name = next(iter(after["pieces"]))
    after["pieces"][name]["outline"][1] *= 1.000001
    after["files"]["report.html"] = "0"
    assert differences("valleys", before, after) == [f"valleys: {name}: outline", "valleys: report.html differs"]
