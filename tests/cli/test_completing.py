"""What the shell offers for a word that is half typed."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from cutpath.cli import COMMANDS, cutpath
from cutpath.errors import CODES
from cutpath.jobs.starters import kinds
from cutpath.machines import machine_names
from cutpath.values.formats import Format

README = Path(__file__).parents[2] / "README.md"


def offered(*words: str) -> list[str]:
    complete = ShellComplete(cutpath, {}, "cutpath", "_CUTPATH_COMPLETE")
    return [item.value for item in complete.get_completions(list(words[:-1]), words[-1])]


def test_commands_formats_machines_and_codes_are_offered():
    assert offered("") == list(COMMANDS)
    assert offered("make", "job.toml", "--format", "") == [form.value for form in Format]
    assert offered("make", "job.toml", "--machine", "") == list(machine_names())
    assert offered("check", "job.toml", "--rolls", "ladder-3") == ["ladder-30"]
    assert offered("explain", "cp30") == [code for code in CODES if code.startswith("CP30")]
    assert "turn_in" in offered("explain", "turn")
    assert "--json" in offered("stock", "list", "--")


@pytest.mark.parametrize("command", ["kinds", "new", "explain"])
def test_a_kind_is_offered_word_by_word(command):
    first = {kind.kind.split()[0] for kind in kinds()}
    assert first <= set(offered(command, ""))
    assert [w for w in offered(command, "step", "f") if w in {"flashing", "apron"}] == ["flashing"]


def test_commands_of_two_words_are_offered_for_their_schema():
    assert offered("schema", "stock", "li") == ["list"]
    assert offered("schema", "che") == ["check"]


def test_a_file_is_offered_where_no_name_begins_so():
    complete = ShellComplete(cutpath, {}, "cutpath", "_CUTPATH_COMPLETE")
    for words in (["make", "--machine"], ["check", "--practice"], ["quote", "--prices"], ["nest"], ["check"]):
        assert [i.type for i in complete.get_completions(words, "./ours")] == ["file"], words


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_lines_of_the_readme_are_those_of_the_shells(shell):
    assert re.search(rf"`[^`]*_CUTPATH_COMPLETE={shell}_source cutpath[^`]*`", README.read_text())


def test_bash_gets_its_answer_from_the_program_itself():
    asked = {"_CUTPATH_COMPLETE": "bash_complete", "COMP_WORDS": "cutpath explain CP30", "COMP_CWORD": "2"}
    done = subprocess.run(
        [sys.executable, "-m", "cutpath"],
        env={**os.environ, **asked, "PYTHONPATH": str(README.parent)},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert "plain,CP301" in done.stdout.splitlines(), done.stderr
