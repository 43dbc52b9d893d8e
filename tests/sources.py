"""The sources of the package as they are parsed, for tests that read them and run nothing."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "cutpath"


@cache
def _parsed(source: str) -> ast.Module:
    return ast.parse(source)


@cache
def nodes(source: str) -> tuple[ast.AST, ...]:
    """Return every node of a source, the module first, as `ast.walk` gives them."""
    return tuple(ast.walk(_parsed(source)))


def statements(source: str) -> list[ast.AST]:
    """Return every statement of a source, however deep it stands, and none of what they are made of."""
    found: list[ast.AST] = [_parsed(source)]
    for node in found:
        for part in ("body", "orelse", "finalbody", "handlers", "cases"):
            found += getattr(node, part, ())
    return found


@cache
def text(path: Path) -> str:
    return path.read_text(encoding="utf-8")
