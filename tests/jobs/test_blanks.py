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


def test_a_shape_of_too_many_points_is_refused_with_its_place():
    points = [[float(x), float(x % 2)] for x in range(3_000)] + [[2999.0, 500.0], [0.0, 500.0]]
    row = {"outline": points, "holes": [[[x, 100 + x % 2] for x in range(1, 2_500)] + [[1, 200]]]}
    held = json.dumps({"units": "mm", "pieces": [{"id": "a", "outline": [[0, 0], [9, 0], [9, 9]]}, {"id": "b", **row}]})
    with pytest.raises(Refused) as refused:
        parse_blanks(held, "p.json")
    assert [(f.code, f.where) for f in refused.value.findings] == [("CP107", "p.json: pieces[2]")]


def test_an_id_that_stands_twice_among_very_many_is_told_at_once():
    rows = [{"id": str(n % 5_999), "outline": [[0, 0], [9, 0], [9, 9]]} for n in range(6_000)]
    with pytest.raises(Refused, match="the id 0 stands more than once"):
        parse_blanks(json.dumps({"units": "mm", "pieces": rows}), "p.json")


def test_faults_of_every_kind_are_told_at_once():
    plate, hole = [[0, 0], [400, 0], [400, 300], [0, 300]], [[0, 100], [100, 50], [100, 150]]
    rows = [{"id": "a", "outline": plate}, {"id": "a", "outline": [[0, 0], [9, 0], [9, 0.001]]}]
    rows.append({"id": "b", "outline": plate, "holes": [hole]})
    with pytest.raises(Refused) as refused:
        parse_blanks(json.dumps({"units": "mm", "pieces": rows}), "p.json")
    assert [(f.code, f.where) for f in refused.value.findings] == [
        ("CP109", "p.json: pieces"),
        ("CP409", "p.json: pieces[2].outline"),
        ("CP409", "p.json: pieces[3].holes"),
    ]


@pytest.mark.parametrize(
    ("holes", "says"),
    [
        ([[[0, 100], [100, 50], [100, 150]]], "hole 1 comes within 0 mm of the outline, at 0, 100"),
        ([[[0.4, 100], [100, 50], [100, 150]]], "hole 1 comes within 0.4 mm of the outline"),
        ([[[50, 100], [99, 50], [99, 99]], [[99, 99], [150, 99], [150, 150]]], "hole 1 comes within 0 mm of hole 2"),
    ],
)
def test_a_hole_that_leaves_no_lead_is_refused_as_in_a_job(holes, says):
    row = {"id": "a", "outline": [[0, 0], [400, 0], [400, 300], [0, 300]], "holes": holes}
    with pytest.raises(Refused) as refused:
        parse_blanks(json.dumps({"units": "mm", "pieces": [row]}), "p.json")
    (fault,) = refused.value.findings
    assert (fault.code, fault.where) == ("CP409", "p.json: pieces[1].holes")
    assert f'"a": {says}' in fault.found
    row["holes"] = [[[x + 1, y] for x, y in hole] for hole in holes[:1]]
    assert parse_blanks(json.dumps({"units": "mm", "pieces": [row]}), "p.json").blanks


@pytest.mark.parametrize("name", [" ", "a\nb", "\u2800"])
def test_an_id_that_is_not_read_in_one_line_is_refused(name):
    row = {"id": name, "outline": [[0, 0], [9, 0], [9, 9]]}
    with pytest.raises(Refused) as refused:
        parse_blanks(json.dumps({"units": "mm", "pieces": [row]}), "p.json")
    assert [(f.code, f.where) for f in refused.value.findings] == [("CP107", "p.json: pieces[1].id")]
