"""A job built in code, as a job file would have it."""

from __future__ import annotations

import numbers
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from cutpath.ceilings import DEEPEST
from cutpath.errors import Finding
from cutpath.units import written


def of_code(source: Mapping[str, object], name: str) -> dict[str, object] | Finding:
    """Return a job that code gave as a file would have it: text for keys, plain numbers, lists, and not too deep.

    Findings call it ``name``.
    """
    try:
        return _table(source, 0)
    except ValueError as error:
        return Finding("CP102", name, str(error), "tables and lists as a job file has them", "Correct it.")


def _table(table: Mapping[Any, object], depth: int) -> dict[str, object]:
    """Return a table with plain values; a key with None is left out, as a file would leave it out.

    Raises
    ------
    ValueError
        When a key is no text, and as `_plain`.
    """
    odd = next((key for key in table if not isinstance(key, str)), None)
    if odd is not None:
        raise ValueError(f"a key that is no text: {written(odd)}")
    return {key: _plain(value, depth + 1) for key, value in table.items() if value is not None}


def _plain(value: object, depth: int) -> object:
    """Return a value with numbers and arrays of other libraries as Python's own.

    Raises
    ------
    ValueError
        When it holds keys that are no text, or is nested too deep.
    """
    if depth > DEEPEST:
        raise ValueError(f"tables nested more than {DEEPEST} deep")
    if hasattr(value, "tolist"):  # an array, or a number of its library
        value = value.tolist()
    if isinstance(value, Mapping):
        return _table(value, depth)
    if isinstance(value, list | tuple):
        return [_plain(inside, depth + 1) for inside in value]
    if isinstance(value, int | float | str):
        return value
    if isinstance(value, numbers.Integral):
        return int(value)
    return float(value) if isinstance(value, numbers.Real | Decimal) else value
