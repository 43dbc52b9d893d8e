"""``cutpath explain``: what a finding's code means."""

from __future__ import annotations

import click

from cutpath.errors import CODES


@click.command("explain")
@click.argument("codes", nargs=-1, metavar="[CODE]...")
def command(codes: tuple[str, ...]) -> None:
    """Say what each CODE means; without one, list them all."""
    wanted = [code.upper() for code in codes] or list(CODES)
    unknown = [code for code in wanted if code not in CODES]
    if unknown:
        raise click.BadParameter(f"no such code: {', '.join(unknown)}", param_hint="CODE")
    for code in wanted:
        click.echo(f"{code}  {CODES[code]}")
