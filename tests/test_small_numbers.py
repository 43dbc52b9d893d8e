"""Small numbers have a name and a reason: in `cutpath.tolerances` what several modules need, else at a module's top."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.sources import PACKAGE, nodes, text

SMALL = 1e-5

OTHERS = {"readback/pdf.py", "readback/pieces.py"}
"""Sources left out: readers share nothing with the rest."""


def bare(source: str) -> list[str]:
    """Small numbers inside functions."""
    may_be = re.search(r"\de-\d|\.0{5}", source)
    inside = (node for node in nodes(source) if isinstance(node, ast.FunctionDef)) if may_be else ()
    return [
        f"{number.lineno}: {number.value}"
        for function in inside
        for line in function.body
        for number in ast.walk(line)
        if isinstance(number, ast.Constant) and isinstance(number.value, float) and 0 < number.value < SMALL
    ]


@pytest.mark.parametrize("part", sorted({path.relative_to(PACKAGE).parts[0] for path in PACKAGE.rglob("*.py")}))
def test_small_numbers_have_a_name(part: str) -> None:
    place = PACKAGE / part
    files: list[Path] = [place] if place.is_file() else sorted(place.rglob("*.py"))
    found = {str(file.relative_to(PACKAGE)): bare(text(file)) for file in files}
    found = {name: told for name, told in found.items() if told and name not in OTHERS}
    assert found == {}


def test_a_bare_one_is_seen() -> None:
    assert bare("NEAR = 1e-9\ndef f(x):\n    return x > 1e-9\n") == ["3: 1e-09"]
