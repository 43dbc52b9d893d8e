"""Options and arguments that several commands share, and what follows from them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import click

from cutpath.ceilings import SEARCH_S
from cutpath.cli import completing, patience
from cutpath.cli.typed import LENGTH, Formats, Number, Whole
from cutpath.errors import Finding
from cutpath.values.choices import Choices
from cutpath.values.nest import STEPS_PER_SECOND, Budget, Objective, OffcutRule
from cutpath.values.settings import Settings

F = TypeVar("F", bound=Callable[..., Any])


_MOST_OPENING = 1e6
_MOST_WORK = int(SEARCH_S) * STEPS_PER_SECOND


def jobs_argument(function: F) -> F:
    """Take job files and order sheets; ``-`` is standard input. A settings file among them (``*.toml``) is none."""
    kind = click.Path(path_type=Path)
    taken = click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=kind, callback=_jobs)
    return taken(_drawings_option(function))


def _drawings_option(function: F) -> F:
    """Take folders of which jobs may name drawings; a job from a stranger reads nothing but what came with it."""
    return click.option(
        "--drawings",
        metavar="FOLDER",
        multiple=True,
        expose_value=False,
        type=click.Path(path_type=Path, exists=True, file_okay=False),
        callback=_allowed,
        help="Jobs may name DXF drawings in this folder too, not only in their own; may be repeated.",
    )(function)


def _jobs(_ctx: click.Context, _param: click.Parameter, value: tuple[Path, ...]) -> tuple[Path, ...]:
    patience.begin("reading, checking and developing the jobs")
    return tuple(path for path in value if path.name != _SETTINGS) or value


_SETTINGS = "cutpath.toml"


def _allowed(ctx: click.Context, _param: click.Parameter, folders: tuple[Path, ...]) -> None:
    if folders:
        from cutpath.intake.files import also_from

        ctx.with_resource(also_from(folders))


def rolls_option(function: F) -> F:
    """Take the list of rolls."""
    return click.option(
        "--rolls",
        metavar="FILE",
        shell_complete=completing.rolls,
        help="Rolls to cut from: a TOML or JSON file, or the name of a list in profiles/rolls.",
    )(function)


def settings_option(function: F) -> F:
    """Take a settings file in the place of those that are found."""
    return click.option(
        "own_settings",
        "--settings",
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE",
        help="Settings in the place of cutpath.toml beside the jobs and of your own.",
    )(function)


def settled(jobs: Iterable[str | Path], own_settings: Path | None = None, **typed: object) -> Choices:
    """Settle what was not typed by the settings files that there are for the jobs.

    ``typed`` has the keys of a settings file; None where nothing was typed.
    """
    from cutpath.settings_file import choose, layers

    chosen = choose(typed, layers(jobs, own_settings))
    context = click.get_current_context(silent=True)
    if context is not None:
        context.meta.setdefault(NAMED, {}).update(chosen.named())
    return chosen


NAMED = "cutpath.named"
"""Where click's context tells which files are named by a settings file, and by which key of it."""


def with_keys(findings: Iterable[Finding], context: click.Context) -> list[Finding]:
    """Return faults of files with the key of the settings that names the file, where one does."""
    named = context.meta.get(NAMED, {})
    return [
        replace(f, remedy=f"{f.remedy} {key} names this file.") if (key := named.get(_file_of(f, named))) else f
        for f in findings
    ]


def _file_of(finding: Finding, named: Iterable[str]) -> str:
    whole = {finding.where, finding.where.partition(": ")[0]}
    return next((file for file in named if file in whole), "")


def practice_option(function: F) -> F:
    """Take a shop's own rules."""
    return click.option(
        "shop_rules",
        "--practice",
        metavar="FILE",
        shell_complete=completing.files,
        help="The shop's own rules: a TOML file in the form of profiles/practice, with only the figures that differ.",
    )(function)


def json_option(function: F) -> F:
    """Ask for JSON instead of words and tables."""
    return click.option(
        "as_json",
        "--json",
        is_flag=True,
        callback=_note_json,
        help="Print one JSON object on standard output, findings in it; its schema: cutpath schema COMMAND.",
    )(function)


def _note_json(context: click.Context, _param: click.Parameter, value: bool) -> bool:  # noqa: FBT001 - click's signature
    context.meta[AS_JSON] = value
    return value


AS_JSON = "cutpath.json"
"""Where click's context tells that JSON is asked for, so that a refusal is JSON too."""


