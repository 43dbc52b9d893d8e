"""Every family is held to claims of its own, which the proof looks up in one table."""

from __future__ import annotations

import pytest

from cutpath.families.registry import FAMILIES
from cutpath.folding.claim import not_cut
from cutpath.folding.claims import CLAIMS, claims_of


def test_every_family_is_in_the_table_once():
    assert set(CLAIMS) == {family.value for family in FAMILIES}
    assert all(claims.value is value for value, claims in CLAIMS.items())


def test_what_nobody_knows_is_not_proved():
    with pytest.raises(KeyError):
        claims_of(object())


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.kind)
def test_whose_lengths_lap_says_at_which_heights(family):
    assert (CLAIMS[family.value].levels is not not_cut) is family.lapped
