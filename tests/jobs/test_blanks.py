"""Plain outlines as the nest command reads them."""

from __future__ import annotations

import json

import pytest

from cutpath.errors import Refused
from cutpath.jobs.blanks import parse_blanks


def text(*points, gap=0):
    return json.dumps({"units": "mm", "gap_mm": gap, "pieces": [{"id": "a", "outline": points}]})


def test_a_length_may_carry_its_unit():
    asked = parse_blanks(text([0, 0], ["12 in", 0], ["0.3048 m", "20 cm"], gap="1/2 in"), "p.json")
    assert asked.gap_mm == pytest.approx(12.7)
    assert sum(asked.blanks[0].outline, ()) == pytest.approx((0, 0, 304.8, 0, 304.8, 200))


def test_text_without_a_unit_is_told_with_its_place():
    with pytest.raises(Refused) as refused:
        parse_blanks(text([0, 0], ["12", 0], [1, 1]), "p.json")
    (fault,) = refused.value.findings
    assert (fault.code, fault.where) == ("CP105", "p.json: pieces[1].outline[2][1]")
