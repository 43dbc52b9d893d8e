"""Every check against the outside world, and every figure that is said to be published, names what to look up."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cutpath.errors import Severity
from cutpath.profiles import practice
from cutpath.trade.rules import weight
from cutpath.values.fact import Confidence

WORKS = (
    "NHBC Standards 7.2.19 Table 21",
    "NHBC Standards 7.2.20 Table 22",
    "NHBC Standards 7.2.20, edition of 2020",
    "NHBC Standards 7.2.21, edition of 2020",
    "work section H71: wedge fixing in a published project specification",
    'Roofconsult, "Tips 4"',
    'Roofconsult, "Tips 76"',
    "RCI magazine, May 2017, p. 76",
    "Building Construction Handbook, 8th ed.",
    "BS EN 12588 as other texts restate it",
    "Sheet Metal Drafting",
    "The Building News, vol. 22 (1872)",
    "HSE INDG143",
)
"""What can be asked for by its name, and so nothing like "published guidance" or "a text that restates a standard"."""

UNNAMED = ("common practice, no source", "from memory, unverified", "derived")

ONE_FOR_ALL = "Derived values unless said otherwise"
"""A file whose own docstring says so need not say it in each of its tests."""

PROFILES = Path(__file__).resolve().parents[2] / "profiles"


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
    named = of_test.startswith(tuple(f"Source: {source}" for source in (*WORKS, *UNNAMED)))
    assert named or (of_test and ONE_FOR_ALL in of_file)


def test_the_tests_were_found() -> None:
    assert len(TESTS) > 20


def sourced(table: object, where: str) -> Iterator[tuple[str, str, str]]:
    """Place, source and confidence of every table in a profile that has them."""
    if isinstance(table, list):
        for number, row in enumerate(table, start=1):
            yield from sourced(row, f"{where}[{number}]")
    if isinstance(table, dict):
        if "confidence" in table:
            yield f"{where} {table.get('name', '')}", table["source"], table["confidence"]
        for key, value in table.items():
            yield from sourced(value, f"{where}.{key}")


FIGURES = [
    found
    for path in sorted(PROFILES.rglob("*.toml"))
    for found in sourced(tomllib.loads(path.read_text(encoding="utf-8")), path.stem)
]


@pytest.mark.parametrize(("where", "source", "confidence"), FIGURES, ids=[where for where, _, _ in FIGURES])
def test_what_is_said_to_be_published_can_be_looked_up_by_its_name(where: str, source: str, confidence: str) -> None:
    match Confidence(confidence):
        case Confidence.READ | Confidence.SECOND_HAND:
            assert source.startswith(WORKS)
        case Confidence.PRACTICE:
            assert not any(work in source for work in WORKS)
        case Confidence.MEMORY:
            assert "unverified" in source


def test_the_standard_for_sheet_is_cited_for_sheet_alone() -> None:
    citing = {where.partition(" ")[0].partition("[")[0] for where, source, _ in FIGURES if "12588" in source}
    assert citing == {"milled"}


def test_only_what_was_read_refuses() -> None:
    weights: dict[Confidence, set[Any]] = {}
    for fact in practice().values():
        weights.setdefault(fact.confidence, set()).add(weight(fact))
    assert Severity.FAULT in weights.pop(Confidence.READ)
    assert len(weights) > 1
    assert all(Severity.FAULT not in found for found in weights.values())
