"""Lanes: two facing rows of forms between two level lines, each form as far left as it can go.

A lane is an ordered list of codes. A code is 2 * form + row: row 0 stands on the lane's lower line, row 1 hangs
from its upper line. In order, each form goes to the leftmost x behind its own row where it overlaps nothing in the
facing row; so it may slip back under forms that reach further. All places are whole ticks.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.compiled import compiled
from cutpath.nesting.shifts import WORK, FormArrays, Memory, clear_behind, high_of, look_up, low_of, many

if TYPE_CHECKING:
    from numpy.typing import NDArray

TOO_LONG = -1


@compiled
def lay_lane(  # noqa: C901 - one loop without calls, for speed
    forms: FormArrays,
    memory: Memory,
    codes: NDArray[np.int64],
    n: int,
    kept: int,
    height: int,
    limit: int,
    xs: NDArray[np.int64],
    before: NDArray[np.int64],
    reach: NDArray[np.int64],
) -> int:
    """Lay ``codes[:n]``, of which the first ``kept`` already have their ``xs``; return the lane's length in ticks.

    Parameters
    ----------
    height, limit : int
        Width of the lane, and the greatest length that is of use.
    xs : array
        Receives the place of each form along the lane.
    before, reach : array
        Room to work in: the form before each one in its own row, and how far its row reaches up to it; of forms yet to
        be laid, how far their row reaches at least beyond their place.

    Returns
    -------
    length, or `TOO_LONG` as soon as the limit is passed.
    """
    last0, last1 = -1, -1
    longest = 0
    for k in range(kept):
        row = codes[k] & 1
        end = xs[k] + forms.length[codes[k] >> 1]
        prior = last1 if row else last0
        before[k] = prior
        reach[k] = end if prior < 0 else max(end, reach[prior])
        if row:
            last1 = k
        else:
            last0 = k
        longest = max(longest, end)
    tail0, tail1 = 0, 0
    for k in range(n - 1, kept - 1, -1):
        code = codes[k]
        reach[k] = max(forms.length[code >> 1], forms.side[code, 1] + (tail1 if code & 1 else tail0))
        if code & 1:
            tail1 = reach[k] - forms.side[code, 0]
        else:
            tail0 = reach[k] - forms.side[code, 0]
    for k in range(kept, n):
        code = codes[k]
        form, row = code >> 1, code & 1
        latest = limit - reach[k]
        long, wide = forms.length[form], forms.width[form]
        x = 0
        own = last1 if row else last0
        j = own
        while j >= 0 and reach[j] > x:
            other = codes[j] >> 1
            x = max(x, xs[j] + clear_behind(forms, other, form, forms.width[other] - wide if row else 0))
            j = before[j]
        facing = last0 if row else last1
        moved, mover = True, -1
        while moved and x <= latest:
            moved = False
            j = facing
            # Once round to the form that moved this one last, all of them have been looked at since.
            while j >= 0 and reach[j] > x and (moved or j != mover):
                if xs[j] < x + long:
                    other = codes[j] >> 1
                    if row:
                        dy = height - wide
                        if dy < forms.width[other]:
                            place = look_up(forms, memory, other, form, dy)
                            s = x - xs[j]
                            for m in range(many(place)):
                                if s <= low_of(memory, place, m):
                                    break
                                if s < high_of(memory, place, m):
                                    x = xs[j] + high_of(memory, place, m)
                                    s = x - xs[j]
                                    moved, mover = True, j
                    else:
                        dy = height - forms.width[other]
                        if dy < wide:
                            place = look_up(forms, memory, form, other, dy)
                            s = xs[j] - x
                            for m in range(many(place) - 1, -1, -1):
                                if s >= high_of(memory, place, m):
                                    break
                                if s > low_of(memory, place, m):
                                    s = low_of(memory, place, m)
                                    x = xs[j] - s
                                    moved, mover = True, j
                j = before[j]
        if x > latest:
            memory.count[WORK] += k - kept + 2
            return TOO_LONG
        xs[k] = x
        end = x + long
        before[k] = own
        reach[k] = end if own < 0 else max(end, reach[own])
        if row:
            last1 = k
        else:
            last0 = k
        longest = max(longest, end)
    memory.count[WORK] += n - kept + 1
    return longest
