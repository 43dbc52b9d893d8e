"""Runs that the nest divides: sound divisions only, and the one that fits where only one does."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.nesting import bound_mm2, judge, nest, one_after_another
from cutpath.values.nest import Budget, NestProblem, Roll, RunChoice, RunLength
from tests.nesting.shapes import LADDER, plate, stepped

pytestmark = pytest.mark.nests

LAP = 100.0


def strip(
    name: str, joints: list[float], width: float, least: float, longest: float, even: tuple[int, ...]
) -> RunChoice:
    """A level strip that may be divided at any joint; each length but the last runs on by the lap."""
    end = len(joints) - 1
    lengths = []
    for i in range(end):
        for j in range(i + 1, end + 1):
            long = joints[j] - joints[i] + (LAP if j < end else 0.0)
            if least <= long <= longest:
                lengths.append(RunLength(i, j, plate(f"{name}:{i}-{j}", long, width)))
    return RunChoice(name, tuple(lengths), even)


def steps(name: str, teeth: int, even: tuple[int, ...], least: int, most: int, *, left: bool = False) -> RunChoice:
    """A step flashing on regular courses, lapped by one step."""
    lengths = [
        RunLength(i, j, stepped(f"{name}:{i}-{j}", min(teeth, j + 1) - i, left=left))
        for i in range(teeth)
        for j in range(i + least, min(teeth, i + most) + 1)
    ]
    return RunChoice(name, tuple(lengths), even)


def test_the_only_division_that_fits_the_rolls_is_found():
    joints = [50.0 * i for i in range(61)]
    run = strip("R", joints, 150.0, 900.0, 2200.0, (0, 30, 60))
    task = NestProblem((), (Roll(150.0, 1150.0, 1), Roll(150.0, 1950.0, 1)), runs=(run,))
    found = nest(task, Budget(work=300_000), seed=1)
    assert found.divisions in {((0, 21, 60),), ((0, 37, 60),)}
    assert sorted(r.drawn_mm for r in found.rolls) == [1150.0, 1950.0]
    assert judge(task, found) == ()


def test_lengths_of_steps_are_matched_so_that_less_is_drawn():
    runs = tuple(steps(f"R{i}", 18, (0, 13, 18), 5, 13, left=i == 1) for i in range(2))
    task = NestProblem((), LADDER, runs=runs)
    chosen, even = nest(task, Budget(work=600_000), seed=3), nest(task.divided(), Budget(work=600_000), seed=3)
    assert judge(task, chosen) == ()
    assert chosen.pieces_mm2 == pytest.approx(even.pieces_mm2)
    assert chosen.drawn_mm2 < 0.95 * even.drawn_mm2  # halves face each other, where a long and a short length cannot


@pytest.mark.parametrize(("examples", "work"), [(5, 90_000), pytest.param(20, 450_000, marks=pytest.mark.slow)])
def test_random_runs_satisfy_the_judge_and_their_bound(examples, work):
    @settings(max_examples=examples)
    @given(seed=st.integers(0, 10**6))
    def sound(seed):
        rng = random.Random(seed)  # noqa: S311 - chance here makes cases, not secrets
        runs = [
            steps(f"S{i}", 18, (0, 6, 12, 18), 4, 8, left=bool(rng.getrandbits(1))) for i in range(rng.randint(1, 4))
        ]
        runs.append(
            strip(
                "L",
                [0.0, *sorted(rng.uniform(400.0, 1600.0) for _ in range(9)), 2000.0],
                180.0,
                450.0,
                1700.0,
                (0, 5, 10),
            )
        )
        known = {(s.first, s.last) for s in runs[-1].lengths}
        if not {(0, 5), (5, 10)} <= known:
            runs.pop()
        copies = rng.randint(0, 3)
        blanks = (plate("C", 500.0, 90.0, copies),) if copies else ()
        task = NestProblem(blanks, LADDER, gap_mm=rng.choice((0.0, 3.0)), runs=tuple(runs))
        found = nest(task, Budget(work=work), seed=seed)
        assert judge(task, found) == ()
        assert found.bound_mm2 <= found.drawn_mm2
        assert [len(joints) for joints in found.divisions] == [len(run.even) for run in runs]
        assert found.drawn_mm2 <= one_after_another(task).drawn_mm2

    sound()


def test_the_bound_holds_for_the_division_with_least_lead():
    """A wide run end that may be cut as one or two lengths' worth of overlap: the bound takes the smaller sum."""
    short = RunLength(0, 1, plate("R:0-1", 500.0, 150.0)), RunLength(1, 3, plate("R:1-3", 900.0, 150.0))
    long = RunLength(0, 2, plate("R:0-2", 800.0, 150.0)), RunLength(2, 3, plate("R:2-3", 800.0, 150.0))
    task = NestProblem((), (Roll(150.0, 6000.0),), runs=(RunChoice("R", (*short, *long), (0, 2, 3)),))
    assert bound_mm2(task) == pytest.approx(1400.0 * 150.0)
    assert nest(task, Budget(work=100_000), seed=0).optimal


def test_the_judge_sees_wrong_divisions():
    task = NestProblem((), LADDER, runs=(steps("S", 18, (0, 6, 12, 18), 4, 8),))
    found = nest(task, Budget(work=100_000), seed=1)
    assert judge(task, found) == ()
    for wrong in ((0, 2, 12, 18), (0, 9, 18), (0, 6, 12), (1, 6, 12, 18)):
        assert judge(task, replace(found, divisions=(wrong,)))
    assert judge(task, replace(found, divisions=()))
    _, first, second, end = found.divisions[0]
    moved = (0, first - 1 if first == 8 or second - first == 4 else first + 1, second, end)  # lengths that may be cut
    assert any("is on no roll" in f.found for f in judge(task, replace(found, divisions=(moved,))))


def test_runs_stay_even_where_the_seconds_do_not_suffice_to_look_at_their_lengths(monkeypatch):
    runs = tuple(steps(f"R{i}", 18, (0, 13, 18), 5, 13, left=i == 1) for i in range(2))
    task = NestProblem((), LADDER, runs=runs)
    monkeypatch.setattr("cutpath.nesting.run._READY_FORM_S", 1.0)
    found = nest(task, Budget(seconds=1.0), seed=3)
    assert found.divisions == tuple(run.even for run in runs)
    assert judge(task, found) == ()
    assert found.bound_mm2 <= bound_mm2(task)  # other divisions may draw less
