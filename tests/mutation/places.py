"""Places in a source where one token can be changed, the source with one changed, and what was looked at by hand."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]

_SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Mod: ast.Mult,
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mutant:
    """One token of one file changed: the place's number in the file, what stood there and stands there now.

    ``first`` and ``last`` are the lines of its statement, without the statements inside; ``called`` says that the
    change lies in the body of a function, which does nothing until somebody calls it.
    """

    file: str
    number: int
    line: int
    first: int
    last: int
    called: bool
    words: str

    @property
    def path(self) -> Path:
        return ROOT / self.file

    @property
    def text(self) -> str:
        """The line of the source it stands on, without the space before it."""
        return _lines(self.path)[self.line - 1].strip()

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.words}"


@cache
def _lines(path: Path) -> list[str]:
    return path.read_text(encoding="utf-8").splitlines()


def places(tree: ast.AST) -> list[tuple[ast.AST, str, int]]:
    """Return every place that can be changed: node, its field, and the index there (-1: the field itself)."""
    found: list[tuple[ast.AST, str, int]] = []
    skipped = {id(n) for node in ast.walk(tree) for n in _unsaid(node)}
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            continue
        if isinstance(node, ast.BinOp | ast.AugAssign | ast.BoolOp) and type(node.op) in _SWAPS:
            found.append((node, "op", -1))
        elif isinstance(node, ast.Compare):
            found += [(node, "ops", k) for k, op in enumerate(node.ops) if type(op) in _SWAPS]
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            found.append((node, "value", -1))
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
            found.append((node, "op", -1))
        elif isinstance(node, ast.If | ast.IfExp):
            found.append((node, "test", -1))
    return found


def _unsaid(node: ast.AST) -> Iterator[ast.AST]:
    """Parts that say nothing at run time: annotations."""
    for name in ("annotation", "returns"):
        if (own := getattr(node, name, None)) is not None:
            yield from ast.walk(own)


def mutants(file: str) -> list[Mutant]:
    """Return every mutant of a file, by its path from the root of the project."""
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    above = {id(child): node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    found = []
    for number, (node, field, index) in enumerate(places(tree)):
        line = getattr(node, "lineno", 0)
        first, last, called = _standing(node, above)
        shown = _shown(node, above)
        before = " ".join(ast.unparse(shown).split(":\n", 1)[0].split())
        undo = _change(node, field, index)
        after = " ".join(ast.unparse(shown).split(":\n", 1)[0].split())
        undo()
        found.append(Mutant(file, number, line, first, last, called, f"{before} -> {after}"))
    return found


def _standing(node: ast.AST, above: dict[int, ast.AST]) -> tuple[int, int, bool]:
    """The lines of the statement that a place stands in, and whether it is in the body of a function."""
    lines: tuple[int, int] | None = None
    called = False
    child: ast.AST | None = None
    at: ast.AST | None = node
    while at is not None:
        if lines is None and isinstance(at, ast.stmt | ast.comprehension | ast.match_case):
            inner = getattr(at, "body", None)
            first = getattr(at, "lineno", getattr(node, "lineno", 0))
            end = getattr(at, "end_lineno", first)
            lines = (first, inner[0].lineno - 1 if inner and child not in inner and inner[0].lineno > first else end)
        if isinstance(at, ast.FunctionDef) and child in at.body:
            called = True
        if isinstance(at, ast.Lambda) and child is at.body:
            called = True
        child, at = at, above.get(id(at))
    return (*(lines or (0, 0)), called)


def _shown(node: ast.AST, above: dict[int, ast.AST]) -> ast.AST:
    """What is printed of a place: of a bare figure the expression that it stands in."""
    at = node
    while isinstance(at, ast.Constant | ast.keyword | ast.UnaryOp | ast.Slice | ast.Tuple):
        up = above.get(id(at))
        if not isinstance(up, ast.expr | ast.keyword | ast.Assign | ast.AnnAssign | ast.Return | ast.slice):
            break
        at = up
    return at


def _change(node: ast.AST, field: str, index: int) -> Any:
    """Change one place; return what puts it back."""
    old: Any = getattr(node, field)
    if index >= 0:
        kept = old[index]
        old[index] = _SWAPS[type(kept)]()
        return lambda: old.__setitem__(index, kept)
    if isinstance(node, ast.Constant):
        new: Any = not old if isinstance(old, bool) else old + 1
    elif isinstance(node, ast.UnaryOp):
        if isinstance(old, ast.Not):
            operand = node.operand
            node.operand = ast.copy_location(ast.UnaryOp(ast.Not(), operand), operand)
            return lambda: setattr(node, "operand", operand)
        new = ast.UAdd()
    elif field == "test":
        new = ast.copy_location(ast.UnaryOp(ast.Not(), old), old)
    else:
        new = _SWAPS[type(old)]()
    setattr(node, field, new)
    return lambda: setattr(node, field, old)


def changed(mutant: Mutant) -> ast.Module:
    """Return the tree of the file with one place changed, its lines where they were."""
    tree = ast.parse(mutant.path.read_text(encoding="utf-8"))
    _change(*places(tree)[mutant.number])
    return ast.fix_missing_locations(tree)


@dataclass(frozen=True, slots=True)
class Explained:
    """Mutants that change nothing anybody could see: one on a ``line``, or a kind of them in a file or in any.

    ``words`` are those of the change, of a kind a pattern for them. With ``swapped`` only changes count that take ``<``
    for ``<=`` or ``>`` for ``>=``, or the other way.
    """

    words: str
    why: str
    file: str = ""
    line: str = ""
    swapped: bool = False

    def means(self, mutant: Mutant) -> bool:
        """Whether a mutant is one of these."""
        if self.file not in ("", mutant.file):
            return False
        if self.line:
            return (mutant.text, mutant.words) == (self.line, self.words)
        before, _, after = mutant.words.partition(" -> ")
        same = _EDGE.sub(r"\1", before) == _EDGE.sub(r"\1", after)
        return bool(re.fullmatch(self.words, mutant.words)) and (same or not self.swapped)


_EDGE = re.compile(r"([<>])=")


@cache
def explained() -> tuple[Explained, ...]:
    """Return what was looked at and found to change nothing, from ``explained.toml``."""
    table = tomllib.loads((Path(__file__).parent / "explained.toml").read_text(encoding="utf-8"))
    return tuple(Explained(**entry) for kind in ("kind", "mutant") for entry in table.get(kind, []))
