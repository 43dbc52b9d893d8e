"""Nests that were made elsewhere become a batch like any other, once the judge has seen them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath import pipeline
from cutpath.errors import Refused
from cutpath.nesting import one_after_another

PLATES = {"name": "Plates", "detail": [{"kind": "outline", "points": [[0, 0], [325, 0], [325, 175], [0, 175]]}]}


def planned() -> pipeline.Planned:
    return pipeline.plan([PLATES], settings=pipeline.Settings(seed=7))


def test_a_nest_made_elsewhere_becomes_a_batch():
    plan = planned()
    batch = pipeline.batch_of(plan, [one_after_another(problem) for _, problem in plan.problems])
    assert [p.id for s in batch.sheets for p in s.nested.placements] == [p.id for p in plan.pieces]
    assert batch.seed == 7
    assert batch.pieces == plan.pieces


def test_a_nest_made_elsewhere_is_judged():
    plan = planned()
    (good,) = (one_after_another(problem) for _, problem in plan.problems)
    (roll,) = good.rolls
    bad = replace(good, rolls=(replace(roll, placements=()),))
    with pytest.raises(Refused) as refusal:
        pipeline.batch_of(plan, [bad])
    assert {f.code for f in refusal.value.findings} == {"CP503"}
