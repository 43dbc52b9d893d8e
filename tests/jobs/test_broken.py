"""Every broken job gives exactly the fault that stands beside it in its ``.expected`` file.

``stage`` there says how far the work has to go before the fault is seen: ``read`` when the file is read and
surveyed, ``rules`` when it is held against the rules of the trade, ``full`` when it is developed and split.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpath.errors import CODES, Finding, Refused, faults
from cutpath.families.checking import check_rules
from cutpath.jobs import load_jobs, read_jobs
from cutpath.profiles import practice

BROKEN = Path(__file__).resolve().parents[2] / "fixtures" / "broken"
CASES = sorted(path.stem for path in BROKEN.glob("*.toml"))
STAGES = ("read", "rules", "full")


def expected(name: str) -> tuple[str, set[tuple[str, str]]]:
    first, *lines = (BROKEN / f"{name}.expected").read_text(encoding="utf-8").splitlines()
    pairs = {(code, path) for code, _, path in (line.partition(" ") for line in lines)}
    return first.removeprefix("stage: "), pairs


def found_at(path: Path, stage: str) -> tuple[Finding, ...]:
    """Every fault of one job file, worked as far as ``stage``."""
    if stage == "full":
        from cutpath.pipeline import plan

        with pytest.raises(Refused) as refused:
            plan([path])
        return faults(refused.value.findings)
    jobs, findings = read_jobs([path])
    if stage == "rules":
        findings += tuple(f for job in jobs for f in check_rules(job, practice()))
    return faults(findings)


def pairs_of(findings: tuple[Finding, ...], path: Path) -> set[tuple[str, str]]:
    """Codes and key paths; the name of a piece that stands behind a key path is left off."""
    return {(f.code, f.where.removeprefix(str(path)).removeprefix(": ").partition(" (")[0]) for f in findings}


@pytest.mark.parametrize("name", CASES)
def test_the_whole_work_finds_the_fault_and_no_other(name: str) -> None:
    path = BROKEN / f"{name}.toml"
    _, pairs = expected(name)
    findings = found_at(path, "full")
    assert pairs_of(findings, path) == pairs
    assert all(f.found and f.accepted and f.remedy for f in findings)


@pytest.mark.parametrize("name", CASES)
def test_the_fault_is_seen_at_its_stage_and_not_before(name: str) -> None:
    path = BROKEN / f"{name}.toml"
    stage, pairs = expected(name)
    for earlier in STAGES[: STAGES.index(stage)]:
        assert pairs_of(found_at(path, earlier), path) == set()
    assert pairs_of(found_at(path, stage), path) == pairs


@pytest.mark.parametrize("name", [name for name in CASES if expected(name)[0] == "read"])
def test_loading_is_refused_for_what_is_seen_on_reading(name: str) -> None:
    path = BROKEN / f"{name}.toml"
    with pytest.raises(Refused) as refused:
        load_jobs([path])
    assert pairs_of(faults(refused.value.findings), path) == expected(name)[1]


def test_the_broken_jobs_are_many_and_complete() -> None:
    assert len(CASES) >= 20
    assert {path.stem for path in BROKEN.glob("*.expected")} == set(CASES)
    assert {code for name in CASES for code, _ in expected(name)[1]} <= set(CODES)


def test_all_broken_jobs_at_once_give_every_fault() -> None:
    paths = [BROKEN / f"{name}.toml" for name in CASES if expected(name)[0] == "read"]
    with pytest.raises(Refused) as refused:
        load_jobs(paths)
    found = {f.where.partition(":")[0] for f in faults(refused.value.findings)}
    assert found >= {str(path) for path in paths}
