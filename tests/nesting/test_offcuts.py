"""Free blocks on the grid of what is taken: the largest is found, and rows that are alike are looked at once."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import strategies as st

from cutpath.nesting import offcuts
from tests.properties.surveys import for_all


@st.composite
def grids(draw):
    rows, columns = draw(st.integers(1, 7)), draw(st.integers(1, 7))
    cells = draw(st.lists(st.booleans(), min_size=rows * columns, max_size=rows * columns))
    repeats = draw(st.lists(st.integers(1, 3), min_size=rows, max_size=rows))
    return np.repeat(np.array(cells).reshape(rows, columns), repeats, axis=0)


def blocks(taken, long, short):
    """The areas of all free blocks that hold so many cells either way."""
    rows, columns = (list(itertools.combinations(range(n + 1), 2)) for n in taken.shape)
    for (first, last), (start, stop) in itertools.product(rows, columns):
        sides = sorted((last - first, stop - start))
        if not taken[first:last, start:stop].any() and sides[0] >= short and sides[1] >= long:
            yield (last - first) * (stop - start)


@for_all(grids(), st.integers(1, 6), st.integers(1, 6))
def test_the_largest_free_block_is_found(taken, one, other):
    long, short = max(one, other), min(one, other)
    found = offcuts._largest(taken, long, short)
    most = max(blocks(taken, long, short), default=0)
    if found is None:
        assert most == 0
    else:
        first, last, start, stop = found
        assert not taken[first:last, start:stop].any()
        assert (last - first) * (stop - start) == most


def test_a_roll_as_wide_as_a_field_takes_no_longer_than_its_pieces_ask(monkeypatch):
    """In 10,000 rows of cells each that is free was tried with each below it: a spoilt width hung for hours."""
    taken = np.zeros((10_000, 60), dtype=np.bool_)
    taken[100:140, :20] = True
    asked = []
    longest_run = offcuts._longest_run

    def counted(held):
        asked.append(held)
        assert len(asked) < 20
        return longest_run(held)

    monkeypatch.setattr(offcuts, "_longest_run", counted)
    assert offcuts._largest(taken, 30, 15) == (140, 10_000, 0, 60)
