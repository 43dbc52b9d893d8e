"""From a problem to the arrays of the search, and from a state of the search back to lays.

Pieces are the copies of blanks, numbered blank by blank, then the lengths of each run from its first joint up. Which
blank a piece of a run is at present can be read from its code. Likeness of groups of pieces is judged by their
slanting sides (which tell pitch and hand of a step flashing), the size of their steps, and their width.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

import numpy as np

from cutpath import sure
from cutpath.nesting.assemble import Lay
from cutpath.nesting.fit import fits
from cutpath.nesting.shapes import Form, Room
from cutpath.nesting.shifts import FormArrays, form_arrays
from cutpath.nesting.state import (
    BUNDLES,
    COUNTED,
    LANES,
    NONE,
    RATE,
    Kinds,
    Scratch,
    State,
    Stock,
    marginal,
    pick_class,
    settle,
    worth_of_all,
)
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.tolerances import POINT_MM
from cutpath.values.nest import Blank, NestProblem

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FLAT_SHARE = 0.75  # a side that lies on the lane's edge for this share of the best such side is worth trying
_ROUND_SHARE = 0.2  # under this share of the box no side is flat enough to prefer any turn
ROOM = 2  # lanes, and bundles, that each worker has free when each of his pieces is by itself
_MOST_NEAR = 24
_UPRIGHT = 0.05  # under this share no hand is seen in the sides
_MOST_LANES = 16  # lanes across one bundle


@dataclass(frozen=True, slots=True)
class Model:
    """A problem as the search sees it.

    Attributes
    ----------
    kinds : Kinds
        With ``near`` still empty.
    likeness : array, shape (groups, features)
    area : array
        Of each blank, in mm2.
    start : array
        Blank of each piece while runs are divided evenly.
    """

    forms: tuple[Form, ...]
    form_arrays: FormArrays
    stock: Stock
    kinds: Kinds
    likeness: NDArray[np.float64]
    area: NDArray[np.float64]
    start: NDArray[np.int64]
    capacity: int

    @property
    def mean_area(self) -> float:
        """Mean area of a piece in mm2."""
        return float(self.area[self.start].mean())


def model_of(problem: NestProblem, forms: Sequence[Form], stock: Stock, rooms: Sequence[Room]) -> Model:
    """Gather what the search needs to know of a problem, once."""
    blanks = problem.shapes
    to_cut = np.array(problem.to_cut(), dtype=np.int64)
    usable = _leaning_alike(problem, forms, [any(fits(form, room) for room in rooms) for form in forms])
    codes, n_codes = _codes(forms, usable, len(blanks))
    start = np.repeat(to_cut[:, 0], to_cut[:, 1])
    group, follows = _groups(problem)
    first = np.searchsorted(group, np.arange(group[-1] + 2)).astype(np.int64)
    none = np.empty((len(first) - 1, 0), dtype=np.int64)
    form_blank = np.array([form.blank for form in forms], dtype=np.int64)
    kinds = Kinds(codes, n_codes, form_blank, none, first, group, follows, *_joints(problem, n_codes))
    features = np.array([_features(blanks[b]) for b in start[first[:-1]].tolist()])
    shortest = min(form.length for form, use in zip(forms, usable, strict=True) if use)
    longest = max(room.length for room in rooms)
    capacity = int(min(2 * (longest // shortest + 2), max(len(start), 4)))
    area = np.array([form.area_mm2 for form in forms])[np.searchsorted(form_blank, np.arange(len(blanks)))]
    return Model(tuple(forms), form_arrays(forms), stock, kinds, features, area, start, capacity)


def _groups(problem: NestProblem) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the group of each piece (copies of a blank, or lengths of a run) and the next length of its run."""
    sizes = [blank.quantity for blank in problem.blanks] + [len(run.even) - 1 for run in problem.runs]
    filled = [size for size in sizes if size]
    group = np.repeat(np.arange(len(filled), dtype=np.int64), filled)
    follows = np.full(len(group), NONE, dtype=np.int64)
    runs = np.arange(sum(sizes[: len(problem.blanks)]), len(group) - 1)
    joined = runs[group[runs] == group[runs + 1]]
    follows[joined] = joined + 1
    return group, follows