def _each(_context: click.Context, _param: click.Parameter, values: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(part for value in values for part in value.split(","))


def format_options(function: F) -> F:
    """Take what is written beside report and tickets."""
    for option in (
        click.option("every", "--all", is_flag=True, help="Write every format."),
        click.option(
            "formats",
            "--format",
            multiple=True,
            type=Formats(),
            callback=_each,
            help="Also write the lists (csv), the pack list to print (pdf), the yield as data (json), or drawings of "
            "the rolls; several with commas, or repeated.",
        ),
    ):
        function = option(function)
    return function


def keep_best_option(function: F) -> F:
    """Ask for the best nest so far where the search is broken off."""
    return click.option(
        "--keep-best",
        is_flag=True,
        help="Let Ctrl-C end the search only: go on with the best nest until then. Without it, nothing is left.",
    )(function)


def best_kept(keep_best: bool) -> AbstractContextManager[None]:  # noqa: FBT001 - an option's value
    """Return what lets a search within give its best when it is broken off, where that was asked for."""
    from cutpath.nesting.guard import keeping_best

    return keeping_best() if keep_best else nullcontext()


def search_options(function: F) -> F:
    """Take what steers the nest: gap, trim, kept offcuts and their worth, aim, seconds or work, seed."""
    for option in reversed(
        [
            click.option("--gap", type=LENGTH, help="Least gap between pieces; 0 if left out."),
            click.option(
                "--edge-trim",
                type=LENGTH,
                default=0.0,
                help="Kept clear at the roll's edges and ends; 0 if left out.",
            ),
            click.option(
                "--keep",
                type=(LENGTH, LENGTH),
                default=(300.0, 150.0),
                metavar="LENGTH WIDTH",
                help="Smallest offcut that is kept; 300 150 if left out.",
            ),
            click.option(
                "--worth",
                type=Number(min=0.0, max=1.0),
                default=0.5,
                show_default=True,
                metavar="SHARE",
                help="What a kept offcut is worth, as a share of new lead.",
            ),
            click.option(
                "--least",
                type=click.Choice(["drawn", "bought"]),
                default="drawn",
                show_default=True,
                help="Draw the least lead off the rolls, or buy the least in whole rolls, by price where all have one.",
            ),
            click.option(
                "--opening",
                type=Number(min=0.0, max=_MOST_OPENING),
                default=0.0,
                metavar="AMOUNT",
                help="With --least bought, what opening a roll costs beside its lead: in money where every roll has a "
                "price, else in kg of lead; 0 if left out.",
            ),
            click.option(
                "--seconds",
                type=Number(min=0.0, max=SEARCH_S),
                metavar="SECONDS",
                help="Most seconds to search, 20 if left out; with too few, runs are divided evenly.",
            ),
            click.option(
                "--work",
                type=Whole(min=0, max=_MOST_WORK),
                metavar="STEPS",
                help=f"Steps of the search in place of seconds, {STEPS_PER_SECOND:,} to each: the same nest anywhere.",
            ),
            click.option(
                "--seed",
                type=Whole(min=0),
                metavar="N",
                default=1,
                show_default=True,
                help="Same seed, same result: with --work always, with seconds on a machine quick enough for them.",
            ),
        ]
    ):
        function = option(function)
    return function


def settings_of(
    *,
    gap: float | None,
    edge_trim: float,
    keep: tuple[float, float],
    worth: float,
    least: str,
    opening: float,
    seconds: float | None,
    work: int | None,
    seed: int,
) -> Settings:
    """Gather the shared search options.

    Raises
    ------
    UsageError
        When the budget is given both ways, or what opening a roll costs where nothing goes by it.
    """
    if opening and least != Objective.BOUGHT:
        raise click.UsageError("--opening counts with --least bought alone: give both, or leave it out")
    if seconds is not None and work is not None:
        raise click.UsageError("--work takes the place of --seconds: give one of them")
    settings = Settings(
        gap_mm=gap or 0.0,
        edge_trim_mm=edge_trim,
        offcuts=OffcutRule(keep[0], keep[1], worth),
        objective=Objective(least),
        opening=opening,
        seed=seed,
    )
    if seconds is not None or work is not None:
        settings = replace(settings, budget=Budget(work=work, seconds=seconds))
    patience.allow_nest(settings.budget.steps / STEPS_PER_SECOND)
    return settings
