"""What the shell offers for a word that is half typed."""

from __future__ import annotations

import os
import re
import select
import shutil
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
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


STARTS = {"bash": ".bashrc", "zsh": ".zshrc", "fish": ".config/fish/completions/cutpath.fish"}
TYPED = (
    ("cutpath expl\t", "cutpath explain "),
    ("CP32\t\t", "CP32"),
    ("\x15cutpath make --machine pen\t", "pen-marker "),
)


@pytest.mark.parametrize(
    "shell",
    [
        pytest.param(s, marks=pytest.mark.skipif(shutil.which(s) is None, reason=f"{s} is not installed"))
        for s in STARTS
    ],
)
def test_a_shell_with_the_line_of_the_readme_completes_what_is_typed(shell, tmp_path):
    """A terminal of its own, the README's line in the shell's own file, and keys as somebody types them."""
    (line,) = re.findall(rf"`([^`]*_CUTPATH_COMPLETE={shell}_source cutpath[^`]*)`", README.read_text())
    start = tmp_path / STARTS[shell]
    start.parent.mkdir(parents=True, exist_ok=True)
    start.write_text(f"{line}\n")
    program = tmp_path / "bin" / "cutpath"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nPYTHONPATH="{README.parent}" exec "{sys.executable}" -m cutpath "$@"\n')
    program.chmod(0o755)
    own = {"HOME": tmp_path, "ZDOTDIR": tmp_path, "XDG_CONFIG_HOME": tmp_path / ".config", "XDG_DATA_HOME": tmp_path}
    path = f"{program.parent}{os.pathsep}{os.environ['PATH']}"
    with terminal(shell, {**map_text(own), "PATH": path, "TERM": "dumb", "LANG": "C.UTF-8"}) as (typed, shown):
        for keys, wanted in TYPED:
            typed(keys)
            assert shown(wanted), f"{keys!r} did not give {wanted!r}"


def map_text(paths: dict[str, Path]) -> dict[str, str]:
    return {name: str(path) for name, path in paths.items()}


@contextmanager
def terminal(shell: str, environment: dict[str, str]):
    """A shell at a terminal: what types keys, and what waits until words are shown after them."""
    import pty  # not on every system

    process, end = pty.fork()
    if not process:
        os.chdir(environment["HOME"])
        os.execvpe(shell, [shell, "-i"], environment)  # noqa: S606
    seen = ""

    def read(seconds: float) -> bool:
        nonlocal seen
        if not select.select([end], [], [], seconds)[0]:
            return False
        text = os.read(end, 65536).decode(errors="replace")
        if "\x1b[c" in text:  # fish asks what terminal this is
            os.write(end, b"\x1b[?1;2c")
        seen += re.sub(r"\x1b[\[\]][0-9;?>=<]*[a-zA-Z]", "", text)
        return True

    def typed(keys: str) -> None:
        nonlocal seen
        while read(0.5):
            pass
        seen = ""
        os.write(end, keys.encode())

    def shown(words: str) -> bool:
        until = time.monotonic() + 60
        while words not in seen and time.monotonic() < until:
            read(1.0)
        return words in seen

    try:
        read(30.0)
        yield typed, shown
    finally:
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
        os.close(end)


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
