"""Text that can be seen: names in files, on pages and on a terminal hold nothing hidden."""

from __future__ import annotations

import unicodedata

_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def is_unseen(character: str) -> bool:
    """Tell controls, surrogates, private characters and those that turn the direction of writing.

    Source: Unicode's general categories Cc, Cs, Co and Cn, and its bidirectional controls (UAX #9).
    """
    return unicodedata.category(character) in {"Cc", "Cs", "Co", "Cn"} or character in _TURNING


def seen(text: str) -> str:
    """Return a text with what cannot be seen in it written out, so that it does nothing to a terminal or a page."""
    return "".join(f"\\u{ord(c):04x}" if is_unseen(c) and c != "\n" else c for c in text)
