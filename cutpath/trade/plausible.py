"""Sizes against what they usually are and can be: a slip of the tape or of the unit is found, and guessed.

The ranges are data (``profiles/plausible``). Outside what is usual a warning asks for a second look; outside what is
possible the job is refused, unless whoever measured the size confirms it and it can be true at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median_high, median_low
from typing import Final

from cutpath.errors import Finding, Severity
from cutpath.tolerances import LEAST_CLEAR_MM, POINT_MM, READ_MM
from cutpath.trade.rules import said
from cutpath.units import MM_PER_UNIT, meant_as_ratio, unlike
from cutpath.values.fact import Plausible
from cutpath.values.nest import Blank, Roll
from cutpath.values.settings import Settings

Sizes = Mapping[str, Plausible]

LONGEST_RUN_MM: Final = 100_000.0
"""No run of flashing on a building is longer than 100 m, whoever confirms it."""

_UNITS: Final = ("m", "cm", "in", "ft")
"""What a bare number may have been meant in, the likeliest first."""

_SIZED_TEXT: Final = re.compile(r"\s*(\d+(?:\.\d+)?|\.\d+)\s*(mm|cm|m|in|ft)\s*", re.IGNORECASE)
_MOST_GUESSES: Final = 2
_COUNTED: Final = ("sets", "soakers")
_NUMBERS: Final = frozenset({"sets", "soakers", "joints", "pieces"})
"""Units of what is a number of things already, as in "the number of sets"."""
_SAID: Final = {
    Severity.FAULT: "cannot be",
    Severity.WARNING: "is seldom",
    Severity.NOTE: "is confirmed as",
}
_KEPT: Final = {Severity.FAULT: "possible", Severity.WARNING: "usual", Severity.NOTE: "usual"}


@dataclass(frozen=True, slots=True)
class Written:
    """A size as it stands in a file: its place there, its value, what was written, and how it may be confirmed.

    ``confirm`` is the line that lets it pass, such as ``confirmed = ["length"]``; empty where there is none.
    """

    where: str
    value: float
    text: object
    confirm: str = ""
    confirmed: bool = False


def check_size(size: Plausible, given: Written) -> Finding | None:
    """Hold one size against its range.

    Returns
    -------
    Finding or None
        CP112: a fault outside what is possible, a warning outside what is usual, a note where it was confirmed; None
        where nothing is odd about it.
    """
    severity = _weight(size, given)
    if severity is None:
        return _speck(size, given) if size.name in _TAPED else None
    low, high = size.possible if severity is Severity.FAULT else size.usual
    said = _SAID[severity]
    told = f"{given.value:g}" if size.unit in _NUMBERS else _amount(given.value, size.unit)
    told = unlike(told, given.value, lambda value: _amount(value, size.unit), low, high)
    return Finding(
        "CP112",
        given.where,
        f"{told}{_bare(given, size)} {said} the {size.of}",
        f"{_KEPT[severity]}: {low:g} to {_amount(high, size.unit)} ({size.founded_on})",
        _remedy(size, given, severity),
        severity,
    )


def check_specks(
    size: Plausible, ring: Sequence[Sequence[float]], where: str, confirm: str = "", *, confirmed: bool = False
) -> Iterator[Finding]:
    """Doubt coordinates of a ring that are next to nothing, and so are most likely metres among millimetres.

    ``where`` is the place of the ring, ``confirm`` how they may be confirmed.
    """
    odd = [
        (f"{where}[{place}][{axis}]", value)
        for place, point in enumerate(ring, start=1)
        for axis, value in enumerate(point, start=1)
        if POINT_MM < abs(value) < READ_MM
    ]
    if odd:
        at, value = odd[0]
        more = f" (and {len(odd) - 1} more)" if odd[1:] else ""
        yield from filter(None, [_speck(size, Written(at, value, value, confirm, confirmed), more)])


def _speck(size: Plausible, given: Written, more: str = "") -> Finding | None:
    """Doubt a length that is next to nothing, though zero would do."""
    if not POINT_MM < abs(given.value) < READ_MM:
        return None
    severity = Severity.NOTE if given.confirmed else Severity.WARNING
    found = f"{_amount(given.value, size.unit)}{more} is less than a tape reads"
    guesses = [] if isinstance(given.text, str) else [f'"{given.value:.6g} m"']
    remedy = _remedy(size, given, severity, guesses)
    return Finding("CP112", given.where, found, f"usual: 0, or {READ_MM:g} mm and more", remedy, severity)


_TAPED: Final = frozenset({"first joint", "set back", "past the arris", "return foot", "clearance"})
"""Lengths that may be zero, so that one in metres among millimetres lies within what is usual."""


_SLOPES: Final = frozenset({"pitch", "rake"})
_OR_LEVEL: Final = frozenset({"rake"})
"""Slopes that may be none, and no less than usual where there is one."""


def _weight(size: Plausible, given: Written) -> Severity | None:
    if size.name in _OR_LEVEL and given.value == 0:
        return None
    if _within(given.value, size.usual):
        return None
    if _within(given.value, size.possible):
        return Severity.NOTE if given.confirmed else Severity.WARNING
    return Severity.NOTE if given.confirmed and _can_be(size, given.value) else Severity.FAULT


def _can_be(size: Plausible, value: float) -> bool:
    """Tell whether a size outside what is possible may be true all the same."""
    in_reach = value == 0 or READ_MM <= abs(value) <= LONGEST_RUN_MM
    return size.confirmable and (in_reach or size.unit != "mm")


def _within(value: float, span: tuple[float, float]) -> bool:
    return span[0] <= value <= span[1]


def _amount(value: float, unit: str) -> str:
    return f"{value:.6g} {unit}"


def _bare(given: Written, size: Plausible) -> str:
    """Say how a length was written, where that may be the slip."""
    if size.unit != "mm":
        return ""
    if isinstance(given.text, str):
        return f', written "{given.text}",'
    return ", a bare number," if given.text is not None else ""


def _remedy(size: Plausible, given: Written, severity: Severity, guesses: Sequence[str] | None = None) -> str:
    if severity is Severity.NOTE:
        return "Nothing to do: it is confirmed, and listed so that whoever cuts knows."
    guesses = meant(size, given) if guesses is None else guesses
    asked = f"Did you mean {' or '.join(guesses)}? " if guesses else "Measure again, and check the unit. "
    if not given.confirm or not (severity is Severity.WARNING or _can_be(size, given.value)):
        return asked.strip()
    right = _amount(given.value, size.unit)
    return f"{asked}If {right} is right, add {given.confirm} to the same table."


def meant(size: Plausible, given: Written) -> list[str]:
    """Return what was probably meant, as it should be written: at most two guesses, all of them usual."""
    if size.name in _SLOPES and not isinstance(given.text, str):
        return meant_as_ratio(given.value)
    if size.unit != "mm":
        fewer = (10, 100, 1000) if size.unit in _COUNTED and given.value > size.usual[1] else ()
        values = [given.value / factor for factor in fewer]
        return [f"{value:g}" for value in values if _within(value, size.usual) and value == int(value)][:1]
    out = [
        words
        for words, value in _guesses(given)
        if _within(value, size.usual) and (value > given.value) == (given.value < size.usual[0])
    ]
    return out[:1] if out[:1] and out[0].endswith(' m"') else out[:_MOST_GUESSES]


def _guesses(given: Written) -> Iterable[tuple[str, float]]:
    """Return other readings of what was written, each with its millimetres: first other units, then digits."""
    text = _SIZED_TEXT.fullmatch(given.text) if isinstance(given.text, str) else None
    if isinstance(given.text, str) and text is None:
        return
    number = float(text[1]) if text else given.value
    own = text[2].lower() if text else "mm"
    for unit in ("mm", *_UNITS):
        if unit != own:
            yield f'"{number:.6g} {unit}"', number * MM_PER_UNIT[unit]
    for factor in (0.1, 10, 0.01, 100, 0.001):
        moved = number * factor
        mm = moved * MM_PER_UNIT[own]
        if text or mm < 10 or abs(mm - round(mm)) < POINT_MM:  # nobody reads 40.5 off a tape
            yield (f'"{moved:.6g} {own}"' if text else f"{moved:.6g}"), mm


def check_total(size: Plausible, where: str, value: float, most: str, advice: str) -> Finding | None:
    """Hold a total against its range; ``most`` says what makes up the most of it, ``advice`` what to do."""
    given = Written(where, value, None)
    severity = _weight(size, given)
    if severity is None:
        return None
    limit = size.possible[1] if severity is Severity.FAULT else size.usual[1]
    return Finding(
        "CP112",
        where,
        f"{value:,.0f}{'' if size.unit in _NUMBERS else f' {size.unit}'} {_SAID[severity]} the {size.of}; {most}",
        f"{_KEPT[severity]}: up to {limit:,.0f} {size.unit} ({size.founded_on})",
        advice,
        severity,
    )


def check_rolls(sizes: Sizes, rolls: Iterable[Roll], file: str, leads: int = 1) -> list[Finding]:
    """Hold the rolls of a list against what rolls can be; ``file`` names the list, ``leads`` how many codes are cut."""
    found: list[Finding] = []
    rolls = tuple(rolls)
    prices: dict[str, list[float]] = {}
    for roll in rolls:
        prices.setdefault(roll.material, []).extend([_price_m2(roll)] if roll.price else [])
    usual = {material: (median_low(told), median_high(told)) for material, told in prices.items() if told}
    for number, roll in enumerate(rolls, start=1):
        where, sides = f"{file}: rolls[{number}]", {"width": roll.width_mm, "length": roll.length_mm}
        held = (_in_mm(sizes[_side_of(s, whole=not roll.in_stock)], f"{where}.{s}_mm", mm) for s, mm in sides.items())
        found += _turned(sizes, sides, held, whole=not roll.in_stock)
        found += _offcut(roll, where, leads) if roll.offcut else ()
        found += _dear(_price_m2(roll), usual[roll.material], where) if roll.price else ()
    return found


def _side_of(side: str, *, whole: bool) -> str:
    """Return the range that goes with a side of a roll; what is whole is longer than what lies there."""
    return f"{'whole ' if whole and side == 'length' else ''}roll {side}"


_TIMES_THE_PRICE: Final = 4.0
"""Lead of one code does not cost so many times as much from roll to roll (our own figure): it is another's price."""


