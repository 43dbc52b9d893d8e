"""What may be typed for an option: lengths, numbers in a range, formats, labels; a fault says what is accepted."""

from __future__ import annotations

import math
from typing import Any

import click

from cutpath.ceilings import LARGEST_MM
from cutpath.units import NotUnderstoodError, length_mm, written
from cutpath.values.formats import Format
from cutpath.values.stock import ABOUT


class _Length(click.ParamType[float]):
    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401
        try:
            number: float | str = float(value)
        except ValueError:
            number = value
        try:
            length = length_mm(number)
        except NotUnderstoodError as error:
            self.fail(f"{error.found}; write {error.accepted}. {error.remedy}", param, ctx)
        if not 0 <= length <= LARGEST_MM:
            self.fail(f"{length:g} mm is out of range; give 0 to {LARGEST_MM:.0f} mm", param, ctx)
        return length


class _LengthOrAbout(click.ParamType[tuple[float, bool]]):
    """A length, and whether it is an estimate: ``about 4 m``."""

    name = "length"

    def convert(
        self,
        value: Any,  # noqa: ANN401
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> tuple[float, bool]:
        if isinstance(value, tuple):
            return value
        words = str(value).strip()
        length = words.removeprefix(ABOUT)
        return LENGTH.convert(length, param, ctx), length != words


class _Labels(click.Choice[str]):
    """A grid of labels, or the page of a label printer."""

    def __init__(self) -> None:
        super().__init__(["2x7", "2x8", "3x7", "3x8"])

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:  # noqa: ANN401
        from cutpath.writers.label_sheets import grid_named

        try:
            grid_named(str(value))
        except ValueError as error:
            self.fail(str(error), param, ctx)
        return str(value)


class Formats(click.Choice[str]):
    """A format, or several with commas between them, as the end of `make` and every list of them has it."""

    def __init__(self) -> None:
        super().__init__([form.value for form in Format])

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:  # noqa: ANN401, D102
        return ",".join(super(Formats, self).convert(part.strip(), param, ctx) for part in str(value).split(","))


class Number(click.FloatRange):
    """A number whose range ``--help`` tells in words."""

    name = "number"

    def _describe_range(self) -> str:
        return _range_words(self.min, self.max)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401, D102
        try:
            number = float(value)
        except ValueError:
            self.fail(
                f"{written(value)} is no number; write the figure alone, decimals with a point: 61.50", param, ctx
            )
        if math.isnan(number):
            self.fail(f"{value} is not a number", param, ctx)
        if _is_outside(number, self.min, self.max):
            self.fail(_outside(value, self.min, self.max), param, ctx)
        return number


class Whole(click.IntRange):
    """A whole number whose range ``--help`` tells in words."""

    name = "whole number"

    def _describe_range(self) -> str:
        return _range_words(self.min, self.max)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ANN401, D102
        number = int(click.types.IntParamType.convert(self, value, param, ctx))  # type: ignore[arg-type]  # a base of its own
        if _is_outside(number, self.min, self.max):
            self.fail(_outside(value, self.min, self.max), param, ctx)
        return number


def _is_outside(number: float, least: float | None, most: float | None) -> bool:
    return (least is not None and number < least) or (most is not None and number > most)


def _outside(value: object, least: float | None, most: float | None) -> str:
    """Say what is accepted in full, ends that only catch slips too."""
    return f"{value} is out of range; give {least:g} {'or more' if most is None else f'to {most:.12g}'}"


def _range_words(least: float | None, most: float | None) -> str:
    """Say a range of an option in words; nothing where its ends are only there to catch slips."""
    if least is None or (most is not None and most > _PLAIN_MOST):
        return ""
    return f"{least:g} or more" if most is None else f"{least:g} to {most:g}"


_PLAIN_MOST = 1000.0

LENGTH = _Length()
LENGTH_OR_ABOUT = _LengthOrAbout()
LABELS = _Labels()
