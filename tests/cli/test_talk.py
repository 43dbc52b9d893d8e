"""What is said at a terminal: the same finding once for all its places, and lines that end where the terminal does."""

from __future__ import annotations

import os
import shutil

import pytest

from cutpath.cli import talk
from cutpath.errors import Finding, Severity
from tests.cli.running import run

ROLLS = [
    Finding("CP607", f"code4-0{n}", "no waste there", "a clear place", "Turn it.", Severity.WARNING) for n in "123"
]
KEYS = [
    Finding("CP318", f"a.toml: detail[{n}].code", "code 4", "code 5", "Use code 5.", Severity.WARNING)
    for n in range(1, 9)
]


@pytest.fixture
def terminal(monkeypatch):
    monkeypatch.setattr(talk, "_is_terminal", lambda *, err: err)
    monkeypatch.setattr(shutil, "get_terminal_size", lambda *_: os.terminal_size((60, 24)))


def test_what_is_said_of_several_places_is_said_and_counted_once(capsys):
    """Who reads of three warnings below one looks for the others."""
    talk.say_findings([*ROLLS, Finding("CP101", "b.toml", "it is not there", "a file", "Check its name.")])
    said = capsys.readouterr().err
    assert said.splitlines() == [
        "fault: b.toml: it is not there; it takes a file. [CP101]",
        "    Check its name.",
        "warning: code4-01, code4-02 and code4-03: no waste there; it takes a clear place. [CP607]",
        "    Turn it.",
        "1 fault, 1 warning",
    ]


def test_places_in_one_file_name_it_once_and_many_are_counted(capsys):
    talk.say_findings(KEYS)
    (first, *_) = capsys.readouterr().err.splitlines()
    assert first.startswith(
        "warning: a.toml: detail[1].code, detail[2].code, detail[3].code, detail[4].code and 4 more: "
    )


def test_on_a_terminal_lines_break_between_words(terminal, capsys):
    talk.say_findings(KEYS)
    lines = capsys.readouterr().err.splitlines()
    assert max(map(len, lines)) <= 60
    assert " ".join(line.strip() for line in lines[:-2]).endswith("4 more: it is in code 4; it must be code 5. [CP318]")
    assert all(line.startswith("    ") for line in lines[1:-1])


def test_to_a_file_a_finding_stays_on_its_line(capsys):
    talk.say_findings(KEYS[:1])
    assert len(capsys.readouterr().err.splitlines()) == 3


@pytest.mark.parametrize("kind", ["", "step flashing", "chimney"])
def test_kinds_and_their_keys_fit_a_terminal(kind):
    done = run("kinds", *kind.split())
    assert max(map(len, done.stdout.splitlines())) <= 80
