"""A quick first nest: like blanks in lanes one after another, lanes across the widest roll.

The annealing starts from it. Blanks come in an order that keeps like ones together; the width of a lane is the best
of a few for its first two blanks.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpath.nesting.lanes import TOO_LONG, lay_lane
from cutpath.nesting.model import Bundle, Lane, Model, new_scratch
from cutpath.nesting.shifts import new_memory
from cutpath.nesting.state import NONE
from cutpath.nesting.ticks import TICKS_PER_MM

_WIDTHS_TRIED = 12
_MOST_ABREAST = 12  # lanes of a bundle


def first_bundles(model: Model, pieces: Sequence[int], widest: int, longest: int) -> list[Bundle]:
    """Return bundles that hold ``pieces``, in a room ``widest`` across and ``longest`` along, in ticks."""
    lanes = _Lanes(model, widest, longest)
    done: list[Lane] = []
    at = 0
    while at < len(pieces):
        lane = lanes.build(pieces, at)
        at += len(lane.codes)
        done.append(lane)
    return _across(done, widest)


class _Lanes:
    """Builds lanes one after another; holds the arrays that this needs."""

    def __init__(self, model: Model, widest: int, longest: int) -> None:
        self.model = model
        self.widest = widest
        self.longest = longest
        self.memory = new_memory(15)
        self.scratch = new_scratch(model)

    def build(self, pieces: Sequence[int], start: int) -> Lane:
        """Fill a lane with the pieces from ``start`` on, in turn on its two edges, until the next one does not fit."""
        codes = [self._code(pieces[start], 0)]
        height = self._width(codes[0])
        length = self._length(codes[0])
        if start + 1 < len(pieces) and self.model.capacity > 1:
            height = self._best_height(pieces[start], pieces[start + 1])
        xs = np.zeros(1, dtype=np.int64)
        for piece in pieces[start + 1 : start + self.model.capacity]:
            code = self._code(piece, 1 - (codes[-1] & 1))
            if self._width(code) > height:
                break
            more = self._lay([*codes, code], len(codes), xs, height)
            if more is None:
                break
            codes.append(code)
            length, xs = more
        return Lane(
            np.array(codes, dtype=np.int64), np.array(pieces[start : start + len(codes)], dtype=np.int64),
            xs[: len(codes)].copy(), height, length,
        )  # fmt: skip

    def _code(self, piece: int, row: int) -> int:
        codes = self.model.kinds.codes[self.model.start[piece]]
        return next(int(c) for c in (*codes[row], *codes[1 - row]) if c != NONE)

    def _width(self, code: int) -> int:
        return self.model.forms[code >> 1].width

    def _length(self, code: int) -> int:
        return self.model.forms[code >> 1].length

    def _lay(
        self, codes: list[int], kept: int, before: np.ndarray[tuple[int], np.dtype[np.int64]], height: int
    ) -> tuple[int, np.ndarray[tuple[int], np.dtype[np.int64]]] | None:
        s = self.scratch
        s.code[0, : len(codes)] = codes
        s.x[0, :kept] = before[:kept]
        length = lay_lane(
            self.model.form_arrays, self.memory, s.code[0], len(codes), kept, height, self.longest, s.x[0], s.before,
            s.reach,
        )  # fmt: skip
        return None if length == TOO_LONG else (int(length), s.x[0, : len(codes)].copy())

    def _best_height(self, one: int, other: int) -> int:
        low = [self._code(one, 0), self._code(other, 1)]
        least = max(self._width(code) for code in low)
        most = min(self.widest, sum(self._width(code) for code in low))
        if least > most:
            return self._width(low[0])
        pattern = [low[0], low[1], low[0], low[1]]
        best, best_area = self._width(low[0]), float("inf")
        for height in np.linspace(least, most, _WIDTHS_TRIED).astype(np.int64).tolist():
            height = min(most, -(-height // TICKS_PER_MM) * TICKS_PER_MM) if height > least else height
            if (laid := self._lay(pattern, 0, np.zeros(0, dtype=np.int64), height)) is not None:
                area = float(height) * laid[0]
                if area < best_area:
                    best, best_area = height, area
        return best


def _across(lanes: Sequence[Lane], widest: int) -> list[Bundle]:
    """Put lanes of near lengths side by side: longest first, each into the first bundle with room."""
    held: list[list[Lane]] = []
    room = np.empty(len(lanes), dtype=np.int64)
    for lane in sorted(lanes, key=lambda lane: -lane.length):
        enough = np.flatnonzero(room[: len(held)] >= lane.height)
        if len(enough):
            first = int(enough[0])
            held[first].append(lane)
            room[first] = room[first] - lane.height if len(held[first]) < _MOST_ABREAST else 0
        else:
            room[len(held)] = widest - lane.height
            held.append([lane])
    return [Bundle(tuple(lanes)) for lanes in held]
