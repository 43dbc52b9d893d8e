"""What a shell offers for a word that is half typed; click does the rest.

``_CUTPATH_COMPLETE=bash_source cutpath`` prints what the shell has to know (``zsh_source``, ``fish_source``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import click
from click.shell_completion import CompletionItem

Offer = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def _machines() -> Iterable[str]:
    from cutpath.machines import machine_names

    return machine_names()


def _rolls() -> Iterable[str]:
    from cutpath.profiles.rolls import rolls_names

    return rolls_names()


def _named(names: Callable[[], Iterable[str]]) -> Offer:
    """Offer names that begin so, and files where there are none."""

    def offer(_ctx: click.Context, _param: click.Parameter, begun: str) -> list[CompletionItem]:
        found = [CompletionItem(name) for name in names() if name.startswith(begun)]
        return found or [CompletionItem(begun, type="file")]

    return offer


machines, rolls, files = _named(_machines), _named(_rolls), _named(tuple)


def _next_words(phrases: Iterable[tuple[str, str]], done: Sequence[str], begun: str) -> list[CompletionItem]:
    """Offer the next word of every phrase, with what is said of it, that begins with the words typed so far."""
    found: dict[str, str] = {}
    for phrase, says in phrases:
        words = phrase.split()
        if len(words) > len(done) and words[: len(done)] == list(done) and words[len(done)].startswith(begun):
            found.setdefault(words[len(done)], says)
    return [CompletionItem(word, help=says) for word, says in found.items()]


def _typed(ctx: click.Context) -> Sequence[str]:
    return ctx.params.get("words") or ()


def kinds(ctx: click.Context, _param: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer the kinds of detail, word by word."""
    from cutpath.jobs.starters import kinds as known

    return _next_words(((kind.kind, kind.says) for kind in known()), _typed(ctx), begun)


def explained(ctx: click.Context, param: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer codes, rules and kinds of detail; only codes begin with CP, and to read all else takes half a second."""
    from cutpath.errors import CODES

    codes = [CompletionItem(code, help=says) for code, says in CODES.items() if code.startswith(begun.upper())]
    if codes and len(begun) > 1:
        return codes
    from cutpath.profiles import practice

    names = [CompletionItem(name) for name in practice() if name.startswith(begun)]
    return [*codes, *names, *kinds(ctx, param, begun)]


def answering(ctx: click.Context, _param: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer the commands that answer in JSON."""
    from cutpath.cli.answers import ANSWERS

    return _next_words(((name, "") for name in ANSWERS), _typed(ctx), begun)
