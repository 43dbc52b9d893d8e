"""Jobs that go against practice without a published source: each is warned of as its ``.expected`` says, and made."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpath.errors import Finding, Severity
from cutpath.pipeline import plan

from .test_broken import pairs_of

WARNED = Path(__file__).resolve().parents[2] / "fixtures" / "warnings"
CASES = sorted(path.stem for path in WARNED.glob("*.toml"))


def warnings_of(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    return tuple(f for f in findings if f.severity is Severity.WARNING)


@pytest.mark.parametrize("name", CASES)
def test_the_job_is_made_and_warned_of(name: str) -> None:
    path = WARNED / f"{name}.toml"
    lines = (WARNED / f"{name}.expected").read_text(encoding="utf-8").splitlines()
    planned = plan([path])
    warnings = warnings_of(planned.findings)
    assert planned.pieces
    assert pairs_of(warnings, path) == {(code, key) for code, _, key in (line.partition(" ") for line in lines)}
    assert all(f.found and f.accepted and f.remedy for f in warnings)


def test_every_expectation_has_its_job() -> None:
    assert {path.stem for path in WARNED.glob("*.expected")} == set(CASES)
    assert len(CASES) >= 9
