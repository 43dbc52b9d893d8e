"""Faults of one token put into the code one by one, and whether the tests see them: ``python -m tests.mutation``.

A sample drawn from a seed, a part of the code at a time, each with the tests that are to hold it. A mutant is killed by
a test that fails or hangs; those that live are listed, to be killed by a test or looked at and found to change nothing.
Each runs in a fork of this process, which has all libraries in memory; the sources on the disk stay as they are.
"""

# ruff: noqa: S311, T201 - chance picks cases, and a command prints

from __future__ import annotations

import argparse
import ast
import importlib
import importlib.abc
import importlib.util
import os
import random
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PARTS: dict[str, tuple[list[str], list[str]]] = {
    "judge": (
        ["cutpath/nesting/judge.py"],
        ["tests/nesting/test_judge.py", "tests/nesting/test_runs.py", "tests/nesting/test_stretches.py"],
    ),
    "account": (["cutpath/reports/account/yields.py"], ["tests/reports/account/test_yields.py"]),
    "stock": (
        ["cutpath/stock/book.py"],
        ["tests/stock/test_book.py", "tests/stock/test_progress.py", "tests/stock/test_file.py"],
    ),
    "courses": (
        ["cutpath/trade/courses.py", "cutpath/trade/coursing.py"],
        ["tests/trade/test_courses.py", "tests/trade/test_coursing.py"],
    ),
    "trade": (["cutpath/trade"], ["tests/trade"]),
    "folding": (["cutpath/folding"], ["tests/folding", "tests/faulty/test_faults.py"]),
    "families": (["cutpath/families"], ["tests/families", "tests/golden"]),
}
"""Sources of each part, files or folders, and the tests that hold it."""

_SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Mod: ast.Mult,
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip


def places(tree: ast.AST) -> list[tuple[ast.AST, str, int]]:
    """Every place that can be changed: node, its field, and the index there (-1: the field itself)."""
    found: list[tuple[ast.AST, str, int]] = []
    skipped = {id(n) for node in ast.walk(tree) for n in _words(node)}
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


def _words(node: ast.AST) -> Iterator[ast.AST]:
    """Parts that say nothing at run time: annotations."""
    for name in ("annotation", "returns"):
        if (own := getattr(node, name, None)) is not None:
            yield from ast.walk(own)


def changed(source: str, number: int) -> tuple[str, str]:
    """The source with one place changed, and what was changed in words."""
    tree = ast.parse(source)
    node, field, index = places(tree)[number]
    before = ast.unparse(node)
    old: Any = getattr(node, field)
    if index >= 0:
        old[index] = _SWAPS[type(old[index])]()
    elif isinstance(node, ast.Constant):
        node.value = not old if isinstance(old, bool) else old + 1
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd() if isinstance(old, ast.USub) else ast.Not()
        if isinstance(old, ast.Not):
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
    elif field == "test":
        node.test = ast.UnaryOp(ast.Not(), old)  # type: ignore[attr-defined]
    else:
        setattr(node, field, _SWAPS[type(old)]())
    ast.fix_missing_locations(tree)
    line = getattr(node, "lineno", 0)
    return ast.unparse(tree), f"{line}: {before.splitlines()[0][:70]} -> {ast.unparse(node).splitlines()[0][:70]}"


class _Mutant(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module from a source of its own."""

    def __init__(self, name: str, path: Path, source: str) -> None:
        self.name, self.path, self.source = name, path, source

    def find_spec(self, fullname: str, *_: object) -> Any:
        if fullname != self.name:
            return None
        package = self.path.name == "__init__.py"
        places = [str(self.path.parent)] if package else None
        return importlib.util.spec_from_file_location(
            fullname, self.path, loader=self, submodule_search_locations=places
        )

    def exec_module(self, module: Any) -> None:
        exec(compile(self.source, str(self.path), "exec"), module.__dict__)  # noqa: S102


def killed(path: Path, source: str, tests: list[str], seconds: float) -> bool:
    """Whether one of the tests fails, or they take too long, with a module changed."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
    child = os.fork()
    if not child:
        null = os.open(os.devnull, os.O_RDWR)
        for number in (0, 1, 2):
            os.dup2(null, number)
        signal.alarm(round(seconds))
        sys.meta_path.insert(0, _Mutant(name, path, source))
        import pytest

        end = pytest.main(["-q", "-x", "-p", "no:cacheprovider", "--no-header", *tests])
        os._exit(0 if end == 0 else 1)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", default=list(PARTS), help=", ".join(PARTS))
    parser.add_argument("--count", type=int, default=40, help="mutants of each part")
    parser.add_argument("--minutes", type=float, default=1e9, help="no further mutant of a part after that")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    os.chdir(ROOT)
    for library in ("numba", "numpy", "pydantic", "pytest", "scipy.optimize", "shapely"):
        importlib.import_module(library)

    for part in asked.parts or PARTS:
        sources, tests = PARTS[part]
        files = [
            p
            for name in sources
            for p in ([ROOT / name] if name.endswith(".py") else sorted((ROOT / name).rglob("*.py")))
        ]
        every = [(path, k) for path in files for k in range(len(places(ast.parse(path.read_text()))))]
        begun = time.monotonic()
        first = files[0]
        if killed(first, first.read_text(), tests, 900):
            print(f"{part}: its tests fail as it is", flush=True)
            continue
        sound = time.monotonic() - begun
        lived: list[str] = []
        tried = 0
        for path, number in random.Random(asked.seed).sample(every, min(asked.count, len(every))):
            if time.monotonic() - begun > 60 * asked.minutes:
                break
            source, words = changed(path.read_text(), number)
            tried += 1
            if not killed(path, source, tests, 10 * sound + 20):
                lived.append(f"{path.relative_to(ROOT)}:{words}")
                print(f"    lives: {lived[-1]}", flush=True)
        share = (tried - len(lived)) / tried if tried else 0.0
        print(f"{part}: {tried} of {len(every)} mutants tried, {tried - len(lived)} killed, {share:.0%}", flush=True)


if __name__ == "__main__":
    main()
