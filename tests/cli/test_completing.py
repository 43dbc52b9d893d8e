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
from contextlib import ExitStack
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
    assert not [word for word in offered("explain", "c") if word.startswith("cp")], "codes alone begin so"
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
    ("CP32\t\t", "CP320"),
    ("\x15cutpath make --machine pen\t", "pen-marker "),
)


class Terminal:
    """A shell at a terminal of its own, with the README's line in the shell's own file."""

    def __init__(self, shell: str, home: Path) -> None:
        import pty  # not on every system

        (line,) = re.findall(rf"`([^`]*_CUTPATH_COMPLETE={shell}_source cutpath[^`]*)`", README.read_text())
        start, program = home / STARTS[shell], home / "bin" / "cutpath"
        for file, text in (
            (start, f"{line}\n"),
            (program, f'#!/bin/sh\nPYTHONPATH="{README.parent}" exec "{sys.executable}" -m cutpath "$@"\n'),
        ):
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text)
        program.chmod(0o755)
        own = {"HOME": home, "ZDOTDIR": home, "XDG_CONFIG_HOME": home / ".config", "XDG_DATA_HOME": home}
        environment = {name: str(folder) for name, folder in own.items()} | {"TERM": "dumb", "LANG": "C.UTF-8"}
        environment["PATH"] = f"{program.parent}{os.pathsep}{os.environ['PATH']}"
        self.seen = ""
        self.missed: list[str] = []
        self.process, self.end = pty.fork()
        if not self.process:
            os.chdir(home)
            os.execvpe(shell, [shell, "-i"], environment)  # noqa: S606

    def read(self) -> None:
        text = os.read(self.end, 65536).decode(errors="replace")
        if "\x1b[c" in text:  # fish asks what terminal this is
            os.write(self.end, b"\x1b[?1;2c")
        self.seen += re.sub(r"\x1b[\[\]][0-9;?>=<]*[a-zA-Z]", "", text)

    def close(self) -> None:
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        os.close(self.end)


def read(terminals: list[Terminal], seconds: float) -> bool:
    """Read what comes within some time; False where nothing came."""
    ready = select.select([t.end for t in terminals], [], [], seconds)[0]
    for terminal in (t for t in terminals if t.end in ready):
        terminal.read()
    return bool(ready)


@pytest.fixture(scope="module")
def terminals(tmp_path_factory):
    """Keys as somebody types them, at the terminals of all shells at once, for most of it is waiting."""
    with ExitStack() as closing:
        found = {}
        for shell in filter(shutil.which, STARTS):
            found[shell] = Terminal(shell, tmp_path_factory.mktemp(shell))
            closing.callback(found[shell].close)
        every = list(found.values())
        until = time.monotonic() + 30
        while not all(t.seen for t in every) and time.monotonic() < until:
            read(every, 1.0)
        for keys, wanted in TYPED:
            while read(every, 0.5):
                pass
            for terminal in every:
                terminal.seen = ""
                os.write(terminal.end, keys.encode())
            until = time.monotonic() + 60
            while (waiting := [t for t in every if wanted not in t.seen]) and time.monotonic() < until:
                read(waiting, 1.0)
            for terminal in waiting:
                terminal.missed.append(f"{keys!r} did not give {wanted!r}")
        yield found


@pytest.mark.parametrize(
    "shell",
    [
        pytest.param(s, marks=pytest.mark.skipif(shutil.which(s) is None, reason=f"{s} is not installed"))
        for s in STARTS
    ],
)
def test_a_shell_with_the_line_of_the_readme_completes_what_is_typed(shell, terminals):
    assert terminals[shell].missed == []


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
