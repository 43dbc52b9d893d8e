"""Help that can be read to its end: a group's commands with their whole sentences, many options under headings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click


class Listing(click.Group):
    """A group whose help has the whole first sentence of each command."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's signature
        """Write the commands, each with its first sentence."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, own.get_short_help_str(_ALL)) for name, own in sorted(self.commands.items())])


_ALL = 1000
"""Letters of help: more than any first sentence has."""


class UnderHeadings(click.Command):
    """A command whose help has its options under headings: each heading with names of parameters, in their order."""

    def __init__(self, *given: Any, headings: Mapping[str, tuple[str, ...]], **named: Any) -> None:  # noqa: ANN401 - as click
        super().__init__(*given, **named)
        self.headings = headings

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options under their headings, those of none at the end."""
        options = [own for own in self.get_params(ctx) if isinstance(own, click.Option)]
        told = {own.name: said for own in options if (said := own.get_help_record(ctx)) is not None}
        for heading, names in self.headings.items():
            with formatter.section(heading):
                formatter.write_dl([told.pop(name) for name in names])
        with formatter.section("Options"):
            formatter.write_dl(list(told.values()))
