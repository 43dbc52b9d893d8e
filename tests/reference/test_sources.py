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

ONE_FOR_ALL = "Derived values unless said otherwise"
"""A file whose own docstring says so need not say it in each of its tests."""


def texts_in(path: Path) -> dict[str, tuple[str, str]]:
    """Docstrings of a file and of each of its tests, by ``file:test``."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {
        f"{path.name}:{node.name}": (ast.get_docstring(tree) or "", ast.get_docstring(node) or "")
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


FILES = sorted(set(Path(__file__).parent.glob("test_*.py")) - {Path(__file__)})
TESTS = {name: texts for path in FILES for name, texts in texts_in(path).items()}


@pytest.mark.parametrize("name", TESTS)
def test_the_source_is_named(name: str) -> None:
    of_file, of_test = TESTS[name]
    assert of_test.startswith(SOURCES) or (of_test and ONE_FOR_ALL in of_file)


def test_the_tests_were_found() -> None:
    assert len(TESTS) > 20
