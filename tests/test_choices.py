"""What one family has of its own is chosen by tables, the registry's or the proofs', and nowhere by its kind."""

from __future__ import annotations

import ast

from cutpath.families.registry import FAMILIES
from tests.sources import PACKAGE, nodes, text

SURVEYS = {family.value.__name__ for family in FAMILIES}


def choices(source: str) -> list[str]:
    """Return where a source asks which survey it has before it."""
    found = []
    for node in nodes(source):
        if isinstance(node, ast.MatchClass):
            found.append(ast.unparse(node.cls))
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance":
            found += [name.id for name in ast.walk(node.args[1]) if isinstance(name, ast.Name)]
    return [name for name in found if name in SURVEYS]


def test_nothing_chooses_by_kind():
    asking = {
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        if any(name in (source := text(path)) for name in SURVEYS) and choices(source)
    }
    assert asking == set()


def test_a_choice_by_hand_would_be_seen():
    source = "match detail:\n case Apron():\n  pass\nisinstance(detail, Soakers | StepFlashing)"
    assert sorted(choices(source)) == ["Apron", "Soakers", "StepFlashing"]
