"""A shop's own prices, and a job priced by them. Money is decimal throughout."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from cutpath.values.survey import Job


class Charge(StrEnum):
    """Which lead of a job is charged: its pieces, those and their scrap, or all that is drawn off the rolls for it."""

    PIECES = "pieces"
    USED = "used"
    DRAWN = "drawn"


class Per(StrEnum):
    """What work is counted by."""

    METRE = "m"
    MINUTE = "min"
    FOLD = "fold"
    CORNER = "corner"


@dataclass(frozen=True, slots=True)
class Work:
    """How one kind of work is charged; ``price`` None: it is included in other prices.

    ``metres_per_minute`` turns metres into minutes, where work is counted by the minute.
    """

    per: Per
    price: Decimal | None
    metres_per_minute: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Prices:
    """Everything that a shop asks money for; what is None has no price.

    Attributes
    ----------
    file : str
        Name of the file that they stand in, without its folder.
    currency : str
        As it is printed beside figures.
    places : int
        Decimals of an amount.
    charge : Charge
    lead : mapping of int to Decimal
        A kilogram by code.
    cutting, folding, welding : Work or None
    scrap, kept : Decimal or None
        Credit for a kilogram of scrap and of kept offcuts.
    markup_lead, markup_work, tax : Decimal or None
        Per cent.
    tax_name : str
    valid_days : int or None
    heading, notes : tuple of str
        Lines for the head and the foot of a quote.
    """

    file: str
    currency: str
    places: int
    charge: Charge
    lead: Mapping[int, Decimal]
    cutting: Work | None
    folding: Work | None
    welding: Work | None
    scrap: Decimal | None
    kept: Decimal | None
    markup_lead: Decimal | None
    markup_work: Decimal | None
    tax: Decimal | None
    tax_name: str
    valid_days: int | None
    heading: tuple[str, ...]
    notes: tuple[str, ...]


class LineKind(StrEnum):
    """What a line of a quote is for."""

    LEAD = "lead"
    WORK = "work"
    CREDIT = "credit"
    MARKUP = "mark-up"
    TAX = "tax"


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line of a quote: so much of something at a price; ``amount`` None where nothing prices it.

    ``included`` tells that it is charged in other prices. ``price`` of a mark-up or a tax is a percentage.
    """

    kind: LineKind
    what: str
    quantity: Decimal
    unit: str
    price: Decimal | None
    amount: Decimal | None
    code: int | None = None
    included: bool = False


@dataclass(frozen=True, slots=True)
class Quote:
    """A job priced: its lines, what they rest on in words, and what has no price.

    Amounts are rounded line by line, so that they add up to the totals exactly.
    """

    job: Job
    prices: Prices
    on: date
    lines: tuple[QuoteLine, ...]
    basis: tuple[str, ...]

    @property
    def valid_until(self) -> date | None:
        """The last day on which it holds, None where the prices do not say."""
        return self.on + timedelta(days=self.prices.valid_days) if self.prices.valid_days else None

    @property
    def missing(self) -> tuple[str, ...]:
        """What nothing prices."""
        return tuple(line.what for line in self.lines if line.amount is None and not line.included)

    @property
    def net(self) -> Decimal | None:
        """The sum of all that is priced before tax, None where nothing is."""
        return _sum([line for line in self.lines if line.kind is not LineKind.TAX])

    @property
    def total(self) -> Decimal | None:
        """The sum of all lines that are priced, None where none is."""
        return _sum(self.lines)


def _sum(lines: tuple[QuoteLine, ...] | list[QuoteLine]) -> Decimal | None:
    amounts = [line.amount for line in lines if line.amount is not None]
    return sum(amounts, Decimal(0)) if amounts else None
