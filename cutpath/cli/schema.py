"""``cutpath schema``: the JSON Schema of the job file, or of what a command answers."""

from __future__ import annotations

import click

from cutpath.cli import completing
from cutpath.cli.talk import print_json


@click.command("schema")
@click.argument("words", nargs=-1, metavar="[COMMAND]", shell_complete=completing.answering)
def command(words: tuple[str, ...]) -> None:
    """Print the JSON Schema of the job file, so that an editor can complete and check it.

    With a COMMAND such as check or stock list, print that of what it answers with --json.
    """
    if not words:
        from cutpath.jobs import job_schema

        print_json(job_schema())
        return
    from cutpath.cli.answers import ANSWERS, answer_schema
    from cutpath.intake.places import did_you_mean

    name = " ".join(words)
    if name not in ANSWERS:
        meant = did_you_mean(name, ANSWERS)
        remedy = f"Did you mean {meant}?" if meant else f"Choose one of {', '.join(ANSWERS)}."
        raise click.BadParameter(f"no command called {name} answers in JSON. {remedy}", param_hint="COMMAND")
    print_json(answer_schema(name))
