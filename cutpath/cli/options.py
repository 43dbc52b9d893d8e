"""Options and arguments that several commands share; `LENGTH` reads lengths with or without a unit."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from cutpath.units import NotUnderstoodError, length_mm
from cutpath.values.formats import Format
from cutpath.values.nest import STEPS_PER_SECOND

F = TypeVar("F", bound=Callable[..., Any])


class _Length(click.ParamType[float]):
    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401
        try:
            number: float | str = float(value)
        except ValueError:
            number = value
        try:
            length = length_mm(number)
        except NotUnderstoodError as error:
            self.fail(str(error), param, ctx)
        if not 0 <= length <= _MOST_MM:
            self.fail(f"{length:g} mm, accepted: 0 to {_MOST_MM:.0f} mm", param, ctx)
        return length


class _Number(click.FloatRange):
    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401
        number = float(super().convert(value, param, ctx))
        if math.isnan(number):
            self.fail(f"{value} is no number", param, ctx)
        return number


_MOST_MM = 100_000.0  # as long as the longest roll that a list may hold

_MOST_SECONDS = 86_400.0
_MOST_WORK = int(_MOST_SECONDS) * STEPS_PER_SECOND

LENGTH = _Length()


def jobs_argument(function: F) -> F:
    """Take one or more job files; ``-`` is standard input."""
    return click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=click.Path(path_type=Path))(function)


def rolls_option(function: F) -> F:
    """Take the list of rolls."""
    return click.option(
        "--rolls",
        metavar="FILE",
        help="Rolls to cut from: a TOML or JSON file, or the name of a list in profiles/rolls.",
    )(function)


def practice_option(function: F) -> F:
    """Take a shop's own rules."""
    return click.option(
        "shop_rules",
        "--practice",
        metavar="FILE",
        help="The shop's own rules: a TOML file in the form of profiles/practice, with only the figures that differ.",
    )(function)


def json_option(function: F) -> F:
    """Ask for JSON instead of a table."""
    return click.option("as_json", "--json", is_flag=True, help="Print JSON on standard output.")(function)


def format_options(function: F) -> F:
    """Take what is written beside report and tickets."""
    for option in (
        click.option("every", "--all", is_flag=True, help="Write every format."),
        click.option(
            "formats",
            "--format",
            multiple=True,
            type=click.Choice([form.value for form in Format]),
            help="Also write the lists (csv), the yield as data (json), or drawings of the rolls; may be repeated.",
        ),
    ):
        function = option(function)
    return function


def search_options(function: F) -> F:
    """Take what steers the nest: gap, trim, kept offcuts and their worth, aim, seconds or work, seed."""
    for option in reversed(
        [
            click.option("--gap", type=LENGTH, default=0.0, show_default="0", help="Least gap between pieces."),
            click.option(
                "--edge-trim",
                type=LENGTH,
                default=0.0,
                show_default="0",
                help="Kept clear at the roll's edges and ends.",
            ),
            click.option(
                "--keep",
                type=(LENGTH, LENGTH),
                default=(300.0, 150.0),
                show_default="300 150",
                metavar="LENGTH WIDTH",
                help="Smallest offcut that is kept.",
            ),
            click.option(
                "--worth",
                type=_Number(min=0.0, max=1.0),
                default=0.5,
                show_default=True,
                help="What a kept offcut is worth, as a share of new lead.",
            ),
            click.option(
                "--least",
                type=click.Choice(["drawn", "bought"]),
                default="drawn",
                show_default=True,
                help="Draw the least lead off the rolls, or buy the fewest whole rolls.",
            ),
            click.option(
                "--seconds",
                type=_Number(min=0.0, max=_MOST_SECONDS),
                show_default="20",
                help="Most seconds to search; with too few, runs are divided evenly.",
            ),
            click.option(
                "--work",
                type=click.IntRange(min=0, max=_MOST_WORK),
                metavar="STEPS",
                help=f"Steps of the search in place of seconds, {STEPS_PER_SECOND} to each: same nest on any machine.",
            ),
            click.option(
                "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Same seed, same result."
            ),
        ]
    ):
        function = option(function)
    return function
