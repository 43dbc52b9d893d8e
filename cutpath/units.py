"""The only place with conversion factors: what a user writes to millimetres and degrees.

Terminology
-----------
Length: a bare number is millimetres; a string carries its unit, such as ``"1.2 m"`` or ``"4 ft 6 in"``.
Pitch: a bare number is degrees from level; ``"7:12"`` is rise to run.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from cutpath import sure

MM_PER_UNIT: Final[dict[str, float]] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""Millimetres in one of each unit; inch and foot by definition (international yard, 1959)."""

MM_PER_PT: Final = 25.4 / 72
PT_PER_MM: Final = 72 / 25.4
"""A point of PDF and of style sheets is 1/72 inch."""

MM2_PER_M2: Final = 1_000_000.0
"""Square millimetres in one square metre."""

MICROGRAMS_PER_KG: Final = 1_000_000_000
"""Micrograms in one kilogram."""

MILLIONTHS: Final = 1_000_000
"""Millionths in one whole, of money."""

_SPELLINGS: Final[dict[str, str]] = {
    "millimetre": "mm",
    "millimetres": "mm",
    "metre": "m",
    "metres": "m",
    "inch": "in",
    "inches": "in",
    "ins": "in",
    '"': "in",
    "″": "in",
    "”": "in",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "′": "ft",
    "’": "ft",
}

_NUMBER = r"\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+(?:\.\d+)?|\.\d+"
_TERM: Final = re.compile(rf"\s*({_NUMBER})\s*([A-Za-z]+|[\"'″”′’])")
_ANGLE: Final = re.compile(r"\s*(-?(?:\d+(?:\.\d+)?|\.\d+))\s*(?:deg|degs|degree|degrees|°)\s*", re.IGNORECASE)
_PLAIN: Final = re.compile(r"\d+(?:\.\d+)?|\.\d+")

_FINEST: Final = 64
"""No rule is divided into more parts of an inch."""

_INCHES_PER_FOOT: Final = 12
_FRACTION_WORDS: Final = f"a fraction of less than 1 behind a whole number, in parts of {_FINEST} at the finest"
_SLIP: Final = "It looks like a slip of a digit: read it again."

LENGTH_WORDS: Final = 'a length in mm, or text with its unit such as "1.2 m", "47 1/4 in" or "4 ft 6 in"'
COMMA_IN_NUMBER: Final = re.compile(r"\d,\d")
COMMA_REMEDY: Final = "Write decimals with a point and thousands without a comma: 1.2 m, 1200."
ANGLE_WORDS: Final = 'degrees, or text such as "60 deg"'
PITCH_WORDS: Final = 'a pitch in degrees, or "35 deg", "7:12", "1 in 40", "2.1 m / 3 m" or {rise = , run = }'


class NotUnderstoodError(ValueError):
    """A value that cannot be read: ``found`` and ``accepted`` in plain words, and what to do about it.

    ``code`` is the code of the finding to be made of it.
    """

    code = "CP107"

    def __init__(self, found: str, accepted: str, remedy: str) -> None:
        self.found = found
        self.accepted = accepted
        self.remedy = remedy
        super().__init__(f"{found}, {accepted}")


class LengthError(NotUnderstoodError):
    """A length that cannot be read."""

    code = "CP105"


class AngleError(NotUnderstoodError):
    """A pitch or an angle that cannot be read."""

    code = "CP106"


def written(value: object) -> str:
    """Return ``value`` as a user would have written it, cut short after 40 characters."""
    if isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, Mapping):
        text = "a table"
    elif isinstance(value, (list, tuple)):
        text = f"a list of {len(value)}"
    elif isinstance(value, int) and value.bit_length() > _LONGEST_INT_BITS:
        text = "a number too large to use"
    else:
        text = str(value)
    end = '..."' if isinstance(value, str) else "..."
    return text if len(text) <= _LONGEST_WRITTEN else text[: _LONGEST_WRITTEN - len(end)] + end


_LONGEST_WRITTEN: Final = 40
_LONGEST_INT_BITS: Final = 1000


def mm_text(value_mm: float, *, side: int = 0) -> str:
    """Write a length as a tape gives it: in whole millimetres, with a half where it is one, and under 10 mm to a tenth.

    Parameters
    ----------
    value_mm : float
    side : int
        1 or -1 to round up or down, so that what misses a limit is not said to reach it; 0 to the nearest.

    >>> mm_text(84.9), mm_text(222.5), mm_text(0.42), mm_text(74.96, side=-1), mm_text(300.04, side=1)
    ('85 mm', '222.5 mm', '0.4 mm', '74 mm', '301 mm')
    """
    if not abs(value_mm) < _WRITTEN_OUT_MM:
        return f"{value_mm:.3g} mm"
    steps = 10 if abs(value_mm) < _FINE_MM else 2 if round(2 * value_mm, 3) % 2 == 1 else 1
    count = round(value_mm * steps, 3)
    whole = math.ceil(count) if side > 0 else math.floor(count) if side < 0 else math.floor(count + 0.5)
    return f"{whole / steps + 0.0:.1f}".removesuffix(".0") + " mm"


