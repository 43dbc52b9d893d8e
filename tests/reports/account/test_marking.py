"""Points of a ticket: every one has a name of its own, however many there are."""

from __future__ import annotations

import cutpath
from cutpath.families.registry import develop
from cutpath.reports.account.marking import marking
from tests.families.test_step_views import planned


def test_a_shape_of_thousands_of_corners_has_a_name_for_each():
    saw = [[3 * i, 0 if i % 2 else 40 + i % 7] for i in range(1500)]
    outline = [*saw, [4500, 300], [0, 300]]
    job = cutpath.job(name="Comb", pitch=30, detail=[{"kind": "outline", "points": outline}])
    run, _ = develop(job.details[0])
    marked = marking(run.pattern)
    keys = [point.key for point in marked.points]
    assert len(keys) > 26 + 26 * 26
    assert len(set(keys)) == len(keys)
    assert keys[:2] == ["A", "B"]
    assert keys[24] == "AA", "without I and O"
    assert keys[24 + 24 * 24] == "AAA"


def test_ends_of_lines_are_named_as_the_blank_lies_before_the_worker():
    """A left hand is measured from the right, so what is farther along lies farther to the left."""
    by_id = {piece.id: piece for piece in planned("sprocketed")[1]}
    for piece, end in (("SE-S4-R1", "water line, left end"), ("SE-S4-L1", "water line, right end")):
        names = [point.name for point in marking(by_id[piece].pattern).points]
        assert [name for name in names if name.startswith("water line,") and "at the" not in name] == [end]


def test_ends_of_lines_that_stand_on_an_edge_are_named_by_it():
    by_id = {piece.id: piece for piece in planned("chimney")[1]}
    for piece in ("TR-S1-R2", "TR-S1-L2"):
        names = {point.name for point in marking(by_id[piece].pattern).points}
        assert {"lap: end of the length below, at the roof edge", "water line, at the upper end"} <= names
