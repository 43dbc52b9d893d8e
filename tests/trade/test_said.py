"""What is said where a figure is missed by a hair, and other sentences that hang on a choice of two."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath.profiles import practice
from cutpath.trade.cautions import set_up
from cutpath.trade.rules import held, relaxed, rule_of
from cutpath.values.fact import Sense


@pytest.mark.parametrize(
    ("name", "by_mm", "found"),
    [
        ("soaker_roof", -0.004, "99 mm"),
        ("upstand", -0.4, "74 mm"),
        ("longest_code_4", 0.004, "1501 mm"),
        ("turn_in_unpainted", 0.004, "the lead goes 51 mm into the joint"),
        ("least_code_apron", -1, "code 3"),
        ("lift_at_waist", 0.5, "25.5 kg"),
        ("soaker_roof", 0.0, None),
        ("longest_code_4", 0.0, None),
    ],
)
def test_what_misses_a_figure_by_a_hair_is_not_said_to_be_that_figure(name, by_mm, found):
    fact = practice()[name]
    said = [finding.found for finding in held(fact, "here", fact.value + by_mm)]
    assert said == ([] if found is None else [found])


def test_paper_is_measured_and_a_machine_runs_dry():
    assert "measure its bar" in set_up(paper=True, cuts=False)
    assert "run the file dry" in set_up(paper=False, cuts=True)
    assert "run the file dry" not in set_up(paper=True, cuts=False)


def test_only_a_figure_that_asks_less_is_relaxed():
    for fact in practice().values():
        sense = rule_of(fact.name).sense
        more, less = (replace(fact, value=fact.value + by) for by in (0.5, -0.5))
        wanted = {Sense.MOST: (True, False)}.get(sense, (False, sense in {Sense.LEAST, Sense.OVER, Sense.EASES}))
        assert (relaxed(more, fact), relaxed(less, fact)) == wanted, fact.name
