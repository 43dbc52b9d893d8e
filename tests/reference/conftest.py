"""From the text of a job file to developed pieces, the way that the tool itself goes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from cutpath.errors import Finding
from cutpath.families.checking import check_rules
from cutpath.jobs import read_jobs
from cutpath.pieces import pieces_of
from cutpath.profiles import practice
from cutpath.profiles.rolls import rolls_list
from cutpath.values.piece import Piece
from cutpath.values.survey import Job


@dataclass(frozen=True, slots=True)
class Developed:
    """One job file read, held against the rules, developed and split."""

    job: Job
    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...]


@pytest.fixture
def develop_job(tmp_path: Path) -> Callable[[str], Developed]:
    """Write a job file and take it as far as pieces; every finding on the way is kept."""

    def develop(text: str) -> Developed:
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        jobs, findings = read_jobs([path], rolls=rolls_list())
        assert len(jobs) == 1, findings
        pieces, more = pieces_of(jobs)
        return Developed(jobs[0], pieces, (*findings, *check_rules(jobs[0], practice()), *more))

    return develop
