"""Put each fault into the code by itself and see what the plan of a sound job says of it."""

from __future__ import annotations

import tempfile
from pathlib import Path

from cutpath import pipeline
from cutpath.errors import Refused, faults
from cutpath.values.settings import Settings
from tests.families.material import listed
from tests.faulty.faults import Fault, in_place
from tests.faulty.jobs import job_text

FAULTS: tuple[Fault, ...] = listed("FAULTS")
"""Of all families."""

PROOF = frozenset({"CP413", "CP414", "CP415", "CP416", "CP418", "CP419"})
"""Findings that only the proof makes."""


EVEN = Settings(choose_lengths=False)
"""What only a nest would choose is not proved yet when a job is planned."""


def refusals(job: str) -> list[str]:
    """Give the codes of the faults that a plan finds, and its words."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(job_text(job), encoding="utf-8")
        try:
            pipeline.plan([path], settings=EVEN)
        except Refused as refused:
            return [f"{f.code} {f.found}" for f in faults(refused.findings)]
    return []


def caught(fault: Fault) -> list[str]:
    """Give what the proof says of a fault; nothing when it lets the fault through."""
    with in_place(fault):
        return [words for words in refusals(fault.job) if words.partition(" ")[0] in PROOF]
