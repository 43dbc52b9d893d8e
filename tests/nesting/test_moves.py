"""What moves leave behind: lanes laid as they would be from nothing, and as wide as their rows ask for."""

from __future__ import annotations

import random

import numpy as np
import pytest

from cutpath.nesting.cooling import Cooling, Quota, anneal_among, new_worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.lanes import lay_lane
from cutpath.nesting.model import choose_rolls, model_of, single
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stock import supply_of
from cutpath.values.nest import Blank
from tests.nesting.shapes import plate, problem, skyline, stepped

pytestmark = pytest.mark.nests

EARS = Blank("E", 2, ((0, 0), (600, 0), (600, 150), (500, 150), (500, 250), (100, 250), (100, 150), (0, 150)))


def test_lanes_are_laid_as_from_nothing_and_a_single_row_is_no_wider_than_its_pieces():
    assert {rows for seed in range(4) for rows in rows_of_lanes_left(seed)} == {1, 2}


def rows_of_lanes_left(seed: int) -> list[int]:
    """Return of how many rows each lane is that moves leave, once it is seen to be as it should."""
    rng = random.Random(seed)  # noqa: S311 - chance here makes cases, not secrets
    blanks = (EARS, stepped("S", 5, quantity=6), stepped("L", 6, left=True, quantity=4), plate("P", 300.0, 90.0, 4),
              *(skyline(rng, f"K{k}") for k in range(5)))  # fmt: skip
    task = problem(*blanks)
    ways, spaces = forms(task), rooms(task)
    model = model_of(task, ways, supply_of(task, spaces).stock, spaces)
    worker = new_worker(model)
    area = model.mean_area
    cooling = Cooling(
        0.2 * area, 0.01 * area, 2.0, joints=False, lanes=(3.0, 0.05), longest=0.3 * seed, beside=(0.5, 0.0)
    )
    alone = choose_rolls(model.stock, [single(model, p, int(b)) for p, b in enumerate(model.start)])
    nothing = np.zeros(len(model.stock.width), dtype=np.int64)
    found = anneal_among(model, worker, alone, nothing, cooling, Quota(400_000, 0.0, 1.0), seed, Guard())
    widths = np.array([form.width for form in ways])
    rows: list[int] = []
    for bundle in found:
        assert bundle.across <= model.stock.width[bundle.roll]
        for lane in bundle.lanes:
            n = len(lane.codes)
            room = [np.zeros(n, dtype=np.int64) for _ in range(3)]
            codes = lane.codes.astype(np.int64)
            long = lay_lane(worker.form_arrays, worker.memory, codes, n, 0, lane.height, 1 << 40, *room)
            assert (long, room[0].tolist()) == (lane.length, lane.xs.tolist())
            most = [widths[codes[codes & 1 == row] >> 1].max(initial=0) for row in (0, 1)]
            rows.append(int(np.count_nonzero(most)))
            assert lane.height >= max(most)
            assert rows[-1] == 2 or lane.height == max(most)
    return rows
