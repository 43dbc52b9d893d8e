"""Commands run for the tests in this process, which has everything imported.

They give what a process of their own would: refusals are said by `say_findings`, as `cutpath.cli.main` does.
"""

from __future__ import annotations

import contextlib
import io
from dataclasses import dataclass

from click.testing import CliRunner

from cutpath.cli import cutpath
from cutpath.cli.talk import say_findings
from cutpath.errors import Refused


@dataclass(frozen=True)
class Done:
    """How a command ended, and what it said."""

    returncode: int
    stdout: str
    stderr: str


def run(*arguments: object, stdin: str | None = None) -> Done:
    """Run a command in this process."""
    result = CliRunner().invoke(cutpath, [str(a) for a in arguments], input=stdin, prog_name="cutpath")
    if isinstance(result.exception, Refused):
        with contextlib.redirect_stderr(io.StringIO()) as said:
            say_findings(result.exception.findings)
        return Done(1, result.stdout, result.stderr + said.getvalue())
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return Done(result.exit_code, result.stdout, result.stderr)
