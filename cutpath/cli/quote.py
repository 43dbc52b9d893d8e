"""``cutpath quote``: jobs priced by the shop's own prices."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cutpath.cli import completing
from cutpath.cli.options import (
    jobs_argument,
    json_option,
    practice_option,
    rolls_option,
    search_options,
    settings_of,
    settings_option,
    settled,
)
from cutpath.cli.talk import ProgressLine, answer, say, say_findings
from cutpath.plain import seen

if TYPE_CHECKING:
    from cutpath.values.batch import Batch
    from cutpath.values.choices import Choices
    from cutpath.values.price import Quote
    from cutpath.values.settings import Settings

_YEARS = range(2000, 3000)


class _Day(click.DateTime):
    """A day, refused with one as it is written."""

    def __init__(self) -> None:
        super().__init__(formats=["%Y-%m-%d"])

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ANN401
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            self.fail(f"{value} is not a date. Write year, month and day, as 2026-11-30.", param, ctx)


@click.command("quote")
@jobs_argument
@click.option(
    "--prices",
    metavar="FILE",
    shell_complete=completing.files,
    help="The shop's own prices: a TOML file. None come with cutpath.",
)
@click.option(
    "--date",
    "on",
    type=_Day(),
    required=True,
    metavar="YYYY-MM-DD",
    help="The day of the quote, which is yours to give.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("quotes"),
    show_default=True,
    metavar="DIR",
    help="New folder for the quotes.",
)
@click.option("--replace", is_flag=True, help="Put the quotes in the place of earlier ones in DIR.")
@rolls_option
@practice_option
@settings_option
@json_option
@search_options
def command(
    jobs: tuple[Path, ...],
    prices: str | None,
    on: datetime,
    out: Path,
    rolls: str | None,
    shop_rules: str | None,
    own_settings: Path | None,
    *,
    replace: bool,
    as_json: bool,
    gap: float | None,
    **search: Any,  # noqa: ANN401
) -> None:
    """Price each JOB by the shop's own prices, on the rolls that it would be cut from; or a whole run, by its folder.

    A quote is a PDF and a CSV file, and says what it rests on: weights, metres, folds, and whose prices of which day.
    What has no price is named, and is in no total. Of a run that is made nothing is nested anew: its weights are taken.
    """
    from cutpath import output
    from cutpath.prices import odd_prices, read_prices
    from cutpath.reports.account.quotes import NOTHING_PRICED, quotes, unpriced
    from cutpath.writers.quote_files import quote_files

    chosen = settled(jobs, own_settings, rolls=rolls, practice=shop_rules, gap=gap, prices=prices)
    if chosen.prices is None:
        raise click.UsageError("no prices: name the shop's own file with --prices FILE, or settle it in cutpath.toml")
    if on.year not in _YEARS:
        raise click.UsageError(
            f"--date: the year {on.year} is out of range; give a year from {_YEARS[0]} to {_YEARS[-1]}"
        )
    own = read_prices(chosen.prices)
    read = [job / output.MANIFEST if os.path.isdir(job) else job for job in jobs]
    reads: list[str | Path] = [*read, *chosen.files(), chosen.prices]
    place = click.get_current_context().with_resource(output.claim_folder(out, replace_old=replace, reads=reads))
    say_findings(place.findings)
    run, batch = _nested(jobs, chosen, settings_of(gap=chosen.gap_mm, **search))
    made = quotes(batch, own, on.date(), run)
    files = quote_files(made, batch, chosen.told())
    written = place.put(files)
    say_findings((*batch.findings, *odd_prices(own), *unpriced(made), *written.findings))
    say(f"{len(files)} files are in {written.path}/; the prices are those of {own.file}, the shop's own")
    if as_json:
        answer(folder=str(written.path), files=list(files), quotes=[_row(quote) for quote in made])
    else:
        for quote in made:
            total = NOTHING_PRICED if quote.total is None else f"{quote.total} {own.currency}"
            without = f", without {', '.join(quote.missing)}" if quote.missing else ""
            click.echo(seen(f"{quote.job.name}: {total}{without}"))


def _nested(jobs: tuple[Path, ...], chosen: Choices, settings: Settings) -> tuple[str, Batch]:
    """Return what a run's folder holds, with its name; or nest jobs as they would be cut, with no name."""
    import contextlib

    from cutpath import again, pipeline
    from cutpath.machines import machines

    if any(map(os.path.isdir, jobs)):
        if len(jobs) > 1:
            raise click.UsageError("name the folder of one run, or job files")
        earlier = again.earlier(jobs[0])
        return earlier.run, again.batch_again(earlier)[0]
    tools = machines(chosen.machines)
    line = ProgressLine()
    with contextlib.closing(line):
        planned = pipeline.plan(jobs, chosen.rolls, settings.on(tools, in_frames=False), chosen.practice, tools)
        return "", pipeline.nest_batch(planned, report=line)


def _row(quote: Quote) -> dict[str, object]:
    return {
        "job": quote.job.name,
        "date": quote.on.isoformat(),
        "currency": quote.prices.currency,
        "lines": [
            {
                "kind": line.kind.value,
                "what": line.what,
                "code": line.code,
                "quantity": str(line.quantity),
                "unit": str(line.unit),
                "price": None if line.price is None else str(line.price),
                "amount": None if line.amount is None else str(line.amount),
                "included": line.included,
            }
            for line in quote.lines
        ],
        "net": None if quote.net is None else str(quote.net),
        "total": None if quote.total is None else str(quote.total),
        "missing": list(quote.missing),
        "basis": list(quote.basis),
    }
