"""Every family is worked out a second time by one table."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import ClassVar

import pytest

import cutpath
from cutpath.errors import Severity
from cutpath.families.registry import FAMILIES
from cutpath.pieces import pieces_of
from cutpath.profiles import practice
from cutpath.recheck import recheck
from cutpath.recheck.second import known, second_of
from cutpath.values.leadwork import PipeSlate
from cutpath.values.survey import Detail


def test_every_family_is_known_and_nothing_else():
    assert set(known()) == {family.value.folder for family in FAMILIES}


def test_what_nobody_knows_is_not_passed_over():
    with pytest.raises(KeyError):
        second_of(Detail)


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.kind)
def test_lead_and_sizes_are_those_of_the_survey(family):
    second = known()[family.value.folder]
    assert second.use == family.use.key
    assert {name for _, name, _ in second.sizes} <= {field.name for field in fields(family.value)}
    assert second.settled <= {key for key, _, _ in second.sizes}


class Unknown(PipeSlate):
    """A family that nobody has worked out a second time."""

    folder: ClassVar[str] = "unknown"


def test_a_detail_that_nobody_works_out_is_refused():
    job = cutpath.job(name="Porch", pitch=30, detail=[{"kind": "lead slate", "pipe": 110}])
    pieces, _ = pieces_of([job])
    (slate,) = job.details
    strange = Unknown(**{name: getattr(slate, name) for name in slate.__match_args__})
    assert recheck(job, pieces, practice()) == ()
    (finding,) = recheck(replace(job, details=(strange,)), pieces, practice())
    assert (finding.code, finding.severity) == ("CP419", Severity.FAULT)
    assert "unknown" in finding.found
