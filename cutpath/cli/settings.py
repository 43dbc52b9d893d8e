"""``cutpath settings``: what is settled, and where."""

from __future__ import annotations

from pathlib import Path

import click

from cutpath.cli.options import json_option, settings_option, settled
from cutpath.cli.talk import answer, say, say_findings


@click.command("settings")
@click.argument("jobs", nargs=-1, metavar="[JOB]...", type=click.Path(path_type=Path))
@settings_option
@json_option
def command(jobs: tuple[Path, ...], own_settings: Path | None, *, as_json: bool) -> None:
    """Show what is settled for JOBs, or for work in this folder, and where each value comes from.

    A file called cutpath.toml beside the jobs goes before one of your own, and what is typed before both. Keys are
    rolls, practice, machine, gap, formats, stock and prices.
    """
    from cutpath.paper.text import table
    from cutpath.plain import seen
    from cutpath.settings_file import lacking_prices, user_file
    from cutpath.units import written

    choices, own = settled(jobs, own_settings), user_file()
    found = choices.settled
    say_findings(lacking_prices(choices))
    if as_json:
        rows = [
            {"key": s.key, "value": s.value, "origin": s.origin.value, "file": None if s.file is None else str(s.file)}
            for s in found
        ]
        answer(settings=rows, user_file="" if own is None else str(own))
        return

    def shown(value: object) -> str:
        return ", ".join(map(str, value)) or "none" if isinstance(value, list) else written(value)

    cells = [
        (s.key, "none" if s.value is None else shown(s.value), s.origin.value, "" if s.file is None else str(s.file))
        for s in found
    ]
    click.echo(seen(table(("key", "value", "comes from", "file"), cells, left=frozenset({0, 1, 2, 3}))))
    say("A file of your own needs a home folder" if own is None else f"A file of your own would be {own}")
