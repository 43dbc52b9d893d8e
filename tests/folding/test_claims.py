"""Every family is held to claims of its own, which the proof finds by the name of its folder."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

import pytest

import cutpath
from cutpath.errors import Severity
from cutpath.families.registry import FAMILIES
from cutpath.folding import prove
from cutpath.folding.claim import claims_of, known, not_cut
from cutpath.pieces import pieces_of
from cutpath.values.leadwork import PipeSlate
from cutpath.values.survey import Detail


class Unproved(PipeSlate):
    """A family that the proof never heard of."""

    folder: ClassVar[str] = "unproved"


def test_every_family_is_known_and_nothing_else():
    assert set(known()) == {family.value.folder for family in FAMILIES}


def test_what_nobody_knows_is_not_proved_but_refused():
    job = cutpath.job(name="Porch", pitch=30, detail=[{"kind": "lead slate", "pipe": 110}])
    pieces, _ = pieces_of([job])
    assert [proof.piece for proof in prove(job, pieces)[0]] == ["P-P1-1", "P-P1-2"]
    (slate,) = job.details
    strange = Unproved(**{name: getattr(slate, name) for name in slate.__match_args__})
    proofs, findings = prove(replace(job, details=(strange,)), pieces)
    assert proofs == ()
    assert [(f.code, f.severity) for f in findings] == [("CP418", Severity.FAULT)]
    assert "unproved" in findings[0].found
    with pytest.raises(KeyError):
        claims_of(strange)


def test_a_detail_of_no_family_is_not_known():
    assert Detail.folder not in known()


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.kind)
def test_whose_lengths_lap_says_at_which_heights(family):
    assert (known()[family.value.folder].levels is not not_cut) is family.lapped
