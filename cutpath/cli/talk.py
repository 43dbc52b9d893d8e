"""What the command line says on standard error, and JSON on standard output."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
import time
from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

from cutpath.cli import patience
from cutpath.errors import Finding, Severity
from cutpath.plain import in_words, seen
from cutpath.units import MM2_PER_M2

if TYPE_CHECKING:
    from cutpath.nesting import NestProgress


def say(text: str = "") -> None:
    """Say one line to the person at the terminal."""
    click.echo(fitted(seen(text), err=True), err=True)


def say_reserved(run: str) -> None:
    """Say that a run is reserved on the stock, and how it is booked."""
    say(f"Reserved for run {run}. Once it is cut: cutpath stock commit {run}")


def fitted(text: str, *, err: bool = False) -> str:
    """Return a text with its lines broken between words where a terminal ends; to a file or a pipe, as it is."""
    if not _is_terminal(err=err):
        return text
    wide = max(shutil.get_terminal_size().columns, _NARROWEST)
    return "\n".join(_broken(line, wide) for line in text.splitlines())


def _is_terminal(*, err: bool) -> bool:
    return (sys.stderr if err else sys.stdout).isatty()


def beside(name: str, says: str, indent: int) -> str:
    """Return a name and what it means in lines of 80 characters, those after the first set in by ``indent``."""
    head = f"{name:<{indent}}"
    broken = textwrap.wrap(head + says, _PAGE, subsequent_indent=" " * indent, break_long_words=False)
    return "\n".join(broken) or head


_PAGE = 80


def _broken(line: str, wide: int) -> str:
    """Break a line where it is too long; what follows is set in under its first word, or deeper under a head."""
    indent = len(line) - len(line.lstrip())
    own = " " * (indent + (0 if indent else 4))
    broken = textwrap.wrap(line, wide, subsequent_indent=own, break_long_words=False, break_on_hyphens=False)
    return "\n".join(broken)


_NARROWEST = 40


def now() -> str:
    """Return the time as it is booked, in UTC to a second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def say_findings(findings: Sequence[Finding], *, err: bool = True) -> None:
    """Print every finding, faults first, and how many were told; keep them for the command's answer."""
    _kept().extend(findings)
    order = {Severity.FAULT: 0, Severity.WARNING: 1, Severity.NOTE: 2}
    alike: dict[tuple[str, str, str, Severity], list[Finding]] = {}
    for finding in sorted(findings, key=lambda f: order[f.severity]):
        alike.setdefault((finding.code, finding.sentence, finding.remedy, finding.severity), []).append(finding)
    for group in alike.values():
        click.echo(fitted(seen(_said(group)), err=err), err=err)
    counts = [(s, sum(severity is s for *_, severity in alike)) for s in Severity]
    words = [f"{n} {s.value}{'s' if n > 1 else ''}" for s, n in counts if n]
    if words:
        click.echo(", ".join(words), err=err)


def _said(alike: Sequence[Finding]) -> str:
    """Return findings that say the same of several places as one, with the places in a row."""
    first, (file, part, _) = alike[0], alike[0].where.partition(": ")
    places = [finding.where for finding in alike]
    if part and all(place.startswith(f"{file}: ") for place in places[1:]):
        places[1:] = [place.removeprefix(f"{file}: ") for place in places[1:]]
    if len(places) > _MOST_PLACES:
        places[_MOST_PLACES - 1 :] = [f"{len(places) - _MOST_PLACES + 1} more"]
    return f"{first.severity.value}: {first.at(in_words(places))}"


_MOST_PLACES = 5


def print_json(value: object) -> None:
    """Print one JSON document on standard output."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def answer(findings: Sequence[Finding] = (), /, **told: object) -> None:
    """Print what a command answers with ``--json``: every finding that was said, those given, and what it told.

    `cutpath.cli.answers` has the shape of every answer.
    """
    print_json({"findings": [asdict(f) for f in (*_kept(), *findings)], **told})


_FINDINGS = "cutpath.findings"


def _kept() -> list[Finding]:
    """Return the list of findings that were said in this run of the command line."""
    context = click.get_current_context(silent=True)
    kept: list[Finding] = [] if context is None else context.meta.setdefault(_FINDINGS, [])
    return kept


class ProgressLine:
    """One line on the terminal that follows a stage of the work; not shown when standard error is no terminal."""

    def __init__(self) -> None:
        self._open = False
        self._live = sys.stderr.isatty()
        self._begun = time.perf_counter()
        self._told = False

    def __call__(self, material: str, nest: NestProgress) -> None:
        """Show the state of one material's nest; say before the first what takes time on a new machine."""
        patience.goes_on(f"nest of {material}")
        if not self._told:
            self._told = True
            _say_what_is_compiled()
        self._show(f"{material}: {nest.drawn_mm2 / MM2_PER_M2:.3f} m2 drawn, yield {100 * nest.yield_ratio:.1f} %")

    def stage(self, name: str, done: int, of: int) -> None:
        """Show how far a stage is; one with a single thing to do is passed over."""
        patience.goes_on(name if done < of else f"what follows on {name}")
        if of > 1:
            self._show(f"{name}: {done:,} of {of:,}")

    def _show(self, text: str) -> None:
        if self._live:
            text = f"{text}, {time.perf_counter() - self._begun:.0f} s"
            click.echo(f"\r{text:<70}", nl=False, err=True)
            self._open = True

    def close(self) -> None:
        """End the line."""
        if self._open:
            click.echo(err=True)
            self._open = False


def _say_what_is_compiled() -> None:
    from cutpath.nesting.compiled import to_compile

    if to_compile():
        say("Compiling the search, once after an install: about ten seconds on top of the time for the nest.")
