"""``cutpath schema``: the job file's JSON Schema."""

from __future__ import annotations

import click

from cutpath.cli.talk import print_json


@click.command("schema")
def command() -> None:
    """Print the JSON Schema of the job file, so that an editor can complete and check it."""
    from cutpath.jobs import job_schema

    print_json(job_schema())