def _dear(own: float, usual: tuple[float, float], where: str) -> Iterator[Finding]:
    """Doubt a price a m2 that is many times, or a small part of, those in the middle of the rolls of its lead."""
    near = usual[0] if own > usual[0] else usual[1]
    if not 1 / _TIMES_THE_PRICE < own / near < _TIMES_THE_PRICE:
        found = f"a price of {own:.4g} a m2, and {near:.4g} for other rolls of the same lead"
        yield Finding("CP112", f"{where}.price", found, "usual: much the same", "Check the price.", Severity.WARNING)


def _price_m2(roll: Roll) -> float:
    """Return what a m2 of a roll costs."""
    width, length = (side / MM_PER_UNIT["m"] for side in (roll.width_mm, roll.length_mm))
    return (roll.price or 0.0) / (width * length)


def _offcut(roll: Roll, where: str, leads: int) -> Iterator[Finding]:
    """Doubt an offcut of which there would be as many as wanted, or one for each code: it lies there once."""
    if roll.quantity is None:
        remedy = "Write quantity = 1, or how many there are."
        found = "an offcut without a quantity, so as many as wanted"
        yield Finding("CP113", where, found, "usual: how many lie there", remedy, Severity.WARNING)
    if leads > 1 and not roll.material:
        remedy = "Write its code, such as code = 4."
        found = f"an offcut without a code, counted once for each of {leads}"
        yield Finding("CP113", where, found, "usual: the code of what lies there", remedy, Severity.WARNING)


