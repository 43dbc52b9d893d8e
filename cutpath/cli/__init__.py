"""The command line: one module for each command, imported only when that command runs.

Exit 0: done; 1: refused, with findings; 2: misused. Results go to standard output, talk to standard error.
"""

from __future__ import annotations

import importlib
import os
import re
import sys
from hashlib import sha256
from pathlib import Path

import click

from cutpath import __version__
from cutpath.cli.options import AS_JSON, with_keys
from cutpath.cli.patience import StageTooLongError, ceiling
from cutpath.cli.streams import end_in_order, guard_streams
from cutpath.cli.talk import answer, say_findings
from cutpath.errors import Finding, Misread, Refused, Severity
from cutpath.plain import seen

COMMANDS = {
    "demo": "Cut the example that comes with the program.",
    "new": "Write a job file or an order sheet to begin with.",
    "measure": "Write a blank measuring sheet for a kind of detail.",
    "kinds": "List the kinds of detail and their keys.",
    "make": "Do the whole job, from job files and order sheets to cut files, tickets and yield.",
    "batches": "Make many batches from a list, on every core or a cluster.",
    "check": "Find faults in job files, and write nothing.",
    "pieces": "Print the cutting list of job files.",
    "nest": "Nest plain outlines from a JSON file on rolls.",
    "recut": "Cut a spoilt piece once more, on what is left.",
    "quote": "Price jobs by the shop's own prices, as PDF and CSV.",
    "run": "Say how far runs are (cut, folded, packed, delivered), what changed since; repeat one.",
    "stock": "Keep the account of rolls, offcuts and scrap; book what runs cut, or release it.",
    "settings": "Show what is settled for jobs, and where from.",
    "schema": "Print the JSON Schema of the job file, or of what a command prints with --json.",
    "explain": "Say what a finding's code means, or what a rule asks and who says so.",
}
"""Every command and its one line of help, in the order of ``--help``."""


class _Commands(click.Group):
    """Commands by name; their modules are imported on use, so that ``--help`` answers at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - click's signature
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"cutpath.cli.{cmd_name}").command
        assert isinstance(command, click.Command)  # noqa: S101 - our own modules
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that is named; of a name that is none, say what may have been meant.

        Raises
        ------
        UsageError
        """
        name = args[0]
        if name in COMMANDS or name.startswith("-"):
            return super().resolve_command(ctx, args)
        from difflib import get_close_matches

        close = get_close_matches(name, COMMANDS, n=1)
        if os.path.isfile(name):
            remedy = f"To make a job: cutpath make {name}"
        else:
            remedy = f"Did you mean {close[0]}?" if close else f"Choose one of {', '.join(COMMANDS)}."
        raise click.UsageError(f"there is no command {name}. {remedy}", ctx)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; where it is refused and JSON was asked for, its answer is its findings."""
        try:
            return self._kept(ctx)
        except Refused as refusal:
            found = with_keys(refusal.findings, ctx)
            if ctx.meta.get(AS_JSON):
                answer(found)
            raise Refused(found) from None

    def _kept(self, ctx: click.Context) -> object:
        """Run the command under a ceiling; keep the report of a file that read back otherwise, and say where."""
        try:
            with ceiling():
                return super().invoke(ctx)
        except StageTooLongError as late:
            raise Refused([late.finding]) from None
        except Misread as refusal:
            raise Refused((*refusal.findings, _report_kept(refusal.report))) from None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's signature
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


def _report_kept(report: str) -> Finding:
    """Write a report into the folder where one stands, under a name of its own, and say where it is."""
    name = f"cutpath-report-{sha256(report.encode()).hexdigest()[:10]}.json"
    accepted, remedy = "a report to send in", "Send it to whoever keeps cutpath: it holds the job, and no prices."
    try:
        Path(name).write_text(report, encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return Finding("CP612", name, f"the report cannot be written: {reason}", accepted, remedy, Severity.NOTE)
    return Finding("CP612", name, "here is the report", accepted, remedy, Severity.NOTE)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, package_name="cutpath")
def cutpath() -> None:
    """From site measurements to cut sheet lead.

    Develops flashings, splits runs into lengths, nests them on rolls, and writes cut files, tickets and a yield
    account. Start with: cutpath make JOB.toml --out cut
    """
    for name, least in _READ_BY_LIBRARIES.items():
        value = os.environ.get(name)
        if value is not None and not (re.fullmatch("[0-9]{1,18}", value) and int(value) >= least):
            takes = f"libraries that are used here take a whole number from {least} on"
            raise click.UsageError(f'the environment variable {name} is "{seen(value)}"; {takes}: set another, or none')


_READ_BY_LIBRARIES = {"SOURCE_DATE_EPOCH": 0, "NUMBA_NUM_THREADS": 1}
"""Variables that end in an error of numpy or numba where they are no number from this one on."""


def main() -> None:
    """Run the command line: a refusal becomes findings and exit code 1, and so does being broken off."""
    try:
        guard_streams()
        end_in_order()
        cutpath(prog_name="cutpath")
    except Refused as refusal:
        say_findings(refusal.findings)
        sys.exit(1)
    except KeyboardInterrupt:
        sys.exit(1)
