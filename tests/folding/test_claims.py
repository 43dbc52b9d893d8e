"""Every family is held to claims of its own, which the proof looks up in one table."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import get_args

import pytest

from cutpath.families.registry import FAMILIES
from cutpath.folding.claim import not_cut
from cutpath.folding.claims import CLAIMS, claims_of
from cutpath.values.survey import Detail

FOLDING = Path(__file__).parents[2] / "cutpath" / "folding"
SURVEYS = {value.__name__ for value in get_args(Detail)}


def test_every_family_is_in_the_table_once():
    assert set(CLAIMS) == set(get_args(Detail))
    assert all(claims.value is value for value, claims in CLAIMS.items())


def test_what_nobody_knows_is_not_proved():
    with pytest.raises(KeyError):
        claims_of(object())


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.kind)
def test_whose_lengths_lap_says_at_which_heights(family):
    assert (CLAIMS[family.value].levels is not not_cut) is family.lapped


def choices(source: str) -> list[str]:
    """Return where a source asks which survey it has before it."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.MatchClass):
            found.append(ast.unparse(node.cls))
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance":
            found += [name.id for name in ast.walk(node.args[1]) if isinstance(name, ast.Name)]
    return [name for name in found if name in SURVEYS]


@pytest.mark.parametrize("path", sorted(FOLDING.rglob("*.py")), ids=lambda path: path.stem)
def test_the_proof_chooses_by_the_table_alone(path):
    assert choices(path.read_text(encoding="utf-8")) == []


def test_a_choice_by_hand_would_be_seen():
    source = "match detail:\n case Apron():\n  pass\nisinstance(detail, Soakers | StepFlashing)"
    assert sorted(choices(source)) == ["Apron", "Soakers", "StepFlashing"]
