"""What people read is in the words of the trade: whole sentences, and nothing of how the program is written."""

from __future__ import annotations

import re
from collections.abc import Iterator

import click
import pytest

from cutpath.cli import COMMANDS, cutpath
from cutpath.errors import CODES
from cutpath.jobs.starters import kinds
from cutpath.profiles import practice
from cutpath.reports.words.guide import GUIDES, code_text, rule_text
from cutpath.trade import cautions

OF_PROGRAMS = re.compile(
    r"\b(null|NaN|enum|boolean|tuple|array|parse[drs]?|float|integer|dict|string|payload|instance|"
    r"top abutment|pipe slate|abutment gutter|scriber|prick off)\b|<=x|x>=|\.\.\.,"
)
"""Words of programmers, and names that the trade does not have."""


def helps(command: click.Command, path: str) -> Iterator[tuple[str, str]]:
    context = click.Context(command, info_name=path, max_content_width=100)
    yield path, command.get_help(context)
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            assert inner is not None
            yield from helps(inner, f"{path} {name}")


def texts() -> Iterator[tuple[str, str]]:
    yield from helps(cutpath, "cutpath")
    figures = practice()
    yield from ((code, code_text(code, figures)) for code in CODES)
    yield from ((name, rule_text(name, figures)) for name in figures)
    yield from ((kind.kind, f"{kind.says} " + " ".join(key.says for key in kind.keys)) for kind in kinds())
    yield from enumerate_cautions()


def enumerate_cautions() -> Iterator[tuple[str, str]]:
    yield from ((caution.name, caution.text) for caution in cautions.CAUTIONS)


READ = dict(texts())


@pytest.mark.parametrize("name", READ)
def test_no_word_of_a_programmer_stands_in_what_people_read(name):
    assert OF_PROGRAMS.findall(READ[name]) == []


def test_every_option_of_make_stands_under_a_heading_and_every_command_with_its_whole_sentence():
    assert READ["cutpath make"].partition("\nOptions:\n")[2].strip() == "--help  Show this message and exit."
    for group in ("cutpath run", "cutpath stock"):
        assert "..." not in READ[group].partition("Commands:")[2]


@pytest.mark.parametrize("code", CODES)
def test_meanings_and_remedies_are_whole_sentences(code):
    for text in (GUIDES[code].meaning, GUIDES[code].remedy):
        assert text[0].isupper() or text.startswith("`")
        assert text.endswith(".")


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_is_told_in_one_sentence(command):
    assert COMMANDS[command].endswith(".")
    assert COMMANDS[command][0].isupper()


def test_no_caution_says_its_name_twice():
    for line in cautions.texts():
        head, _, rest = line.partition(": ")
        assert not rest.lower().startswith(f"{head.lower()} ")
