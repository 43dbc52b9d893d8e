"""How far a run is: what was told last counts, and nothing is told of what a run does not have."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath import stock
from cutpath.errors import Refused
from cutpath.reports.words.run_list import progress, progress_table, run_rows, run_table
from cutpath.stock import StockFile
from cutpath.stock.progress import _of_job
from cutpath.values.stock import Part, Stage
from tests.stock.striking import AT, cut_of, rolls, run_of, spoilt_of


@pytest.fixture
def file(tmp_path) -> StockFile:
    made = StockFile(tmp_path / "stock.sqlite3")
    made.change(lambda h: stock.add(h, rolls(), AT), create=True)
    parts = (Part("TR-A1-1", 1, "Terrace", ("code4-01",)), Part("TR-K1", 12, "Terrace", ("code4-01",)))
    run = replace(run_of("Rabc", cut_of(made.read().items[1], 2000.0)), parts=parts)
    made.change(lambda h: stock.reserve(h, run))
    made.change(lambda h: stock.settle(h, "Rabc", AT, made=True))
    return made


def tell(file: StockFile, stage: Stage, *things: str, count: int | None = None) -> None:
    before = file.done("Rabc")
    file.change(lambda h: stock.tell(h, "Ra", stage, AT, things=things, count=count, before=before))


def told(file: StockFile):
    return progress(file.read().runs["Rabc"], file.done("Rabc"))


def test_what_is_told_last_counts(file):
    tell(file, Stage.CUT)
    tell(file, Stage.FOLDED, "TR-A1-1")
    tell(file, Stage.FOLDED, "TR-K1", count=12)
    tell(file, Stage.FOLDED, "TR-K1", count=5)
    tell(file, Stage.PACKED, "TR-A1-1")
    tell(file, Stage.PACKED, "TR-A1-1", count=0)
    now = told(file)
    assert [roll["cut"] for roll in now["rolls"]] == [True]
    assert [(p["piece"], p["folded"], p["packed"], p["delivered"]) for p in now["pieces"]] == [
        ("TR-A1-1", 1, 0, 0),
        ("TR-K1", 5, 0, 0),
    ]
    assert len(file.done("Rabc")) == 6, "what was told before is kept"
    assert stock.check(file) == ()


def test_what_was_spoilt_is_not_folded_packed_or_delivered(file):
    tell(file, Stage.CUT)
    tell(file, Stage.FOLDED)
    (other,) = file.change(lambda h: stock.add(h, rolls(), AT)).put
    first = file.read().runs["Rabc"]
    again = run_of("Rnew", cut_of(other, 500.0), spoilt=(spoilt_of("Rabc", first.cuts[0], 1000.0, 2, "TR-K1"),))
    file.change(lambda h: stock.reserve(h, again))
    file.change(lambda h: stock.settle(h, "Rnew", AT, made=True))
    assert told(file)["pieces"][1]["folded"] == 12
    file.change(lambda h: stock.commit(h, "Rnew", AT))
    assert [(p["quantity"], p["spoilt"], p["folded"]) for p in told(file)["pieces"]] == [(1, 0, 1), (12, 2, 10)]
    with pytest.raises(Refused):
        tell(file, Stage.PACKED, "TR-K1", count=11)
    tell(file, Stage.PACKED)
    tell(file, Stage.DELIVERED)
    file.change(lambda h: stock.commit(h, "Rabc", AT))
    rows = run_rows([(run, file.done(run.id)) for run in file.read().runs.values() if run.id == "Rabc"], every=False)
    assert rows == [], "all that is good is delivered"
    assert stock.check(file) == ()


def test_a_committed_run_is_cut_and_one_that_is_delivered_leaves_the_list(file):
    file.change(lambda h: stock.commit(h, "Rabc", AT))
    assert told(file)["rolls"][0]["cut"]

    def rows(*, every: bool = False):
        return run_rows([(run, file.done(run.id)) for run in file.read().runs.values()], every=every)

    assert [(r["run"], r["pieces"], r["delivered"]) for r in rows()] == [("Rabc", 13, 0)]
    tell(file, Stage.PACKED)
    tell(file, Stage.DELIVERED)
    assert rows() == []
    assert [r["delivered"] for r in rows(every=True)] == [13]
    assert "Rabc" in run_table(rows(every=True))
    assert "A and 2 more" in run_table([row | {"jobs": ["A", "B", "C"]} for row in rows(every=True)])
    assert "TR-K1" in progress_table(told(file))


def test_a_job_stands_for_all_of_its_pieces(file):
    tell(file, Stage.CUT)
    for name in ("Terrace", "terr"):
        tell(file, Stage.PACKED, name, "TR-K1")
        assert [p["packed"] for p in told(file)["pieces"]] == [1, 12]
        tell(file, Stage.PACKED, count=0)
    run = file.read().runs["Rabc"]
    jobs = replace(run, parts=(*run.parts, Part("TT-A1-1", 1, "Terrace 2", ("code4-01",))))
    assert [_of_job(jobs, name, Stage.PACKED) for name in ("Terrace", "Terrace 2", "terr", "")] == [
        ["TR-A1-1", "TR-K1"],
        ["TT-A1-1"],
        [],
        [],
    ]


@pytest.mark.parametrize(
    ("stage", "things", "count", "code"),
    [
        (Stage.CUT, ("TR-K1",), None, "CP802"),
        (Stage.CUT, ("Terrace",), None, "CP802"),
        (Stage.FOLDED, ("code4-01",), None, "CP802"),
        (Stage.FOLDED, ("TR-K1", "TR-K2"), None, "CP802"),
        (Stage.FOLDED, ("TR-K1",), 13, "CP806"),
        (Stage.PACKED, (), 5, "CP806"),
        (Stage.PACKED, ("TR-K1",), -1, "CP806"),
    ],
)
def test_what_a_run_does_not_have_is_refused(file, stage, things, count, code):
    with pytest.raises(Refused) as refused:
        tell(file, stage, *things, count=count)
    assert {f.code for f in refused.value.findings} == {code}
    kind = "roll" if stage is Stage.CUT else "piece"
    assert code != "CP802" or all(f.found.startswith(f"it has no {kind} ") for f in refused.value.findings)
    assert code != "CP806" or all(f.remedy == "Correct the --count." for f in refused.value.findings)
    assert file.done("Rabc") == []


def test_no_more_is_delivered_than_is_packed(file):
    tell(file, Stage.CUT)
    tell(file, Stage.PACKED, "TR-K1", count=4)
    for things, count in (((), None), (("TR-K1",), 5), (("TR-A1-1",), None)):
        with pytest.raises(Refused, match="packed") as refused:
            tell(file, Stage.DELIVERED, *things, count=count)
        (fault,) = refused.value.findings
        assert (fault.code, f"packed {' '.join(things or ('TR-A1-1', 'TR-K1'))}." in fault.remedy) == ("CP803", True)
    tell(file, Stage.DELIVERED, "TR-K1", count=4)
    with pytest.raises(Refused, match="more of TR-K1 are delivered already"):
        tell(file, Stage.PACKED, "TR-K1", count=3)
    tell(file, Stage.DELIVERED, "TR-K1", count=0)
    tell(file, Stage.PACKED, "TR-K1", count=0)
    assert [(p["packed"], p["delivered"]) for p in told(file)["pieces"]] == [(0, 0), (0, 0)]


def test_nothing_is_told_of_a_run_that_was_released(file):
    file.change(lambda h: stock.release(h, "Rabc", AT))
    with pytest.raises(Refused, match="released"):
        tell(file, Stage.CUT)
