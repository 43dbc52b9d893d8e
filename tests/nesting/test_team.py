"""Several nests by teams of workers where there is work for more than one."""

from __future__ import annotations

import pytest

from cutpath.nesting import nest, search
from cutpath.nesting import team as team_module
from cutpath.nesting.team import Team, dealt
from cutpath.values.nest import Budget, Roll
from tests.nesting.shapes import plate, problem

pytestmark = pytest.mark.nests

PIECES, WORK = 84, 50_000


@pytest.fixture
def made(monkeypatch):
    """Return the teams that are at work from now on, in order of their seeds."""
    teams = []
    run = Team.run
    monkeypatch.setattr(search, "ENOUGH_WORK", 300)
    monkeypatch.setattr(team_module, "ENOUGH_WORK", 300)
    monkeypatch.setattr(team_module, "_LEAST_SHARE", 24)

    def noted(team, alone, whole):
        teams.append((team.seed, len(team.crew), whole.work))
        return run(team, alone, whole)

    monkeypatch.setattr(Team, "run", noted)
    return lambda: sorted(teams)


def nested(workers, work=WORK):
    plates = (plate(f"P{i}", 150.0 + 37.0 * i, 60.0 + 11.0 * (i % 5), PIECES // 7) for i in range(7))
    return nest(problem(*plates, rolls=(Roll(240.0, 3000.0), Roll(300.0, 3000.0))), Budget(work=work), workers=workers)


@pytest.mark.parametrize(
    ("workers", "work", "crews"),
    [(1, 10_000, [1]), (3, 12_000, [3]), (3, 18_000, [2, 1]), (2, 28_000, [1, 1]), (1, 51_000, [1, 1])],
)
def test_teams_are_as_many_as_there_is_work_for(made, workers, work, crews):
    nested(workers, work)
    assert [crew for _, crew, _ in made()] == crews
    assert len({seed for seed, _, _ in made()}) == len(crews)
    each = work * workers / sum(crews)
    assert [given for _, _, given in made()] == [pytest.approx(each, abs=1)] * len(crews)


@pytest.mark.parametrize(("workers", "pieces"), [(1, 84), (2, 84), (2, 193), (4, 193)])
def test_no_more_pieces_are_annealed_together_at_first_than_soon_find_partners(made, monkeypatch, workers, pieces):
    """Two workers used to have chunks of 97 of 193 pieces, which cost 0.004 of yield."""
    chunks = []
    anneal = Team._in_parallel

    def noted(team, threads, parts, cooling, quota, turn):
        chunks.append([len(part) for part in parts])
        return anneal(team, threads, parts, cooling, quota, turn)

    monkeypatch.setattr(Team, "_in_parallel", noted)
    monkeypatch.setattr(team_module, "_LEAST_SHARE", 1)
    nest(problem(plate("P", 150.0, 60.0, pieces), plate("Q", 240.0, 60.0, 1)), Budget(work=1_000), workers=workers)
    for sizes in chunks:
        assert len(sizes) >= workers
        assert 33 < min(sizes) <= max(sizes) <= 66
    assert len(chunks) == 2 * len(made())


def test_several_nests_are_the_same_every_time(made):
    assert nested(3) == nested(3)
    assert len(made()) == 2 * 3


@pytest.mark.parametrize(("work", "begin"), [(40_000, 1), (30_000, 0)])
def test_teams_begin_few_pieces_where_a_share_of_the_work_is_enough_for_a_nest(made, work, begin):
    plates = (plate(f"P{i}", 150.0 + 37.0 * i, 60.0 + 11.0 * (i % 5), 7) for i in range(6))
    nest(problem(*plates, rolls=(Roll(240.0, 3000.0), Roll(300.0, 3000.0))), Budget(work=work), workers=1)
    assert len(made()) == begin


def test_the_best_of_them_is_kept(made, monkeypatch):
    costs = []
    keep = search.Search._keep

    def noted(own, bundles):
        costs.append(search.cost_of(own.model.stock, bundles))
        keep(own, bundles)
        assert own.best_cost == min(costs)

    monkeypatch.setattr(search.Search, "_keep", noted)
    nested(2)
    assert len(made()) == 2 * 1
    assert len(costs) >= 2 + len(made())


@pytest.mark.parametrize(
    ("workers", "pieces", "millions", "sizes"),
    [(2, 646, 240, [2]), (2, 193, 240, [1, 1]), (2, 193, 8, [2]), (8, 193, 60, [2] * 4), (8, 646, 60, [8]),
     (8, 20_000, 60, [8]), (4, 400, 450, [1] * 4), (1, 1, 5, [1]), (3, 0, 5, [1] * 3), (16, 193, 2, [3, 3, 3, 3, 2, 2]),
     (16, 646, 1, [8, 8]), (4, 20, 0, [1] * 4)],
)  # fmt: skip
def test_there_are_as_many_teams_as_work_for_nests_and_each_worker_has_pieces_enough(workers, pieces, millions, sizes):
    teams = dealt(range(workers), pieces, millions * 1_000_000)
    assert [len(team) for team in teams] == sizes
    assert sorted(worker for team in teams for worker in team) == list(range(workers))
