"""``cutpath pieces``: the cutting list."""

from __future__ import annotations

from pathlib import Path

import click

from cutpath.cli.options import (
    jobs_argument,
    json_option,
    practice_option,
    rolls_option,
    settings_option,
    settled,
)
from cutpath.cli.talk import answer, print_json, say_findings
from cutpath.cli.typed import Whole


@click.command("pieces")
@jobs_argument
@rolls_option
@practice_option
@settings_option
@json_option
@click.option(
    "--outlines", is_flag=True, help="Print the pieces as plain outlines in JSON, as the nest command reads them."
)
@click.option("--code", type=Whole(), metavar="N", help="Only pieces of this lead code.")
def command(
    jobs: tuple[Path, ...],
    rolls: str | None,
    shop_rules: str | None,
    own_settings: Path | None,
    *,
    as_json: bool,
    outlines: bool,
    code: int | None,
) -> None:
    """Print the cutting list: every piece with its number, size, lead and mass.

    Runs are divided evenly here; `make` may move the joints between lengths to suit the rolls.
    """
    from cutpath import pipeline
    from cutpath.reports.account.cutting_list import cutting_list, cutting_list_table
    from cutpath.reports.account.outlines import outlines as plain_outlines

    chosen = settled(jobs, own_settings, rolls=rolls, practice=shop_rules)
    planned = pipeline.plan(jobs, chosen.rolls, shop_rules=chosen.practice)
    pieces = [p for p in planned.pieces if code in (None, p.lead.code)]
    if planned.pieces and not pieces:
        codes = " and ".join(str(other) for other in sorted({p.lead.code for p in planned.pieces}))
        raise click.BadParameter(f"no piece is of code {code}; there are pieces of code {codes}.", param_hint="--code")
    if outlines:
        print_json(plain_outlines(pieces))
    elif not as_json:
        click.echo(cutting_list_table(cutting_list(pieces)))
    say_findings(planned.findings)
    if as_json and not outlines:
        answer(pieces=cutting_list(pieces))
