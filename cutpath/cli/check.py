"""``cutpath check``: findings, and nothing else."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cutpath.cli.options import jobs_argument, json_option, practice_option, rolls_option, settings_option, settled
from cutpath.cli.talk import answer, say_findings
from cutpath.errors import Refused, faults


@click.command("check")
@jobs_argument
@rolls_option
@practice_option
@settings_option
@json_option
def command(
    jobs: tuple[Path, ...], rolls: str | None, shop_rules: str | None, own_settings: Path | None, *, as_json: bool
) -> None:
    """Read job files and order sheets, apply every rule, and print what is found; exit 1 when a fault refuses a job."""
    from cutpath import pipeline

    try:
        chosen = settled(jobs, own_settings, rolls=rolls, practice=shop_rules)
        findings = pipeline.plan(jobs, chosen.rolls, shop_rules=chosen.practice).findings
    except Refused as refusal:
        findings = refusal.findings
    if as_json:
        answer(findings)
    elif findings:
        say_findings(findings, err=False)
    else:
        click.echo("no fault found")
    sys.exit(1 if faults(findings) else 0)
