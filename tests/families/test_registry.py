"""The registry: every stage's question has an answer for each family, and families are told apart."""

from __future__ import annotations

import ast

import pytest

from cutpath.families.family import no_views
from cutpath.families.registry import ASSEMBLIES, FAMILIES, by_kind, by_value
from cutpath.found import folders
from cutpath.profiles import practice
from cutpath.values.survey import Detail
from tests.sources import PACKAGE, nodes, text


def test_every_survey_has_a_family_and_every_family_a_survey() -> None:
    surveys = {heir.__qualname__ for heir in Detail.__subclasses__() if heir.__module__.startswith("cutpath.")}
    assert sorted({family.value.__qualname__ for family in FAMILIES}) == sorted(surveys)


def test_a_survey_names_the_folder_of_its_family_and_no_other() -> None:
    """So that the proof of one family is never taken for that of another."""
    assert {family.value.folder for family in FAMILIES} == {
        folder for folder, module in folders("cutpath.families").items() if hasattr(module, "FAMILY")
    }
    assert len({family.value.folder for family in FAMILIES}) == len({family.value for family in FAMILIES})
    for family in FAMILIES:
        assert family.table.__module__.split(".")[2] == family.value.folder


def test_families_stand_in_the_order_that_they_declare() -> None:
    assert [family.kind for family in FAMILIES] == [
        family.kind for family in sorted(FAMILIES, key=lambda family: (family.place, family.kind))
    ]
    assert FAMILIES[0].kind == "step flashing"


@pytest.mark.parametrize("part", ["drawing", "nesting", "paper", "reports", "stock", "writers"])
def test_no_report_and_no_writer_knows_a_family_by_name(part) -> None:
    """What is one family's own stands in its folder, and the rest asks the registry."""
    names = {family.value.__name__ for family in FAMILIES}
    for path in (PACKAGE / part).rglob("*.py"):
        if not any(name in text(path) for name in names):
            continue
        named = {node.id for node in nodes(text(path)) if isinstance(node, ast.Name)}
        assert not named & names, path


def test_all_but_soakers_and_plain_shapes_have_views_of_their_own() -> None:
    """Soakers are drawn behind their flashing, and nobody knows where a plain shape is to lie."""
    assert {family.kind for family in FAMILIES if family.views is no_views} == {"soakers", "outline"}


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
