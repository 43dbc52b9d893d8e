"""Names of folds, edges, marks, points and parts are for people: no code compares them or takes them apart.

Read off the sources: in the rooms that handle patterns, ``.name`` and ``.family`` are compared with nothing, looked up
in nothing and parsed by nothing; nowhere is the path of an `Origin` taken apart but by itself.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from tests.sources import PACKAGE, nodes, text

ROOMS = ("families", "folding", "pieces", "recheck", "reports", "drawing", "trade/fixings.py")
"""Where patterns are made, proved, held and drawn."""

BEARERS = {"job", "head", "h", "band", "stroke"}
"""Variables whose names are no features': a job's is its user's, a head's its machine's, a band's that of masonry.

A stroke's tells lettering from the lines of a drawing.
"""

OTHERS = {
    "drawing/toolline.py": "names of strokes: lettering",
    "reports/words/page/shop_rules.py": "names of figures, which a shop's file gives",
}
"""Sources in which names are those of something else."""

NAMES = {"name", "family"}

PARTED = {
    *("startswith", "endswith", "removeprefix", "removesuffix", "partition", "rpartition", "split", "rsplit"),
    *("strip", "lstrip", "rstrip", "isdigit", "find", "index", "replace"),
}
"""Methods that take a text apart."""

Seen = Iterator[ast.AST]


def sources(*rooms: str) -> Iterator[Path]:
    for room in rooms or ("",):
        place = PACKAGE / room
        yield from [place] if place.is_file() else sorted(place.rglob("*.py"))


def attributes(node: ast.AST, names: Iterable[str]) -> list[ast.Attribute]:
    """Every ``something.name`` in it that may be a feature's."""
    return [
        part
        for part in ast.walk(node)
        if isinstance(part, ast.Attribute)
        and part.attr in names
        and not (isinstance(part.value, ast.Name) and part.value.id in BEARERS)
    ]


def is_read(node: ast.AST) -> bool:
    """Whether a name is read in it."""
    return bool(attributes(node, NAMES))


def names_compared(source: str) -> Seen:
    """Names that are compared, matched, gathered to be looked up, or taken apart."""
    yield from (node for node in nodes(source) if compares(node))


def compares(node: ast.AST) -> bool:
    """Whether one node does anything with a name but say it."""
    match node:
        case ast.Compare():
            sides = [node.left, *node.comparators]
            called_name = any(isinstance(side, ast.Name) and side.id in NAMES for side in sides)
            with_words = any(isinstance(side, ast.Constant | ast.JoinedStr | ast.Tuple) for side in sides)
            with_nothing = all(isinstance(op, ast.Is | ast.IsNot) for op in node.ops)
            return not with_nothing and (is_read(node) or (called_name and with_words))
        case ast.Match():
            return is_read(node.subject)
        case ast.SetComp():
            return is_read(node.elt)
        case ast.DictComp():
            return is_read(node.key)
        case ast.Subscript():
            return is_read(node.slice) or node.value in attributes(node.value, NAMES)
        case ast.Call():
            return takes_apart(node)
        case _:
            return False


def takes_apart(node: ast.Call) -> bool:
    """Whether a call looks a name up or takes it apart, by a method of its own or by a regular expression."""
    called = node.func
    if not isinstance(called, ast.Attribute):
        return False
    if isinstance(called.value, ast.Name) and called.value.id == "re":
        return any(is_read(given) for given in node.args)
    if called.attr in {"get", "pop", "search", "match", "fullmatch"} and node.args:
        return is_read(node.args[0])
    return called.attr in PARTED and is_read(called.value)


def paths_parted(source: str) -> Seen:
    """Places where the path of an origin is compared or taken apart."""

    def is_read(node: ast.AST) -> bool:
        return any("origin" in ast.unparse(part.value).split(".")[-1] for part in attributes(node, {"path"}))

    for node in nodes(source) if ".path" in source and "origin" in source else ():
        if isinstance(node, ast.Compare) and is_read(node):
            yield node
        elif isinstance(node, ast.Call):
            given = [*node.args, node.func.value] if isinstance(node.func, ast.Attribute) else node.args
            if any(is_read(part) for part in given):
                yield node
        elif isinstance(node, ast.Subscript) and is_read(node.value):
            yield node


def found(files: Iterable[Path], looked_for: Callable[[str], Seen]) -> list[str]:
    return [
        f"{file.relative_to(PACKAGE)}:{node.lineno}: {ast.unparse(node)}"
        for file in files
        if str(file.relative_to(PACKAGE)) not in OTHERS
        for node in looked_for(text(file))
    ]


def test_no_code_compares_names_of_features_or_takes_them_apart() -> None:
    assert found(sources(*ROOMS), names_compared) == []


@pytest.mark.parametrize("file", OTHERS)
def test_no_source_is_left_out_in_vain(file: str) -> None:
    assert list(names_compared(text(PACKAGE / file)))


def test_no_code_but_its_own_takes_the_path_of_an_origin_apart() -> None:
    assert found(sources(), paths_parted) == []


@pytest.mark.parametrize(
    "line",
    [
        'wedged = [f for f in folds if f.name == "turn-in"]',
        'wedged = [f for f in folds if "turn-in" in f.name]',
        'steps = [f for f in folds if f.name.startswith("turn-in ")]',
        "number = int(fold.name.split()[1])",
        "number = re.fullmatch(r'turn-in (\\d+)', fold.name)",
        "number = PATTERN.search(station.name)",
        "there = {face.name for face in faces}",
        "there = {face.name: face for face in faces}",
        "depth = {'left arris': x}.get(face.parent.name, -z)",
        "joint = joints[face.name]",
        "same = [(f.name, f.way) for f in one] == [(f.name, f.way) for f in other]",
        "heads = [at for name, at in stations if name == 'head']",
        "mine = [e for name, e in edges if name in ('return foot', 'return end')]",
        "gussets = [p for p in pieces if p.pattern.family == 'gusset']",
        "level = pattern.family in LEVEL",
        "match pattern.family:\n    case 'apron':\n        pass",
    ],
)
def test_a_name_that_is_compared_is_seen(line: str) -> None:
    assert list(names_compared(line))


@pytest.mark.parametrize(
    "line",
    [
        "words = f'the {face.name} is missing'",
        "rows = [(fold.name, fold.angle_deg) for fold in folds]",
        "wedged = [f for f in folds if f.use is FoldUse.TURN_IN]",
        "own = [p for p in pieces if p.job == job.name]",
        "shares = NAMED.get(use, fold.name)",
    ],
)
def test_a_name_that_is_said_is_let_be(line: str) -> None:
    assert not list(names_compared(line))


@pytest.mark.parametrize(
    "line",
    [
        "parent = soakers.head.origin.path.removesuffix('.soakers')",
        "entry = origin.path.split('.')[0]",
        "place = re.match(r'detail', detail.head.origin.path)",
        "mine = detail.head.origin.path == parent",
        "end = detail.head.origin.path[9:]",
    ],
)
def test_a_path_that_is_taken_apart_is_seen(line: str) -> None:
    assert list(paths_parted(line))
