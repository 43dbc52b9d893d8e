"""What holds when a run is cut into lengths, whatever was measured and whatever the limit."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from shapely import union_all

from cutpath.families.runs import FreeRun
from cutpath.families.step_flashing.pattern import whole
from cutpath.families.step_flashing.run import StepRun
from cutpath.pieces import length_ids, run_choices, split
from cutpath.pieces.division import divide_at_stations, divide_evenly
from cutpath.values.leadwork import CornerKind, StepFlashing
from cutpath.values.pattern import MarkKind
from tests.properties.measure import AREA_MM2, NEAR_MM, across_slope, along_slope, shape_on_run, to_run, to_wall
from tests.properties.surveys import (
    aprons,
    cover_flashings,
    figures,
    for_all,
    job_of,
    pieces_of,
    run_of,
    step_flashings,
)

BELOW, ABOVE = "end of the length", "start of the length"
"""Below and above on a slope; on the left and on the right of a level run."""


def lengths_of(detail, family, pick=None):
    """Pieces of the first hand in fitting order, without corner pieces and gussets.

    Divided evenly, or by ``pick`` at joints that the nest may choose.
    """
    pieces = pieces_of(detail) if pick is None else chosen_pieces(detail, pick)
    return [p.pattern for p in pieces if p.hand is pieces[0].hand and p.pattern.family == family]


def chosen_pieces(detail, pick):
    """The pieces with every run divided by chance, the way a nest may divide it."""
    one = replace(detail, head=replace(detail.head, quantity=1))
    job = job_of(one)
    choices = [choice for _, choice in run_choices([job])]
    assume(choices)
    pieces, _ = split(job, one, run_of(one), {choice.id: division_of(choice, pick) for choice in choices})
    return pieces


def division_of(choice, pick):
    """A sound division by chance: joints from the last end down, each with a way on to the first."""
    reached = {(0, 0)}  # joints, and with how many lengths
    for count in range(1, len(choice.even)):
        reached |= {(s.last, count) for s in choice.lengths if (s.first, count - 1) in reached}
    joints = [choice.even[-1]]
    for count in range(len(choice.even) - 2, -1, -1):
        ways = sorted(s.first for s in choice.lengths if s.last == joints[0] and (s.first, count) in reached)
        joints.insert(0, ways[pick % len(ways)])
    return tuple(joints)


def whole_of(detail):
    run = run_of(detail)
    if isinstance(run, StepRun):
        return whole(run)
    assert isinstance(run, FreeRun)
    return run.cut(run.start_mm, run.end_mm, None, None)


def end_at(shape, level, side):
    """Where the shape ends at a height of the run frame: its least (-1) or greatest (+1) place along the run."""
    found = []
    for (x0, y0), (x1, y1) in pairwise(shape.exterior.coords):
        if min(y0, y1) <= level <= max(y0, y1):
            found += [x0, x1] if y0 == y1 else [x0 + (x1 - x0) * (level - y0) / (y1 - y0)]
    return max(x * side for x in found) * side


def levels_of(detail):
    """Heights at which the ends of lengths are compared: just inside the plain part of the sheet."""
    if isinstance(detail, StepFlashing):
        return 1e-9, detail.water_line_mm - 1e-9
    up = getattr(detail, "upstand_mm", None)
    return (0.0, detail.cover_mm) if up is None else (-detail.cover_mm, up)


FAMILIES = st.one_of(
    step_flashings().map(lambda d: (d, "step flashing")),
    cover_flashings().map(lambda d: (d, "cover flashing")),
    aprons().map(lambda d: (d, "apron")),
)
PICKS = st.one_of(st.none(), st.integers(0, 10**6))


@for_all(FAMILIES, PICKS)
def test_lengths_put_together_are_the_run(case, pick):
    detail, family = case
    shapes = [shape_on_run(p) for p in lengths_of(detail, family, pick)]
    run = shape_on_run(whole_of(detail))
    assert union_all(shapes).symmetric_difference(run).area < AREA_MM2
    laps = sum(a.intersection(b).area for a, b in pairwise(shapes))
    thrice = any(a.intersection(b).area > AREA_MM2 for a, b in zip(shapes, shapes[2:], strict=False))
    if not thrice:
        assert sum(s.area for s in shapes) - laps == pytest.approx(run.area, abs=AREA_MM2)


@for_all(FAMILIES, PICKS)
def test_neighbours_lap_by_what_is_asked_at_every_height(case, pick):
    detail, family = case
    for low, high in pairwise(lengths_of(detail, family, pick)):
        for level in levels_of(detail):
            lap = end_at(shape_on_run(low), level, +1) - end_at(shape_on_run(high), level, -1)
            assert lap >= detail.head.lap_mm - NEAR_MM


@for_all(FAMILIES, PICKS)
def test_lap_marks_show_where_the_neighbour_ends(case, pick):
    detail, family = case
    patterns = lengths_of(detail, family, pick)
    for low, high in pairwise(patterns):
        for mine, name, other, side in ((low, ABOVE, high, -1), (high, BELOW, low, +1)):
            mark = next(m for m in mine.marks if name in m.name)
            assert mark.kind is MarkKind.LAP
            line = sorted(to_run(mine, mark.points), key=lambda point: point[1])
            for (x, _), level in zip(line, levels_of(detail), strict=True):
                assert x == pytest.approx(end_at(shape_on_run(other), level, side), abs=NEAR_MM)
    assert detail_corner(detail) is CornerKind.SEPARATE or not [m for m in patterns[0].marks if BELOW in m.name]
    assert not [m for m in patterns[-1].marks if ABOVE in m.name]


def detail_corner(detail):
    return detail.corner.kind if isinstance(detail, StepFlashing) else None


@for_all(FAMILIES, PICKS)
def test_no_length_is_longer_than_allowed(case, pick):
    detail, family = case
    for pattern in lengths_of(detail, family, pick):
        assert pattern.length_mm <= detail.head.longest_mm + NEAR_MM
        shape = shape_on_run(pattern)
        for level in levels_of(detail):
            if detail_corner(detail) is not CornerKind.INTEGRAL:  # there the return leg reaches below the slope
                assert end_at(shape, level, +1) - end_at(shape, level, -1) <= pattern.length_mm + NEAR_MM


def longest_chord(shape):
    """The most that a shape reaches along the run at one height; its sides are straight between its corners."""
    levels = {y for _, y in shape.exterior.coords}
    return max(end_at(shape, level, +1) - end_at(shape, level, -1) for level in levels)


@for_all(step_flashings(corners=(CornerKind.NONE,)), figures(0, 450), st.booleans(), PICKS)
def test_a_wider_strip_than_needed_changes_no_piece(survey, spare, cover, pick):
    """The lead ends at the highest turn-in; what a wider roll has beyond it is waste, not length."""
    survey = replace(survey, cover_mm=200.0 * cover)
    run = run_of(survey)
    narrow = replace(survey, strip_width_mm=run.needed_width_mm)
    wide = replace(survey, strip_width_mm=run.needed_width_mm + spare)
    made = [[p.pattern for p in pieces_of(one)] for one in (survey, narrow, wide)]
    assert made[0] == made[1] == made[2]
    assert run_choices([job_of(narrow)]) == run_choices([job_of(wide)]) == run_choices([job_of(survey)])
    family = "step and cover flashing" if cover else "step flashing"
    for pattern in lengths_of(wide, family, pick):
        assert pattern.length_mm == pytest.approx(longest_chord(shape_on_run(pattern)), abs=NEAR_MM)


@for_all(FAMILIES, st.integers(0, 10**6))
def test_lengths_of_a_choice_are_the_outlines_that_were_nested(case, pick):
    detail, _ = case
    one = replace(detail, head=replace(detail.head, quantity=1))
    pieces = {p.id: p for p in chosen_pieces(detail, pick)}
    for _, choice in run_choices([job_of(one)]):
        division = division_of(choice, pick)
        names = length_ids(choice, tuple(pieces.values()))
        assert [pieces[n].pattern.outline for n in names] == [b.outline for b in choice.blanks(division)]
        assert len(division) == len(choice.even)
        even = length_ids(choice, pieces_of(one))
        assert names == even


@for_all(step_flashings(corners=(CornerKind.SEPARATE,)))
def test_a_corner_piece_laps_under_the_first_length(survey):
    pieces = pieces_of(survey)
    mine = [p for p in pieces if p.hand is pieces[0].hand]
    corner, first = mine[0].pattern, mine[1].pattern
    assert (corner.family, first.family) == ("corner piece", "step flashing")
    for level in levels_of(survey):
        lap = end_at(shape_on_run(corner), level, +1) - end_at(shape_on_run(first), level, -1)
        assert lap >= survey.head.lap_mm - NEAR_MM
    marked = [m for m in first.marks if BELOW in m.name]
    if marked:
        x = min(to_run(first, marked[0].points), key=lambda point: point[1])[0]
        assert x == pytest.approx(end_at(shape_on_run(corner), 1e-9, +1), abs=NEAR_MM)


@for_all(step_flashings(corners=(CornerKind.INTEGRAL,)))
def test_an_integral_return_is_counted_in_the_length(survey):
    first = lengths_of(survey, "step flashing")[0]
    wall = to_wall(first, first.outline, survey.pitch_deg)
    on_roof = [point for point in wall if abs(across_slope(point, survey.pitch_deg)) < NEAR_MM]
    reach = max(along_slope(point, survey.pitch_deg) for point in on_roof)
    assert -min(x for x, _ in wall) == pytest.approx(survey.corner.length_mm, abs=NEAR_MM)
    assert first.length_mm >= reach + survey.corner.length_mm - NEAR_MM


@st.composite
def stations(draw):
    """Stations of a run of up to eight steps, and a limit and lap that may or may not be kept."""
    gaps = draw(st.lists(st.integers(50, 400), min_size=1, max_size=8))
    at = [0]
    for size in gaps:
        at.append(at[-1] + size)
    return at, draw(st.integers(0, 200)), draw(st.integers(100, 1500)), draw(st.integers(20, 300))


def fewest(at, extra, longest, lap):
    """Fewest lengths by trying every chain; None when there is none."""
    last = len(at) - 1

    def length(i, j):
        return at[j] - at[i] + (extra if i == 0 else 0)

    def from_piece(i, j, used):
        if j == last:
            return used
        best = None
        for first in range(i + 1, j):
            if at[j] - at[first] < lap:
                continue
            for end in range(j + 1, last + 1):
                if length(first, end) <= longest:
                    found = from_piece(first, end, used + 1)
                    best = found if best is None else min(best, found or best)
        return best

    counts = [from_piece(0, j, 1) for j in range(1, last + 1) if length(0, j) <= longest]
    return min((n for n in counts if n is not None), default=None)


@for_all(stations())
def test_steps_are_divided_into_the_fewest_lengths(case):
    at, extra, longest, lap = case

    def along(i, j):
        return float(at[j] - at[i])

    def length(i, j):
        return along(i, j) + (extra if i == 0 else 0)

    cuts = divide_at_stations(len(at) - 1, length, along, float(longest), float(lap))
    best = fewest(at, extra, longest, lap)
    assert (cuts is None) == (best is None)
    if cuts is not None:
        assert len(cuts) == best
        assert cuts[0][0] == 0
        assert cuts[-1][1] == len(at) - 1
        assert all(length(*piece) <= longest for piece in cuts)
        assert all(along(high[0], low[1]) >= lap and high[1] > low[1] for low, high in pairwise(cuts))


@for_all(st.integers(2, 40000).map(lambda halves: halves / 2), st.integers(200, 3000), st.integers(50, 199))
def test_a_free_run_is_divided_into_the_fewest_lengths_of_whole_millimetres(total, longest, lap):
    cuts = divide_evenly(-150.0, total - 150.0, float(longest), float(lap))
    assert cuts is not None
    *alike, last = (end - start for start, end in cuts)
    assert (cuts[0][0], cuts[-1][1]) == (-150.0, total - 150.0)
    assert all(size == alike[0] == round(size) <= longest for size in alike)
    assert all(low[1] - high[0] == lap for low, high in pairwise(cuts))
    # The last takes what is left: not a millimetre to each of the others less than they.
    assert not alike or max(lap, alike[0] - len(cuts)) < last <= alike[0]
    # One length fewer, each as long as allowed, would not reach.
    fewer = len(cuts) - 1
    assert fewer * longest - (fewer - 1) * lap < total if fewer else total > 0


def test_a_lap_as_long_as_the_longest_length_divides_nothing():
    assert divide_evenly(0.0, 3000.0, 150.0, 150.0) is None
    assert divide_evenly(0.0, 150.0, 150.0, 150.0) == [(0.0, 150.0)]