def _joints(problem: NestProblem, n_codes: NDArray[np.int64]) -> tuple[NDArray[np.int64], ...]:
    """Return the joints of each blank, where its run's part of the table begins, joints of a run, and the table."""
    count = len(problem.shapes)
    ends = np.full((count, 2), NONE, dtype=np.int64)
    at, stride = np.full(count, NONE, dtype=np.int64), np.zeros(count, dtype=np.int64)
    tables: list[NDArray[np.int64]] = []
    blank, size = len(problem.blanks), 0
    for run in problem.runs:
        joints = run.even[-1] + 1
        table = np.full((joints, joints), NONE, dtype=np.int64)
        stop = blank + len(run.lengths)
        ends[blank:stop] = [(length.first, length.last) for length in run.lengths]
        at[blank:stop], stride[blank:stop] = size, joints
        usable = np.flatnonzero(n_codes[blank:stop].sum(axis=1)) + blank
        table[ends[usable, 0], ends[usable, 1]] = usable
        tables.append(table.ravel())
        blank, size = stop, size + joints * joints
    return ends, at, stride, np.concatenate([np.empty(0, dtype=np.int64), *tables])


def _codes(forms: Sequence[Form], usable: Sequence[bool], count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    chosen: list[tuple[list[int], list[int]]] = [([], []) for _ in range(count)]
    contact: dict[int, float] = {}
    best: dict[tuple[int, int], float] = {}
    for f, form in enumerate(forms):
        t = form.trapezoids
        low, high = t[:, 0].min(), t[:, 1].max()
        contact[2 * f] = float((t[:, 4] - t[:, 2])[t[:, 0] <= low].sum())
        contact[2 * f + 1] = float((t[:, 5] - t[:, 3])[t[:, 1] >= high].sum())
        key = form.blank, form.length // (10 * TICKS_PER_MM)
        best[key] = max(best.get(key, 0.0), contact[2 * f], contact[2 * f + 1])
    for f, form in enumerate(forms):
        if not usable[f]:
            continue
        flat = best[form.blank, form.length // (10 * TICKS_PER_MM)]
        if flat * TICKS_PER_MM < _ROUND_SHARE * form.length:
            flat = 0.0
        for row in (0, 1):
            if contact[2 * f + row] >= _FLAT_SHARE * flat:
                chosen[form.blank][row].append(2 * f + row)
    n_codes = np.array([[len(low), len(high)] for low, high in chosen], dtype=np.int64)
    codes = np.full((count, 2, max(1, int(n_codes.max()))), NONE, dtype=np.int64)
    for b, rows in enumerate(chosen):
        for row in (0, 1):
            rows[row].sort(key=lambda code: -contact[code])
            codes[b, row, : len(rows[row])] = rows[row]
    return codes, n_codes


def _features(blank: Blank) -> tuple[float, ...]:
    """Return numbers that lie close together for blanks that go well together.

    Hands count where a blank may not be flipped.
    """
    cos, sin, tooth = _slant(blank)
    width = float(np.ptp([y for _, y in blank.outline]))
    return 6 * cos, 6 * (abs(sin) if blank.may_flip else sin), tooth / 40.0, width / 200.0


def _leaning_alike(problem: NestProblem, forms: Sequence[Form], usable: Sequence[bool]) -> list[bool]:
    """Tell which forms to use: of blanks that may be flipped, and lean, only those that lean as most of the list does.

    Teeth face teeth of the same lean, so the other half would only be in the search's way.
    """
    blanks = problem.shapes
    if not any(blank.may_flip for blank in blanks):
        return list(usable)
    leans = [_lean(blank) for blank in blanks]
    most = sum(leans[index] * quantity for index, quantity in problem.to_cut())
    out = list(usable)
    for f, form in enumerate(forms):
        lean = -leans[form.blank] if form.flipped else leans[form.blank]
        out[f] = usable[f] and not (blanks[form.blank].may_flip and lean and (lean > 0) is not (most >= 0))
    return out


def _lean(blank: Blank) -> int:
    """Tell which way slanting sides lean: 1 or -1 for the hands of a step flashing, 0 where neither prevails."""
    sin = _slant(blank)[1]
    return 0 if abs(sin) < _UPRIGHT else int(np.sign(sin))


def _slant(blank: Blank) -> tuple[float, float, float]:
    """Return cosine and sine of the fourfold angle of slanting sides, weighted by length, and their mean length in mm.

    That angle turns by the pitch one way for right hands and the other way for left hands, whatever the turn of the
    blank, and is the same for folds and plumb risers.
    """
    points = np.array(blank.outline)
    sides = np.roll(points, -1, axis=0) - points
    lengths = np.sqrt(sides[:, 0] * sides[:, 0] + sides[:, 1] * sides[:, 1])
    c, s = (sides / np.maximum(lengths, POINT_MM)[:, None]).T
    c2, s2 = c * c - s * s, 2 * c * s  # of twice the angle
    slant = np.abs(s2) > 0.05
    total = float(lengths.sum())
    cos = float((lengths * (c2 * c2 - s2 * s2))[slant].sum()) / total
    sin = float((lengths * 2 * c2 * s2)[slant].sum()) / total
    return cos, sin, float(lengths[slant].mean()) if slant.sum() >= 4 else 0.0


def chunk_order(model: Model) -> NDArray[np.int64]:
    """Order groups so that like ones are together: plain shapes by width, then stepped ones by hand and pitch."""
    f = model.likeness
    slanting = f[:, 0] * f[:, 0] + f[:, 1] * f[:, 1] > 0.6 * 0.6
    angle = np.array([round(sure.atan2(y, x), 2) for x, y in f[:, :2].tolist()])
    return np.lexsort((f[:, 3], f[:, 2], np.where(slanting, angle, f[:, 3]), slanting)).astype(np.int64)


def first_chance(seed: int) -> int:
    """Return where chance begins for a seed."""
    return (seed * 2654435761 + 12345) % (1 << 62)


def new_state(model: Model, seed: int, pieces: int, workers: int = 1) -> State:
    """Return a state with no lanes, for so many pieces, all of them own."""
    n = pieces + ROOM * workers
    return State(
        np.zeros(n, dtype=np.int64),
        np.zeros((n, model.capacity), dtype=np.int64),
        np.zeros((n, model.capacity), dtype=np.int64),
        np.zeros((n, model.capacity), dtype=np.int64),
        np.zeros(n, dtype=np.int64),
        np.zeros(n, dtype=np.int64),
        np.full(n, NONE, dtype=np.int64),
        np.zeros(n, dtype=np.int64),
        np.full((n, _MOST_LANES), NONE, dtype=np.int64),
        np.zeros(n, dtype=np.int64),
        np.zeros(n, dtype=np.int64),
        np.zeros(len(model.stock.width), dtype=np.int64),
        np.full(pieces, NONE, dtype=np.int64),
        np.array([np.arange(n), np.arange(n)], dtype=np.int64),
        np.array([n, n, first_chance(seed), 0], dtype=np.int64),
        np.arange(pieces, dtype=np.int64),
        np.ones(pieces, dtype=np.bool_),
    )


def new_scratch(model: Model) -> Scratch:
    """Return scratch lanes."""
    wide = model.capacity
    return Scratch(
        np.zeros((2, wide), dtype=np.int64),
        np.zeros((2, wide), dtype=np.int64),
        np.zeros((2, wide), dtype=np.int64),
        np.zeros(wide, dtype=np.int64),
        np.zeros(wide, dtype=np.int64),
        np.zeros((2, 4), dtype=np.int64),
    )


@dataclass(frozen=True, slots=True)
class Lane:
    """A lane outside the search's arrays; ``pieces`` by the numbers of the whole model."""

    codes: NDArray[np.int64]
    pieces: NDArray[np.int64]
    xs: NDArray[np.int64]
    height: int
    length: int


@dataclass(frozen=True, slots=True)
class Bundle:
    """Lanes side by side; ``roll`` is its place in `Stock`, `NONE` when that is still to be chosen."""

    lanes: tuple[Lane, ...]
    roll: int = NONE

    @property
    def across(self) -> int:
        """Width of all lanes in ticks."""
        return sum(lane.height for lane in self.lanes)

    @property
    def length(self) -> int:
        """Length of the longest lane in ticks."""
        return max(lane.length for lane in self.lanes)


def lays_of(model: Model, bundle: Bundle) -> tuple[Lay, ...]:
    """Return the place of each form, from the bundle's lower left corner.

    Lanes lie in order of their lengths, the longest first, so that what is left at their ends and beside the last one
    hangs together, and more of it is worth keeping.
    """
    lays: list[Lay] = []
    y = 0
    for lane in sorted(bundle.lanes, key=lambda lane: -lane.length):
        for code, x in zip(lane.codes.tolist(), lane.xs.tolist(), strict=True):
            drop = lane.height - model.forms[code >> 1].width if code & 1 else 0
            lays.append(Lay(code >> 1, x, y + drop))
        y += lane.height
    return tuple(lays)


def single(model: Model, piece: int, blank: int) -> Bundle:
    """Return a piece, which is ``blank`` at present, by itself as a bundle."""
    codes = model.kinds.codes[blank].ravel()
    code = next(int(c) for c in codes if c != NONE)
    form = model.forms[code >> 1]
    one = np.array([code], dtype=np.int64)
    lane = Lane(one, np.array([piece], dtype=np.int64), np.zeros(1, dtype=np.int64), form.width, form.length)
    return Bundle((lane,))


def used_by(stock: Stock, bundles: Sequence[Bundle]) -> NDArray[np.int64]:
    """Sum the lengths of bundles on each entry of the stock."""
    used = np.zeros(len(stock.width), dtype=np.int64)
    for bundle in bundles:
        used[bundle.roll] += bundle.length
    return used


def used_in_shares(stock: Stock, own: NDArray[np.int64], turn: int) -> NDArray[np.int64]:
    """Return what is used of the stock as each share of a nest is to see it, shape (shares, entries) like ``own``.

    ``own`` is what each of them uses. What is left of a counted roll is one's in turn; others see it full.
    """
    total = own.sum(axis=0)
    its_turn = (np.arange(own.shape[1]) + turn) % len(own) == np.arange(len(own))[:, None]
    full = np.minimum(stock.capacity, COUNTED) + own
    return np.where((stock.capacity < COUNTED) & ~its_turn, full, total)


def drawn_of(stock: Stock, bundles: Sequence[Bundle]) -> float:
    """Return the cost of bundles on their rolls, in mm2 of new lead, before what is kept."""
    used = used_by(stock, bundles)
    return fsum(marginal(stock, c, 0, int(used[c]), int(used[c])) for c in range(len(used)))


def kept_of(stock: Stock, bundles: Sequence[Bundle]) -> float:
    """Return the worth of what bundles keep, in mm2 of new lead."""
    if stock.worth[RATE] == 0.0:
        return 0.0
    free = [
        (across, along)
        for bundle in bundles
        for long in (bundle.length,)
        for across, along in (
            (int(stock.width[bundle.roll]) - bundle.across, long),
            *((lane.height, long - lane.length) for lane in bundle.lanes),
        )
    ]
    across, along = np.array(free, dtype=np.int64).reshape(-1, 2).T.copy()
    return float(worth_of_all(stock, across, along))


def cost_of(stock: Stock, bundles: Sequence[Bundle]) -> float:
    """Return the cost of bundles on their rolls, in mm2 of new lead, less the worth of what they keep."""
    return drawn_of(stock, bundles) - kept_of(stock, bundles)


def choose_rolls(stock: Stock, bundles: Sequence[Bundle]) -> list[Bundle]:
    """Return bundles with the cheapest roll for each, one after another."""
    used = np.zeros(len(stock.width), dtype=np.int64)
    out = []
    for bundle in bundles:
        roll = int(pick_class(stock, used, bundle.across, bundle.length, bundle.length))
        used[roll] += bundle.length
        out.append(replace(bundle, roll=roll))
    return out


@dataclass(frozen=True, slots=True)
class Loaded:
    """Some bundles in the search's arrays: kinds of the pieces in them, state, and the pieces' numbers."""

    kinds: Kinds
    state: State
    pieces: NDArray[np.int64]


def put_in(
    model: Model, stock: Stock, bundles: Sequence[Bundle], seed: int, elsewhere: NDArray[np.int64], workers: int = 1
) -> Loaded:
    """Load bundles into the search's arrays; ``elsewhere`` is what other bundles use of the stock."""
    pieces = np.sort(np.concatenate([lane.pieces for bundle in bundles for lane in bundle.lanes]))
    state = new_state(model, seed, len(pieces), workers)
    state.used[:] = elsewhere
    for s, bundle in enumerate(bundles):
        for i, lane in enumerate(bundle.lanes):
            state.count[LANES] -= 1
            at, n = int(state.free[LANES, state.count[LANES]]), len(lane.codes)
            own = np.searchsorted(pieces, lane.pieces)
            state.lane_n[at] = n
            state.lane_code[at, :n], state.lane_piece[at, :n], state.lane_x[at, :n] = lane.codes, own, lane.xs
            state.lane_height[at], state.lane_length[at], state.lane_bundle[at] = lane.height, lane.length, s
            state.piece_lane[own] = at
            state.bundle_lane[s, i] = at
        state.bundle_n[s] = len(bundle.lanes)
        if bundle.roll == NONE:
            settle(state, stock, s)
        else:
            state.bundle_class[s], state.bundle_length[s] = bundle.roll, bundle.length
            state.used[bundle.roll] += bundle.length
    left = len(state.bundle_n) - len(bundles)
    state.free[BUNDLES, :left] = np.arange(len(bundles), len(state.bundle_n))
    state.count[BUNDLES] = left
    return Loaded(_kinds_of(model, pieces), state, pieces)


def _kinds_of(model: Model, pieces: NDArray[np.int64]) -> Kinds:
    """Cut down what is known of pieces to some of them; pieces and groups are numbered anew."""
    whole = model.kinds
    groups, first, own = np.unique(whole.group[pieces], return_index=True, return_inverse=True)
    features = model.likeness[groups]
    near = np.empty((len(groups), min(_MOST_NEAR, len(pieces))), dtype=np.int64)
    sizes = np.diff(np.append(first, len(pieces)))
    for i in range(len(groups)):
        alike = np.argsort(np.abs(features - features[i]).sum(axis=1), kind="stable")[: near.shape[1]]
        near[i] = np.repeat(alike, sizes[alike])[: near.shape[1]]
    after = whole.follows[pieces]
    place = np.minimum(np.searchsorted(pieces, after), len(pieces) - 1)
    follows = np.where((after != NONE) & (pieces[place] == after), place, NONE)
    return whole._replace(
        near=near,
        piece_at=np.append(first, len(pieces)).astype(np.int64),
        group=own.astype(np.int64),
        follows=follows.astype(np.int64),
    )


def take_out(loaded: Loaded) -> list[Bundle]:
    """Copy the bundles out of the search's arrays."""
    state = loaded.state
    return [
        Bundle(
            tuple(
                Lane(
                    state.lane_code[lane, : state.lane_n[lane]].copy(),
                    loaded.pieces[state.lane_piece[lane, : state.lane_n[lane]]],
                    state.lane_x[lane, : state.lane_n[lane]].copy(),
                    int(state.lane_height[lane]),
                    int(state.lane_length[lane]),
                )
                for lane in state.bundle_lane[s, : state.bundle_n[s]].tolist()
            ),
            int(state.bundle_class[s]),
        )
        for s in np.flatnonzero(state.bundle_n > 0).tolist()
    ]
