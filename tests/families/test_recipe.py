"""The registry: a family added by the recipe works everywhere, and every stage's question has an answer for each."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest

from cutpath.families.registry import ASSEMBLIES, FAMILIES, by_kind, by_value
from cutpath.profiles import practice
from cutpath.values.survey import Detail

ROOT = Path(__file__).parents[2]


def test_a_family_added_by_the_recipe_goes_from_words_to_a_file() -> None:
    """In an interpreter of its own, so that no other test meets it."""
    run = subprocess.run(
        [sys.executable, "-m", "tests.families.plinth"], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert json.loads(run.stdout) == {
        "id": "P-Z1-1",
        "quantity": 2,
        "code": 4,
        "area": 90_000.0,
        "findings": ["CP306"],
        "schema": True,
        "dxf": True,
    }


def test_every_survey_has_a_family_and_every_family_a_survey() -> None:
    assert {family.value for family in FAMILIES} == set(get_args(Detail))


def test_kinds_are_told_apart() -> None:
    kinds = [entry.kind for entry in (*FAMILIES, *ASSEMBLIES)]
    assert len(kinds) == len(set(kinds))
    assert all(by_kind(family.kind) is family for family in FAMILIES)
    with pytest.raises(KeyError):
        by_kind("gargoyle")
    with pytest.raises(KeyError):
        by_value(object())


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.kind)
def test_the_figures_that_a_family_names_are_there(family) -> None:
    assert not family.least_code or family.least_code in practice()
    assert family.least_code or not family.thicker_if_severe
    assert family.lapped or family.roof_deg is None
