"""The search for short tours: the same tour, to the last bit of every sum, with plain lists as with arrays."""

from __future__ import annotations

import random

import numpy as np
import pytest

from cutpath.drawing import route


def network(rng: random.Random, stops: int) -> route.Network:
    """Stops with one to four variants, on a grid, so that many ways are of one length."""
    ins, outs, stop = [], [], []
    for k in range(stops):
        for _ in range(rng.randint(1, 4)):
            ins.append((10.0 * rng.randint(0, 6), 10.0 * rng.randint(0, 6)))
            outs.append(ins[-1] if rng.random() < 0.4 else (10.0 * rng.randint(0, 6), 7.3 * rng.randint(0, 6)))
            stop.append(3 * k)
    return route.network(
        np.asarray(ins), np.asarray(outs), np.asarray(stop),
        start=np.asarray((rng.uniform(0, 60), 0.0)),
        end=np.asarray((0.0, rng.uniform(0, 60))) if rng.random() < 0.5 else None,
        inside=np.asarray([rng.choice((0.0, 1.7)) for _ in stop]),
    )  # fmt: skip


@pytest.mark.parametrize("stops", [*range(1, 9), 25])
def test_lists_and_arrays_give_the_same_tour(stops, monkeypatch):
    rng, shorter = random.Random(stops), 0  # noqa: S311
    for _ in range(15):
        net = network(rng, stops)
        tour = route.nearest_neighbour(net)
        rng.shuffle(tour)
        monkeypatch.setattr(route, "_SHORT", stops)
        found = route.improved(net, tour)
        monkeypatch.setattr(route, "_SHORT", 0)
        assert route.improved(net, tour) == found
        assert net.cost_mm(found) <= net.cost_mm(tour) + 1e-9
        shorter += found != tour
        one, all_ = route._OneByOne(net.step.tolist(), net.leave.tolist()), route._AllAtOnce(net.step, net.leave)
        back = net.turned()[tour].tolist()
        assert [one.turning(tour, back, i) for i in range(stops)] == [all_.turning(tour, back, i) for i in range(stops)]
        if stops > 1:
            bodies = (tour[:1], back[:1])
            held = one.held(tour), all_.held(tour)
            assert all(one.moving(held[0], i, bodies) == all_.moving(held[1], i, bodies) for i in range(len(tour)))
    assert shorter > 5 or stops == 1
