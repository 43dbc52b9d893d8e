"""Figures that a value holds itself to as it is built, whoever builds it: a job file, a notebook or a test."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import fields

from cutpath.ceilings import FARTHEST_MM
from cutpath.errors import Finding, Refused

_COUNTS = {"quantity", "count", "work", "seed"}
_FROM_ONE = {"quantity", "count"}
_BELOW_ZERO = {"x_mm", "y_mm", "end_x_mm", "set_back_mm", "foot_mm"}
"""Places and not sizes: these may lie on either side of where they are measured from."""

_ENDLESS = {"lap_mm"}
"""Without end where no lap is long enough, which the rules then say of the detail."""


class Held:
    """A dataclass whose figures are numbers in their range, by what their names say.

    Every number is finite, but for a lap. Sizes (``..._mm``) are 0 or more, unless they are places, and none is beyond
    a ceiling; `_over_zero` names those that must be more. Counts are whole, and ``quantity`` and ``count`` 1 or more;
    `_from_zero` names those that may be 0. None stands for a figure that is not given.
    """

    __slots__ = ()

    _over_zero: frozenset[str] = frozenset()
    _from_zero: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        self.hold(())

    def hold(self, more: Iterable[Finding]) -> None:
        """Refuse the value for every figure that is out of range, and for ``more``.

        Raises
        ------
        Refused
            CP107 for each figure.
        """
        found = [*self._out_of_range(), *more]
        if found:
            raise Refused(found)

    def wrong(self, name: str, found: object, needed: str) -> Finding:
        """Return the finding for one figure."""
        bearer = getattr(self, "id", None) or getattr(self, "name", None) or getattr(self, "label", None)
        where = f"{type(self).__name__} {bearer}: {name}" if bearer else f"{type(self).__name__}: {name}"
        return Finding("CP107", where, f"{found!r}", f"needed: {needed}", "Give a figure in that range.")

    def _out_of_range(self) -> Iterator[Finding]:
        for name in (field.name for field in fields(self)):  # type: ignore[arg-type]  # every heir is a dataclass
            value = getattr(self, name)
            if name in _COUNTS and value is not None:
                least = 1 if name in _FROM_ONE - self._from_zero else 0
                if not isinstance(value, int) or isinstance(value, bool) or value < least:
                    yield self.wrong(name, value, f"a whole number, {least} or more")
            elif isinstance(value, float | int) and not isinstance(value, bool):
                if isinstance(value, float) and (math.isnan(value) or (math.isinf(value) and name not in _ENDLESS)):
                    yield self.wrong(name, value, "a number")
                elif name in self._over_zero and value <= 0:
                    yield self.wrong(name, value, "more than 0")
                elif name.endswith("_mm") and name not in _BELOW_ZERO and value < 0:
                    yield self.wrong(name, value, "0 or more")
                elif name.endswith("_mm") and abs(value) > FARTHEST_MM and name not in _ENDLESS:
                    yield self.wrong(name, value, f"{FARTHEST_MM:.0f} mm at most")
