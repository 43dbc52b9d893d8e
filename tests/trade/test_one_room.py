"""Findings of the rules are made in one room, and every sentence there is said somewhere with all its figures.

The sources are read, not run.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from functools import cache
from string import Formatter

import pytest

from cutpath.profiles import practice, rules
from cutpath.values.fact import Rule
from tests.sources import PACKAGE, nodes, text

PATHS = {path.relative_to(PACKAGE).as_posix(): path for path in PACKAGE.rglob("*.py")}
LISTED = {"errors.py", "reports/words/guide.py"}
"""They list every code, and make no finding."""

GIVEN = {"found", "figure", "founded_on", "source"}
"""What `held` and a figure fill in by themselves."""


@cache
def modules() -> dict[str, tuple[ast.AST, ...]]:
    """Every module as it is parsed, once a test asks for it and not in every worker that lists the tests."""
    return {name: nodes(text(path)) for name, path in PATHS.items()}


def codes_in(module: Iterable[ast.AST], pattern: str) -> Iterator[str]:
    for node in module:
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and re.fullmatch(pattern, node.value):
            yield node.value


@pytest.mark.parametrize("path", sorted(set(PATHS) - LISTED))
def test_no_rule_of_the_trade_is_written_elsewhere(path):
    """Their codes stand beside the figures in ``profiles/practice``, and `trade.rules` makes what they say."""
    assert list(codes_in(modules()[path], r"CP3\d\d")) == []


def test_a_code_elsewhere_would_be_seen():
    assert list(codes_in(nodes('Finding("CP305", "x", "y", "z", "w")'), r"CP3\d\d")) == ["CP305"]


def test_joints_out_of_order_are_found_in_one_room():
    assert {path for path, module in modules().items() if [*codes_in(module, "CP401")]} - LISTED == {
        "trade/coursing.py"
    }


def calls() -> Iterator[tuple[str, ast.Call]]:
    for path, module in modules().items():
        for node in module:
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"said", "held"}:
                yield path, node


def names_in(call: ast.Call) -> set[str]:
    """Names of rules that stand in a call, also in a choice between two."""
    held = {n.value for a in call.args for n in ast.walk(a) if isinstance(n, ast.Constant) and n.value in rules()}
    sentences = held - set(practice())
    return sentences or held


def places(rule: Rule) -> set[str]:
    texts = (rule.found, rule.accepted, rule.remedy)
    return {name for text in texts for _, name, _, _ in Formatter().parse(text) if name}


def test_a_call_fills_every_place_of_the_words():
    named = [(f"{path}:{call.lineno}", call, name) for path, call in calls() for name in sorted(names_in(call))]
    assert len(named) > 30
    left = {}
    for where, call, name in named:
        filled = {keyword.arg for keyword in call.keywords}
        if missing := places(rules()[name]) - filled - GIVEN:
            left[f"{where} {name}"] = missing
    assert left == {}


def test_every_sentence_is_said():
    constants = {s for module in modules().values() for s in codes_in(module, r"[a-z_0-9]+")}
    assert set(rules()) - set(practice()) <= constants
