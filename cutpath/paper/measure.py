"""How tall words come out on paper in whatever font a machine has: counted for the widest of the common ones."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import ceil, fsum

_LETTER = 0.54
"""Mean width of a letter in a wide sans-serif font, as a share of the font's size: on the safe side."""

POINT_MM = 25.4 / 72.0


@lru_cache(maxsize=1024)
def rows(text: str, width_mm: float, size_pt: float) -> int:
    """Return in how many rows a text is set in a column, one at least."""
    letters = max(1, int(width_mm / (_LETTER * size_pt * POINT_MM)))
    count, left = 1, letters
    for word in text.split():
        if len(word) > left and left < letters:
            count, left = count + 1, letters
        count += max(0, ceil(len(word) / letters) - 1)
        left -= len(word) % letters + 1
    return count


def text_mm(texts: Iterable[str], width_mm: float, size_pt: float, leading: float, gap_mm: float) -> float:
    """Return how tall paragraphs stand one below the other, each followed by a gap."""
    return fsum(rows(text, width_mm, size_pt) * size_pt * POINT_MM * leading + gap_mm for text in texts)
