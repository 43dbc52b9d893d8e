"""``cutpath explain``: what a finding's code means, which rule stands behind it, and what to do."""

from __future__ import annotations

import click

from cutpath.cli import completing
from cutpath.cli.options import json_option, practice_option, settled
from cutpath.cli.talk import answer, fitted
from cutpath.errors import CODES

SIZES = "CP112"
"""The code that stands for the ranges of sizes: they are listed with it."""


@click.command("explain")
@click.argument("words", nargs=-1, metavar="[CODE|RULE|KIND]...", shell_complete=completing.explained)
@practice_option
@json_option
def command(words: tuple[str, ...], shop_rules: str | None, *, as_json: bool) -> None:
    """Say what each CODE means, with the rules behind it, their sources and what to do; or where a RULE comes from.

    A KIND of detail is answered with its keys. Without any of them, list every code and then every rule by name, as it
    is written in a shop's own file. The ranges of sizes come with CP112.
    """
    from cutpath.profiles import plausible, practice
    from cutpath.profiles.shop import shop_figures
    from cutpath.reports.words import guide

    shop_rules = settled((), practice=shop_rules).practice
    limits, sizes = (practice(), plausible()) if shop_rules is None else shop_figures(shop_rules)
    codes = [word.upper() for word in words if word.upper() in CODES] if words else list(CODES)
    rules = [word.lower() for word in words if word.lower() in limits] if words else list(limits)
    unknown = [word for word in words if word.upper() not in CODES and word.lower() not in limits]
    if unknown:
        _explain_kind(" ".join(words), ", ".join(unknown), list(limits), as_json=as_json)
        return
    if as_json:
        answer(
            codes=[guide.explain_code(code, limits) for code in codes],
            rules=[guide.explain_rule(name, limits) for name in rules],
            sizes=[guide.explain_size(size) for size in sizes.values()] if SIZES in codes else [],
            kinds=[],
        )
    elif words:
        told = [guide.code_text(c, limits) for c in codes] + [guide.rule_text(r, limits) for r in rules]
        told += ["\n".join(map(guide.size_text, sizes.values()))] if SIZES in codes else []
        click.echo(fitted("\n\n".join(told)))
    else:
        click.echo("\n".join(f"{code}  {CODES[code]}" for code in codes))
        click.echo()
        click.echo(fitted("\n".join(guide.rule_text(name, limits) for name in rules)))


def _explain_kind(words: str, unknown: str, rules: list[str], *, as_json: bool) -> None:
    """Answer with the keys of a kind of detail; where it is none either, say what may be meant."""
    import dataclasses

    from cutpath.cli.kinds import find_kind, kind_text
    from cutpath.intake.places import did_you_mean
    from cutpath.jobs.starters import kinds

    if (kind := find_kind(words)) is not None:
        own = [dataclasses.asdict(kind)]
        answer(codes=[], rules=[], sizes=[], kinds=own) if as_json else click.echo(kind_text(kind))
        return
    told = _where_told(words)
    meant = ", ".join(rule for rule in rules if unknown.lower() in rule.split("_"))
    if not (told or meant):
        meant = did_you_mean(words, (*rules, *(kind.kind for kind in kinds()))) or ""
        told = "" if meant else ". `cutpath explain` lists codes and rules, `cutpath kinds` kinds."
    remedy = told + (f"{'' if told else '.'} Did you mean {meant}?" if meant else "")
    raise click.BadParameter(f"no such code, rule or kind: {unknown}{remedy}", param_hint="CODE")


def _where_told(word: str) -> str:
    """Say what tells of a key of the job file; empty where the word is none."""
    from cutpath.jobs.schema import JobFile
    from cutpath.jobs.starters import kinds, tables_of

    if word in JobFile.model_fields and word != "coursing":
        return ". It is a key of a job, of which `cutpath new` tells."
    tables = ((kind.kind, (kind, *tables_of(kind.kind))) for kind in kinds())
    having = (name for name, told in tables if any(key.name == word for own in told for key in own.keys))
    return next((f". It is a key, of which `cutpath kinds {name}` tells." for name in having), "")