_WRITTEN_OUT_MM = 1e9
"""What is longer is a slip, and not worth hundreds of figures; it may even have no end."""
_FINE_MM = 10.0
"""Lengths under this are differences, and written to a tenth."""


_RATIOS: Final = (0.17, 2.75)
"""Rise by run of pitches from 10 to 70 degrees."""


def meant_as_ratio(value: float) -> list[str]:
    """Return a pitch in degrees as it is written if rise by run was meant; nothing where that cannot be."""
    short = float(f"{value:.3g}") == value  # what was worked out from two figures was no ratio by itself
    return [f'"{value:g}:1"'] if short and _RATIOS[0] <= value <= _RATIOS[1] else []


def deg_text(value_deg: float) -> str:
    """Write an angle for a person: whole degrees where they say it, else one decimal."""
    rounded = round(value_deg, 1) + 0.0
    return f"{rounded:.0f} deg" if rounded.is_integer() else f"{rounded:.1f} deg"


def unlike(text: str, value: float, write: Callable[[float], str], *limits: float) -> str:
    """Return a size as it is written, or with as many decimals as it takes to tell it from what it is held to.

    >>> unlike("11 deg", 10.996, deg_text, 11.0), unlike("7 deg", 7.0, deg_text, 11.0)
    ('10.996 deg', '7 deg')
    """
    number = re.compile(r"-?[\d.]+(e[-+]?\d+)?")
    shown = {float(found[0]) for limit in limits if limit != value and (found := number.search(write(limit)))}
    found = number.search(text)
    if found is None or float(found[0]) not in shown:
        return text
    decimals = next((n for n in range(1, 16) if round(value, n) not in shown), 16)
    return number.sub(f"{value:.{decimals}f}", text, count=1)


def length_mm(value: object) -> float:
    """Read a length: a number is mm, a string carries its unit; a leading minus is kept.

    Parameters
    ----------
    value : object
        Number, or text such as ``"120 mm"``, ``"12 cm"``, ``"1.2 m"``, ``"47 1/4 in"``, ``"4 ft 6 in"``.

    Returns
    -------
    float
        Millimetres.

    Raises
    ------
    LengthError
        When it is neither, has no unit, has an unknown unit, or is not finite.

    Examples
    --------
    >>> length_mm("1.2 m")
    1200.0
    >>> length_mm("4 ft 6 in")
    1371.6
    """
    number = _number(value)
    if number is not None:
        return number
    if not isinstance(value, str):
        raise LengthError(written(value), LENGTH_WORDS, "Write the length as a number of millimetres.")
    text = _split_fractions(value).strip()
    negative = text.startswith(("-", "−"))
    terms = _terms(text[1:] if negative else text, value)
    total = math.fsum(amount * MM_PER_UNIT[unit] for amount, unit in terms)
    return -total if negative else total


def angle_deg(value: object) -> float:
    """Read an angle: a number is degrees, a string says ``deg`` or ``°``.

    Raises
    ------
    AngleError
        When it is neither or is not finite.
    """
    number = _number(value)
    if number is not None:
        return number
    if isinstance(value, str):
        match = _ANGLE.fullmatch(value)
        if match:
            return float(match.group(1))
        if _PLAIN.fullmatch(value.strip()):
            raise AngleError(
                f"{written(value)} without a unit", ANGLE_WORDS, f'Write {value.strip()} or "{value.strip()} deg".'
            )
    comma = isinstance(value, str) and COMMA_IN_NUMBER.search(value)
    remedy = COMMA_REMEDY if comma else "Write the angle as a number of degrees."
    raise AngleError(written(value), ANGLE_WORDS, remedy)


def pitch_deg(value: object) -> float:
    """Read a pitch from level: degrees, rise to run, or a table ``{rise, run}``.

    Parameters
    ----------
    value : object
        Number of degrees; ``"35 deg"``, ``"35°"``; ``"7:12"``, ``"7/12"`` or ``"1 in 40"`` as rise to run;
        ``"2.1 m / 3 m"``; or a mapping with lengths ``rise`` and ``run``.

    Returns
    -------
    float
        Degrees.

    Raises
    ------
    AngleError
        When none of these is found, or the run is zero.

    Examples
    --------
    >>> round(pitch_deg("7:12"), 3)
    30.256
    """
    if isinstance(value, Mapping):
        return _pitch_of_table(value)
    if isinstance(value, str):
        parts = [part.strip() for part in re.split(r"[:/](?=[^/:]*$)|(?<=\d)\s+in\s+(?=[\d.]+\s*$)", value, maxsplit=1)]
        if len(parts) == 2:
            return _pitch_of_parts(parts[0], parts[1], value)
    try:
        return angle_deg(value)
    except AngleError as error:
        remedy = (
            COMMA_REMEDY if error.remedy == COMMA_REMEDY else 'Write the pitch in degrees, or rise to run as "7:12".'
        )
        raise AngleError(error.found, PITCH_WORDS, remedy) from error


