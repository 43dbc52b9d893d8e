"""``cutpath demo``: the example that comes with the program, from job files to everything that is made of them."""

from __future__ import annotations

from pathlib import Path

import click

from cutpath.cli.options import json_option, search_options
from cutpath.cli.talk import say


@click.command("demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("cutpath-demo"),
    show_default=True,
    metavar="DIR",
    help="New folder for the job files, and in it one for what is made of them.",
)
@json_option
@search_options
def command(out: Path, **how: object) -> None:
    """Cut the example that comes with the program: three invented jobs, on shared rolls.

    Their job files are put into DIR, to be read and changed; report, tickets, lists and drawings go into DIR/cut.
    """
    import contextlib

    from cutpath import output
    from cutpath.cli import make
    from cutpath.errors import Finding, Refused
    from cutpath.jobs.examples import examples

    context = click.get_current_context()
    try:
        out.mkdir(parents=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise Refused([Finding("CP701", str(out), reason, "a new folder", "Name another with --out DIR.")]) from None
    jobs = tuple(out / name for name in examples())
    try:
        for path, text in zip(jobs, examples().values(), strict=True):
            with output.claim_text(path) as put:
                put(text)
        say(f"The same as: cutpath make {' '.join(map(str, jobs))} --out {out / 'cut'} --all\n")
        context.invoke(make.command, jobs=jobs, out=out / "cut", every=True, **how)
    except BaseException:  # whatever ended it, all is there or nothing
        for path in () if (out / "cut").exists() else jobs:
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
        with contextlib.suppress(OSError):
            out.rmdir()
        raise
