"""Every family is worked out a second time by one table."""

from __future__ import annotations

from dataclasses import fields

import pytest

from cutpath.families.registry import FAMILIES
from cutpath.recheck.table import SECOND, second_of


def test_every_family_is_in_the_table_once():
    assert set(SECOND) == {family.value for family in FAMILIES}
    assert all(second.value is value for value, second in SECOND.items())


def test_what_nobody_knows_is_not_passed_over():
    with pytest.raises(KeyError):
        second_of(object())


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.kind)
def test_lead_and_sizes_are_those_of_the_survey(family):
    second = SECOND[family.value]
    assert second.use == family.use.key
    assert {name for _, name, _ in second.sizes} <= {field.name for field in fields(family.value)}
    assert second.settled <= {key for key, _, _ in second.sizes}
