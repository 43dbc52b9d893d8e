"""``cutpath kinds``: the kinds of detail and their keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from cutpath.cli import completing
from cutpath.cli.options import json_option
from cutpath.cli.talk import answer, beside

if TYPE_CHECKING:
    from cutpath.jobs.starters import KindOfDetail


def find_kind(words: str) -> KindOfDetail | None:
    """Return the kind that goes by that name, hyphens or spaces between its words; None where there is none."""
    from cutpath.families.registry import usual_name
    from cutpath.jobs.starters import kinds

    def bare(name: str) -> str:
        return " ".join(name.lower().replace("-", " ").split())

    wanted = bare(usual_name(bare(words)))
    return next((kind for kind in kinds() if bare(kind.kind) == wanted), None)


def no_such_kind(words: str) -> click.BadParameter:
    """Say that there is no such kind of detail, and what may have been meant."""
    from cutpath.intake.places import did_you_mean
    from cutpath.jobs.starters import kinds

    names = [kind.kind for kind in kinds()]
    meant = did_you_mean(words, names)
    remedy = f"Did you mean {meant}?" if meant else f"Choose one of {', '.join(names)}."
    return click.BadParameter(f"no kind of detail is called {words}. {remedy}", param_hint="KIND")


def kind_text(kind: KindOfDetail) -> str:
    """Tell what a kind of detail is, and every key, those in its tables too; those that must be there are marked."""
    from cutpath.jobs.starters import tables_of

    told = [kind, *tables_of(kind.kind)]
    parts = [_keys_text(own.kind if own is kind else f"{own.kind} = {{ ... }}", own) for own in told]
    if any(key.needed for own in told for key in own.keys):
        parts.append("* must be there, in a table where it is written")
    return "\n\n".join(parts)


def _keys_text(name: str, kind: KindOfDetail) -> str:
    wide = max(len(key.name) for key in kind.keys) + 2
    keys = [beside(f"{'*' if key.needed else ' '} {key.name}", key.says, wide + 2) for key in kind.keys]
    return "\n".join([beside(f"{name}: ", kind.says, 4), "", *keys])


@click.command("kinds")
@click.argument("words", nargs=-1, metavar="[KIND]", shell_complete=completing.kinds)
@json_option
def command(words: tuple[str, ...], *, as_json: bool) -> None:
    """List the kinds of detail that a job file may hold, or the keys of one KIND such as step flashing."""
    from dataclasses import asdict

    from cutpath.jobs.starters import kinds

    name = " ".join(words)
    found = find_kind(name) if name else None
    if name and found is None:
        raise no_such_kind(name)
    shown = kinds() if found is None else (found,)
    if as_json:
        answer(kinds=[asdict(kind) for kind in shown])
    elif found is not None:
        click.echo(kind_text(found))
    else:
        wide = max(len(kind.kind) for kind in shown) + 2
        for kind in shown:
            needed = ", ".join(key.name for key in kind.keys if key.needed)
            click.echo(beside(kind.kind, kind.says + (f" Needs {needed}." if needed else ""), wide))
        click.echo("\nThe keys of one: cutpath kinds apron. A file to begin with: cutpath new apron.")
