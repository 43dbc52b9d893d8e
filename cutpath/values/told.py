"""Plain values, as JSON knows them, back into frozen values by what their fields are said to be.

A table becomes a dataclass by its keys, a row by its order. Nothing is turned into anything else: a number that is
written as a text is none.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from cutpath.ceilings import FARTHEST_MM
from cutpath.errors import Refused
from cutpath.plain import LINES_AND_TABS, is_unseen, seen
from cutpath.units import written

V = TypeVar("V")


class NotAsToldError(ValueError):
    """A plain value that does not hold what it should.

    Attributes
    ----------
    keys : tuple of str or int
        The way to it, places in lists counted from 0.
    found : str
        What is wrong there, in plain words.
    """

    def __init__(self, found: str, keys: tuple[str | int, ...] = ()) -> None:
        super().__init__(found)
        self.found, self.keys = found, keys

    def inside(self, key: str | int) -> NotAsToldError:
        """Return the same as it is seen from the table or list that holds it."""
        return NotAsToldError(self.found, (key, *self.keys))


def value_of(kind: type[V], told: object) -> V:
    """Return what a plain value tells.

    Parameters
    ----------
    kind : type
        A dataclass whose fields are dataclasses, tuples, sets and mappings of them, text, bytes (text, or a table with
        their base64), numbers and words of an enumeration, each perhaps or None; `object` takes everything.
    told : object

    Raises
    ------
    NotAsToldError
        When it is something else, or a value refuses its figures.
    """
    return _value(kind, told)  # type: ignore[no-any-return]


def _value(kind: Any, told: object) -> Any:  # noqa: ANN401
    origin, inside = get_origin(kind), get_args(kind)
    if origin in {Union, UnionType}:
        (other,) = (one for one in inside if one is not type(None))
        return None if told is None else _value(other, told)
    if origin in {tuple, frozenset} and isinstance(told, list):
        return origin(_inside(inside[0], at, item) for at, item in enumerate(told))
    if origin is Mapping and isinstance(told, dict):
        return {key: _inside(inside[1], key, item) for key, item in told.items()}
    if is_dataclass(kind) and isinstance(told, dict | list):
        return _built(kind, told)
    if isinstance(kind, type) and issubclass(kind, Enum) and told in list(kind):
        return kind(told)
    plain = _PLAIN.get(kind)
    if plain is not None and plain[1](told):
        return told
    if kind is bytes:
        return _bytes(told)
    raise NotAsToldError(f"{seen(written(told))} in the place of {_named(kind, origin)}")


def _inside(kind: object, key: str | int, told: object) -> Any:  # noqa: ANN401
    try:
        return _value(kind, told)
    except NotAsToldError as error:
        raise error.inside(key) from None


def _built(kind: Any, told: dict[str, object] | list[object]) -> Any:  # noqa: ANN401
    known = _kinds(kind)
    if isinstance(told, list):
        if len(told) != len(known):
            raise NotAsToldError(f"a row of {len(told)} in the place of {len(known)} values")
        told = dict(zip(known, told, strict=True))
    for name in told:
        if name not in known:
            raise NotAsToldError("a key that is not known", (name,))
    try:
        return kind(**{name: _inside(known[name], name, value) for name, value in told.items()})
    except TypeError:
        raise NotAsToldError(f"a table without some of {', '.join(known)}") from None
    except Refused as refusal:
        first = refusal.findings[0]
        raise NotAsToldError(f"{first.found}, {first.accepted}", (first.where.rpartition(": ")[2],)) from None


@cache
def _kinds(kind: type) -> Mapping[str, object]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}


def _bytes(told: object) -> bytes:
    if isinstance(told, str):
        return told.encode()
    if isinstance(told, dict) and set(told) == {"base64"} and isinstance(told["base64"], str):
        try:
            return base64.b64decode(told["base64"], validate=True)
        except ValueError:
            pass
    raise NotAsToldError("neither text nor base64")


def _is_figure(told: object) -> bool:
    return isinstance(told, int | float) and not isinstance(told, bool) and abs(told) <= FARTHEST_MM**2


_PLAIN: Mapping[object, tuple[str, Callable[[Any], bool]]] = {
    object: ("anything", lambda _: True),
    bool: ("true or false", lambda told: isinstance(told, bool)),
    int: ("a whole number", lambda told: isinstance(told, int) and not isinstance(told, bool)),
    float: ("a number, at most a kilometre or its square in mm", _is_figure),
    str: (
        "text that can be seen",
        lambda told: isinstance(told, str) and not any(is_unseen(c) and c not in LINES_AND_TABS for c in told),
    ),
}
"""Plain kinds: what they are called, and whether something is one."""


def _named(kind: Any, origin: object) -> str:  # noqa: ANN401
    if kind in _PLAIN:
        return _PLAIN[kind][0]
    if origin in {tuple, frozenset}:
        return "a list"
    return "a table" if origin is not None or is_dataclass(kind) else "one of the known words"
