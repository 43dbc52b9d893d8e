"""How tall words come out on paper in whatever font a machine has: counted for the widest of the common ones."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from math import ceil, fsum

from cutpath.units import MM_PER_PT

_WIDTHS = {
    letter: width
    for width, letters in (
        (0.28, "'ijl"),
        (0.295, "IJ"),
        (0.318, " ,.·\u00a0"),
        (0.34, "/:;\\|"),
        (0.36, "f-"),
        (0.393, "()[]t"),
        (0.412, "!r"),
        (0.5, '"*_`°–'),
        (0.525, "sz?c"),
        (0.56, "LF"),
        (0.58, "k"),
        (0.592, "vxy"),
        (0.613, "PTYaoe"),
        (0.635, "ESbdghnpqu$0123456789{}"),
        (0.685, "KAVBRXZ"),
        (0.7, "C"),
        (0.75, "UHN"),
        (0.78, "DG&OQ"),
        (0.838, "w#+<=>^~×"),
        (0.863, "M"),
        (0.975, "m%"),
        (1.0, "W@…"),
        (0.0, "\u2060"),
    )
    for letter in letters
}
"""Widths of letters of DejaVu Sans as shares of the font's size, nowhere less than its own tables have by 0.03."""

_OTHER = 0.7
_SPACE = _WIDTHS[" "]
_BREAK = re.compile("(?<=[–-])(?!\u2060)")
"""Where a line may end within a word."""


def broad_mm(text: str, size_pt: float) -> float:
    """Return how broad a text is when it stands in one row."""
    return _ems(text) * size_pt * MM_PER_PT


@lru_cache(maxsize=4096)
def _ems(text: str) -> float:
    return fsum(_WIDTHS.get(letter, _OTHER) for letter in text)


@lru_cache(maxsize=4096)
def rows(text: str, width_mm: float, size_pt: float) -> int:
    """Return in how many rows a text is set in a column, one at least."""
    room = 0.99 * width_mm / (size_pt * MM_PER_PT)
    count, left = 1, room
    for word in text.split(" "):
        for part in _BREAK.split(word):
            width = _ems(part)
            if width > left and left < room:
                count, left = count + 1, room
            if width > room:
                count += ceil(width / room) - 1
                width %= room
            left -= width
        left -= _SPACE
    return count


def text_mm(texts: Iterable[str], width_mm: float, size_pt: float, leading: float, gap_mm: float) -> float:
    """Return how tall paragraphs stand one below the other, each followed by a gap."""
    return fsum(rows(text, width_mm, size_pt) * size_pt * MM_PER_PT * leading + gap_mm for text in texts)
