"""A fault in the code that makes patterns, pieces or surveys: the proof refuses the job, whatever the family."""

from __future__ import annotations

import tomllib
from collections import Counter

import pytest

from cutpath.families.registry import FAMILIES
from tests.faulty.faults import Fault
from tests.faulty.jobs import JOBS
from tests.faulty.run import FAULTS, caught, refusals


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_the_proof_refuses_it(fault: Fault) -> None:
    assert caught(fault)


@pytest.mark.parametrize("job", JOBS)
def test_the_job_passes_without_a_fault(job: str) -> None:
    assert not refusals(job)


def test_there_are_several_to_every_family() -> None:
    assert len({fault.name for fault in FAULTS}) == len(FAULTS) >= 50
    assert min(Counter(fault.family for fault in FAULTS).values()) >= 5


@pytest.mark.parametrize("kind", [family.kind for family in FAMILIES])
def test_every_kind_of_detail_has_a_sound_job_and_faults(kind: str) -> None:
    own = {name for name, job in JOBS.items() if kind in {detail["kind"] for detail in tomllib.loads(job)["detail"]}}
    assert sum(fault.job in own for fault in FAULTS) >= 5
