"""Work that is shared out gives what it gives alone, in the same order; a refusal comes through whole."""

from __future__ import annotations

import multiprocessing

import pytest

from cutpath import pipeline, workers
from cutpath.errors import Finding, Refused
from cutpath.nesting import one_after_another
from cutpath.values.formats import Format
from cutpath.values.settings import Settings

LARGE = 10_000
"""A weight of work that is shared out."""


def tenfold(common, thing):
    return common * thing


def refuse(common, thing):
    if thing == common:
        raise Refused([Finding("CP601", "roll 7", "a line twice", "each line once", "Look.")])
    return thing


def test_alone_it_is_done_here():
    assert workers.each("counted", lambda _, thing: thing + 1, None, (1, 2), LARGE) == [2, 3]


@pytest.fixture(scope="module")
def two():
    told = []
    with workers.shared_over(2, lambda *words: told.append(words)):
        yield told


def test_shared_work_comes_in_order(two):
    assert workers.each("counted", tenfold, 10, range(100), LARGE) == [10 * k for k in range(100)]
    assert two[0] == ("counted", 0, 100)
    assert two[-1] == ("counted", 100, 100)
    done = [count for _, count, _ in two]
    assert done == sorted(done)


def test_others_start_ahead_of_the_work_only_where_it_is_asked():
    def others(*ahead):
        before = set(multiprocessing.active_children())
        with workers.shared_over(2, lambda *_: None, *ahead):
            return len(set(multiprocessing.active_children()) - before)

    assert (others(), others("json")) == (0, 1)


def test_a_refusal_comes_from_another_process_with_its_findings(two):
    for where in (0, 99):  # begun by the other, and by this one
        with pytest.raises(Refused) as refused:
            workers.each("refused", refuse, where, range(100), LARGE)
        assert [f.where for f in refused.value.findings] == ["roll 7"]


def test_little_work_is_not_shared(two):
    assert workers.each("counted", lambda _, thing: thing + 1, None, (1, 2), 2) == [2, 3]  # which cannot be pickled


def test_two_processes_write_the_same_files(two, monkeypatch):
    asked = [{"name": "Row", "mark": "R", "pitch": 40, "covering": "plain tile 265", "detail": [
        {"kind": "step flashing", "length": 600, "coursing": {"gauge": 75, "first_joint": 110}},
        {"kind": "apron", "width": 600, "upstand": 100},
    ]}]  # fmt: skip
    shared = _made(asked, monkeypatch, 0)
    assert {"rolls drawn", "tickets"} <= {stage for stage, _, _ in two}
    with workers.shared_over(1, lambda *_: None):
        assert _made(asked, monkeypatch, LARGE) == shared


def _made(asked, monkeypatch, pays_from):
    monkeypatch.setattr(workers, "_PAYS_FROM", pays_from)
    planned = pipeline.plan(asked, settings=Settings(choose_lengths=False))
    batch = pipeline.batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    return pipeline.files_of(batch, templates=(), formats={Format.DXF, Format.CSV}).files
