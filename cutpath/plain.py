"""Text that can be seen, with nothing hidden in it, and words in a row as a sentence has them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence

_JOINERS = frozenset("\u200c\u200d")
"""Of the format characters, those that some writing and some signs cannot do without."""

_FILLERS = frozenset("\u115f\u1160\u2800\u3164\uffa0")


def is_unseen(character: str) -> bool:
    """Tell controls, format characters, surrogates, private characters, and those that end a line or a paragraph.

    Source: Unicode's general categories; Cf holds its bidirectional controls (UAX #9), spaces of no width, tags.
    """
    return unicodedata.category(character) in _UNSEEN and character not in _JOINERS


_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


LINES_AND_TABS = "\n\t"
"""What cannot be seen and may stand in a text all the same: notes have lines."""


def prints(text: str) -> bool:
    """Tell whether anything of a text is seen on paper: one letter, figure or sign at least."""
    return any(unicodedata.category(character)[0] in "LNPS" and character not in _FILLERS for character in text)


def seen(text: str) -> str:
    """Return a text with what cannot be seen in it written out, so that it does nothing to a terminal or a page."""
    return "".join(f"\\u{ord(c):04x}" if is_unseen(c) and c != "\n" else c for c in text)


def in_words(names: Iterable[object]) -> str:
    """Return names as a sentence lists them.

    Examples
    --------
    >>> in_words([3, 4, 9])
    '3, 4 and 9'
    """
    *first, last = map(str, names)
    return f"{', '.join(first)} and {last}" if first else last


def numbers_in_words(numbers: Sequence[int]) -> str:
    """Return rising numbers as a sentence lists them, three and more in a row by the first and the last.

    Examples
    --------
    >>> numbers_in_words([3, 5, 6, 8, 9, 10])
    '3, 5, 6 and 8 to 10'
    """
    rows: list[list[int]] = []
    for number in numbers:
        if rows and number == rows[-1][-1] + 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    return in_words(name for row in rows for name in ([f"{row[0]} to {row[-1]}"] if len(row) > 2 else row))


def shape_fault(reason: str) -> str:
    """Return in plain words why an outline is not a simple shape, from what GEOS says of it.

    Examples
    --------
    >>> shape_fault("Self-intersection[112.5 75]")
    'the outline crosses itself at 112.5, 75'
    """
    kind, _, place = reason.partition("[")
    at = re.sub(r"-?\d+\.\d+", lambda found: f"{float(found[0]):.1f}".removesuffix(".0"), place.rstrip("]"))
    return _SHAPE_FAULTS.get(kind.strip().lower(), "the outline is not a simple shape") + (
        f" at {', '.join(at.split())}" if at else ""
    )


_SHAPE_FAULTS = {
    "self-intersection": "the outline crosses itself",
    "ring self-intersection": "the outline touches itself",
    "hole lies outside shell": "a hole lies outside the outline",
    "holes are nested": "one hole lies in another",
    "interior is disconnected": "holes or cuts divide the shape in two",
    "duplicate rings": "two holes lie on each other",
}
