"""What is explained of the mutants is still there, and one token is one change."""

from __future__ import annotations

import ast
from functools import cache

import pytest

from tests.mutation.__main__ import PARTS, files_of
from tests.mutation.places import Explained, changed, explained, mutants

mutants_of = cache(mutants)
FILES = sorted({file for sources, _ in PARTS.values() for file in files_of(sources)})


@pytest.mark.parametrize("entry", explained(), ids=lambda entry: f"{entry.file} {entry.words[:40]}")
def test_each_explained_mutant_stands_in_the_sources(entry: Explained) -> None:
    assert entry.why
    files = [entry.file] if entry.file else FILES
    assert any(entry.means(mutant) for file in files for mutant in mutants_of(file))


def test_a_mutant_is_the_source_with_one_token_changed() -> None:
    file = "cutpath/nesting/judge.py"
    before = ast.unparse(ast.parse((mutants(file)[0].path).read_text(encoding="utf-8"))).splitlines()
    for mutant in mutants(file)[::9]:
        after = ast.unparse(changed(mutant)).splitlines()
        assert sum(a != b for a, b in zip(before, after, strict=True)) == 1, mutant
