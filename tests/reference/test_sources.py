"""Every check against the outside world names its source."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCES = (
    "Source: Sheet Metal Drafting",
    "Source: Building Construction Handbook, 8th ed.",
    "Source: The Building News, vol. 22 (1872)",
    "Source: independent consultancy tips on lead flashings",
    "Source: published soaker guidance, read, its name not recorded",
    "Source: published plain-tile data, read, its name not recorded",
    "Source: texts restating BS EN 12588",
    "Source: a text that restates a standard",
    "Source: common practice, no source",
    "Source: derived",
)

TESTS = {
    f"{path.name}:{node.name}": ast.get_docstring(node) or ""
    for path in sorted(Path(__file__).parent.glob("test_*.py"))
    if path.name != Path(__file__).name
    for node in ast.parse(path.read_text(encoding="utf-8")).body
    if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
}


@pytest.mark.parametrize("name", TESTS)
def test_the_source_is_named(name: str) -> None:
    assert TESTS[name].startswith(SOURCES)


def test_the_tests_were_found() -> None:
    assert len(TESTS) > 20
