"""Bundles on rolls: as few rolls as can be, and what is left hangs together."""

from itertools import product

from hypothesis import strategies as st

from cutpath.nesting.model import Bundle, lays_of, model_of, single
from cutpath.nesting.rolls import fewest_bins
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stock import supply_of
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import Blank, NestProblem, Roll
from tests.properties.surveys import for_all

lengths = st.lists(st.integers(1, 60), min_size=1, max_size=6).map(lambda found: sorted(found, reverse=True))


@for_all(lengths, gate=25)
def test_no_way_to_share_lengths_out_takes_fewer_bins(found):
    bins = fewest_bins(found, 60)
    assert sorted(i for held in bins for i in held) == list(range(len(found)))
    assert all(sum(found[i] for i in held) <= 60 for held in bins)
    least = next(
        count
        for count in range(1, len(found) + 1)
        if any(
            all(sum(x for x, own in zip(found, homes, strict=True) if own == b) <= 60 for b in range(count))
            for homes in product(range(count), repeat=len(found))
        )
    )
    assert len(bins) == least


def test_first_fit_is_bettered_where_it_wastes_a_bin():
    assert len(fewest_bins([6, 5, 5, 3, 3, 2], 12)) == 2  # first fit: 6 + 5, 5 + 3 + 3, 2


def test_many_lengths_are_shared_out_without_a_search():
    found = [7] * 150 + [5] * 150
    bins = fewest_bins(found, 12)
    assert len(bins) == 150


def test_the_longest_lane_lies_first_so_that_the_ends_of_the_others_hang_together():
    strips = tuple(
        Blank(f"{long}", 1, ((0, 0), (long, 0), (long, wide), (0, wide)))
        for long, wide in ((1000.0, 200.0), (2000.0, 150.0), (1200.0, 180.0))
    )
    problem = NestProblem(strips, (Roll(600.0, 3000.0),))
    ways, spaces = forms(problem), rooms(problem)
    model = model_of(problem, ways, supply_of(problem, spaces).stock, spaces)
    lanes = tuple(single(model, piece, blank).lanes[0] for piece, blank in enumerate(model.start.tolist()))
    lays = lays_of(model, Bundle(lanes))
    assert [(ways[lay.form].blank, lay.y / TICKS_PER_MM) for lay in lays] == [(1, 0.0), (2, 150.0), (0, 330.0)]
