"""Places in what somebody wrote, in words, and the word that was most likely meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from cutpath.plain import seen

Keys = tuple[str | int, ...]
"""A path into raw data: keys of tables and places in lists, counted from 0."""

_LONGEST_NAME = 80
_CLOSE, _CLOSER = 0.6, 0.7


def key_path(keys: Keys) -> str:
    """Write ``keys`` for a person, places counted from 1: ``detail[2].riser``."""
    out = ""
    for key in keys:
        out += f"[{key + 1}]" if isinstance(key, int) else f".{_name(key)}" if out else _name(key)
    return out


def _name(key: str) -> str:
    return seen(key if len(key) <= _LONGEST_NAME else f"{key[:_LONGEST_NAME]}...")


def where(file: str, keys: Keys) -> str:
    """Return ``<file>: <key path>``, or the file alone for the whole of it."""
    return f"{file}: {key_path(keys)}" if keys else file


_ALSO_SAID = {
    "amount": "quantity",
    "angle": "pitch",
    "client": "customer",
    "drop": "cover",
    "height": "upstand",
    "lead": "code",
    "length": "width",
    "qty": "quantity",
    "roof_pitch": "pitch",
    "slates": "covering",
    "slope": "pitch",
    "tiles": "covering",
    "width": "length",
}
"""What people write for a key by another name: an apron's width is a length of lead to who cuts it."""


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """Return the one of ``known`` that ``word`` was most likely meant to be, or None.

    Few slips are in the first letter: what begins with another must be closer, or code would be taken for order.
    """
    folded = {name.casefold(): name for name in known}
    told = word.casefold()
    surely = difflib.get_close_matches(told, folded, n=1, cutoff=_CLOSER)
    said = [_ALSO_SAID[told]] if _ALSO_SAID.get(told) in folded else []
    near = [name for name in difflib.get_close_matches(told, folded, n=3, cutoff=_CLOSE) if name[:1] == told[:1]]
    return next((folded[name] for name in (*surely, *said, *near)), None)
