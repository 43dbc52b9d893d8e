"""Words that drawings, leadwork, machines and the search share name one thing each."""

from __future__ import annotations

import re

import pytest

from tests.sources import PACKAGE, text


def named(word: str, source: str) -> int:
    """Count the classes, type names and second names that a source gives a word."""
    given = rf"^\s*class _?{word}\b|^_?{word}\b[^=\n]* = |^from cutpath.* import .*\b{word} as \w|\bas _?{word}$"
    return len(re.findall(given, source, re.MULTILINE)) if word in source else 0


@pytest.fixture(scope="module")
def sources():
    return [text(path) for path in PACKAGE.rglob("*.py")]


@pytest.mark.parametrize("word", ["Sheet", "Section", "Frame", "Step", "Shape", "Line", "Bundle"])
def test_a_word_names_one_thing(word, sources):
    assert sum(named(word, source) for source in sources) <= 1


@pytest.mark.parametrize(
    "source", ["class Line: ...", "    class _Line: ...", "_Line = tuple", "from cutpath.plane import Line as Ray"]
)
def test_another_meaning_would_be_seen(source):
    assert named("Line", source) == 1