def _turned(
    sizes: Sizes, told: Mapping[str, float | None], found: Iterable[Finding | None], *, whole: bool
) -> list[Finding]:
    """Return what was found of the sides of a roll; asking for the other way round, where that would be usual."""
    width, length = told["width"], told["length"]
    kept = [finding for finding in found if finding is not None]
    usual = sizes["roll width"].usual, sizes[_side_of("length", whole=whole)].usual
    if width is None or length is None or not (_within(length, usual[0]) and _within(width, usual[1])):
        return kept
    asked = f"Did you mean {length:g} mm wide and {width:g} mm long? Else measure again."
    return [replace(finding, remedy=asked) for finding in kept[:1]]


def check_roll(sizes: Sizes, told: Mapping[str, float | None], *, whole: bool = False) -> list[Finding]:
    """Hold the sides of a roll, as options of a command tell them, against what rolls can be; None is not told."""
    found = (
        check_size(sizes[_side_of(side, whole=whole)], Written(f"--{side}", value, None))
        for side, value in told.items()
        if value is not None
    )
    return _turned(sizes, told, found, whole=whole)


_WEIGHED: Final = 0.25
"""Parts of what the books have by which scrap may weigh less or more (our own figure): sheet differs by a twentieth
(a text that restates BS EN 12588, which was not read), and dirt is weighed with it."""


