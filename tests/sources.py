"""The sources of the package as they are parsed, for tests that read them and run nothing."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "cutpath"


@cache
def nodes(source: str) -> tuple[ast.AST, ...]:
    """Return every node of a source, the module first, as `ast.walk` gives them."""
    return tuple(ast.walk(ast.parse(source)))


@cache
def text(path: Path) -> str:
    return path.read_text(encoding="utf-8")
