"""Sound jobs, at least one to each family: what the faults are put into."""

from __future__ import annotations

from tests.families.material import mapped

JOBS: dict[str, str] = mapped("SOUND")
"""Job files by name, less the line with the job's name."""


def job_text(name: str) -> str:
    """Give a whole job file."""
    return f'name = "{name.title()}"\n{JOBS[name]}'