def check_weighed(booked_kg: float, weighed_kg: float) -> list[Finding]:
    """Doubt a weight of scrap that is far from what the books have of it."""
    if abs(weighed_kg - booked_kg) <= _WEIGHED * booked_kg:
        return []
    found = f"{weighed_kg:,.2f} kg on the scales, and {booked_kg:,.2f} kg by the books"
    accepted = f"usual: within {_WEIGHED * 100:g} % of the books (our own figure)"
    remedy = "Weigh it again, and commit every run that is cut; cutpath stock undo takes a wrong weight back."
    return [Finding("CP112", "--weighed", found, accepted, remedy, Severity.WARNING)]


def check_clear(sizes: Sizes, settings: Settings, gap_mm: float, gap_in: str) -> list[Finding]:
    """Hold what a nest keeps clear, and keeps, against what is usual; ``gap_in`` is where the gap stands."""
    trim, finger = "settings: edge_trim", sizes["roll width"].possible[0]
    asked = (("gap", gap_in, gap_mm), ("edge trim", trim, settings.edge_trim_mm))
    held = (check_size(sizes[name], Written(where, value, None)) for name, where, value in asked)
    found = [finding for finding in held if finding is not None]
    kept = (settings.offcuts.least_length_mm, settings.offcuts.least_width_mm)
    small = [(where, value, LEAST_CLEAR_MM) for _, where, value in asked]
    for where, value, least in (*small, *(("settings: keep", value, finger) for value in kept)):
        if 0 < value < least:
            what, remedy = f"{value:g} mm is next to nothing", f'Did you mean "{value:.6g} m"?'
            usual = f"usual: 0, or {least:g} mm and more"
            found.append(Finding("CP112", where, what, usual, remedy, Severity.WARNING))
    return found


def check_blanks(sizes: Sizes, blanks: Iterable[Blank], file: str) -> list[Finding]:
    """Hold plain shapes, the shorter side of each, and their number against what can be cut from one list.

    ``file`` names the list.
    """
    blanks = tuple(blanks)
    found: list[Finding | None] = []
    for number, blank in enumerate(blanks, start=1):
        where, width = f"{file}: pieces[{number}]", min(max(s) - min(s) for s in zip(*blank.outline, strict=True))
        odd = _in_mm(sizes["plain shape"], f"{where}.outline", width)
        rings = [("outline", blank.outline), *((f"holes[{n}]", hole) for n, hole in enumerate(blank.holes, start=1))]
        specks = (f for key, ring in rings for f in check_specks(sizes["coordinate"], ring, f"{where}.{key}"))
        found += [odd] if odd else specks
    count = sum(blank.quantity for blank in blanks)
    most = max(blanks, key=lambda blank: blank.quantity)
    many = check_total(
        sizes["pieces of a batch"], f"{file}: pieces", count, f"{most.quantity:,} of it are {most.id}",
        "Check the quantities. If they are right, nest them in several lists.",
    )  # fmt: skip
    return [finding for finding in (*found, many) if finding is not None]


def _in_mm(size: Plausible, where: str, value: float) -> Finding | None:
    """Hold a figure of a list in mm; another unit without its name is the slip that is made there."""
    given = Written(where, value, None)
    finding = check_size(size, given)
    if finding is None:
        return None
    metres, guesses = value * MM_PER_UNIT["m"], meant(size, given)
    asked = f"Did you mean {' or '.join(guesses)}?" if guesses else "Measure again;"
    guess = f'Write {metres:.6g} or "{value:.6g} m";' if _within(metres, size.usual) else asked
    bare = "bare" if guess.endswith(";") else "Bare"
    return replace(finding, remedy=f"{guess} {bare} numbers of this list are in mm.")


def own_sizes(sizes: Sizes, usual: Sizes, file: str) -> list[Finding]:
    """Say which ranges of sizes a shop has set itself; ``usual`` are those that come with the tool.

    Returns
    -------
    list of Finding
        A note to each: CP320 where it lets more pass, CP321 otherwise.
    """
    out = []
    for name, own in sizes.items():
        old = usual[name]
        if own != old:
            wider = own.possible[0] < old.possible[0] or own.possible[1] > old.possible[1]
            sentence = "shop_range_wider" if wider else "shop_range"
            out.append(
                said(
                    sentence,
                    f"{file}: {name}",
                    of=own.of,
                    own=span_text(own),
                    source=own.source,
                    old=span_text(old),
                    old_founded_on=old.founded_on,
                )
            )
    return out


def span_text(size: Plausible) -> str:
    """Write what a size usually is and can be."""
    usual, possible = (f"{low:g} to {_amount(high, size.unit)}" for low, high in (size.usual, size.possible))
    return f"{usual} usual, {possible} possible"
