"""Points of a ticket: every one has a name of its own, however many there are."""

from __future__ import annotations

import cutpath
from cutpath.families.registry import develop
from cutpath.reports.account.marking import marking


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
    assert keys[26] == "AA"
    assert keys[26 + 26 * 26] == "AAA"