def _number(value: object) -> float | None:
    """Return a finite number as float, None for what is no number; bool is no number."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _split_fractions(text: str) -> str:
    """Write vulgar fractions such as ½ out as 1/2, set apart from a whole number before them."""
    out = []
    for character in text:
        plain = unicodedata.normalize("NFKC", character)
        out.append(" " + plain.replace("⁄", "/") if "⁄" in plain else character)
    return "".join(out)


def _amount(text: str, value: str) -> float:
    whole, _, fraction = text.rpartition(" ") if "/" in text else (text, "", "")
    total = float(whole) if whole.strip() else 0.0
    if fraction:
        over, _, under = fraction.partition("/")
        if not int(under):
            raise LengthError(f"{written(value)} with zero under the line", LENGTH_WORDS, "Correct the fraction.")
        if (whole.strip() and int(over) >= int(under)) or int(under) > _FINEST:
            raise LengthError(f"{written(value)}, with a fraction of {fraction}", _FRACTION_WORDS, _SLIP)
        total += int(over) / int(under)
    return total


def _terms(text: str, value: str) -> list[tuple[float, str]]:
    """Split ``text`` into amounts with units; feet and inches may stand together.

    Raises
    ------
    LengthError
        When a unit is unknown, or units do not go together.
    """
    terms: list[tuple[float, str]] = []
    position = 0
    while position < len(text):
        match = _TERM.match(text, position)
        if not match:
            break
        amount_text = re.sub(r"\s*/\s*", "/", match.group(1))
        word = match.group(2)
        unit = _SPELLINGS.get(word.lower(), word.lower())
        if unit not in MM_PER_UNIT:
            raise LengthError(
                f'{written(value)} with the unknown unit "{word}"', LENGTH_WORDS, "Use mm, cm, m, in or ft."
            )
        terms.append((_amount(amount_text, value), unit))
        position = match.end()
    rest = text[position:].strip()
    if rest and re.fullmatch(_NUMBER, rest):
        raise LengthError(*_without_unit(value, rest, terms))
    units = [unit for _, unit in terms]
    if rest or not terms or (len(terms) > 1 and units != ["ft", "in"]):
        remedy = (
            COMMA_REMEDY if COMMA_IN_NUMBER.search(value) else "Write one number with its unit, or feet and inches."
        )
        raise LengthError(written(value), LENGTH_WORDS, remedy)
    if units == ["ft", "in"] and terms[1][0] >= _INCHES_PER_FOOT:
        raise LengthError(f"{written(value)}, with a foot or more in its inches", "inches under 12 behind feet", _SLIP)
    if not all(math.isfinite(amount) for amount, _ in terms):
        raise LengthError(f"{written(value)}, too large to use", LENGTH_WORDS, "Check the digits.")
    return terms


def _without_unit(value: str, rest: str, terms: Sequence[tuple[float, str]]) -> tuple[str, str, str]:
    """Return what is wrong with a number without a unit, alone or behind ``terms`` that have theirs."""
    if not terms:
        remedy = f'Write "{rest} mm", "{rest} m" or "{rest} in" as meant.'
        return f"{written(value)} without a unit", LENGTH_WORDS, remedy
    feet = [unit for _, unit in terms] == ["ft"]
    remedy = f'Write "{terms[0][0]:g} ft {rest} in".' if feet else "Write one number with its unit."
    return f"{written(value)}, of which {rest} has no unit", LENGTH_WORDS, remedy


def _pitch_of_parts(rise: str, run: str, value: str) -> float:
    if re.fullmatch(_NUMBER, rise) and re.fullmatch(_NUMBER, run):
        return _pitch(_amount(rise, value), _amount(run, value), value)
    try:
        return _pitch(length_mm(rise), length_mm(run), value)
    except LengthError as error:
        raise AngleError(
            written(value), PITCH_WORDS, "Write two plain numbers, or two lengths each with its unit."
        ) from error


def _pitch_of_table(table: Mapping[object, object]) -> float:
    if set(table) != {"rise", "run"}:
        keys = ", ".join(str(key) for key in table) or "nothing"
        raise AngleError(f"a table with {keys}", "a table with rise and run", "Write {rise = 2100, run = 3000}.")
    try:
        return _pitch(length_mm(table["rise"]), length_mm(table["run"]), "the table")
    except LengthError as error:
        raise AngleError(error.found, f"rise and run each {LENGTH_WORDS}", error.remedy) from error


def _pitch(rise: float, run: float, value: str) -> float:
    if not (math.isfinite(rise) and math.isfinite(run)) or run <= 0:
        raise AngleError(f"a run of zero in {written(value)}", "a run above zero", "Write rise first, then run.")
    return math.degrees(sure.atan2(rise, run))
