"""The shop's prices: one TOML file of its own, checked and made frozen `Prices`. None come with the tool."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator, Field

from cutpath.errors import Finding, Refused, Severity
from cutpath.intake.checking import THAT_PRINT, Strict, check
from cutpath.intake.files import read_text
from cutpath.intake.parsing import parse_toml
from cutpath.profiles import lead_table
from cutpath.units import NotUnderstoodError, written
from cutpath.values.price import Charge, Per, Prices, Work

_DECIMALS = 4
_MOST = 1_000_000
_ALONE = "Write the figure alone, its decimals with a point; the currency has a key of its own."


def _figure(value: object) -> object:
    """Read a figure as it is written, without the detour over binary fractions.

    Raises
    ------
    NotUnderstoodError
        When it is none, is below zero, too large or too fine.
    """
    text = str(value).strip()
    try:
        figure = Decimal(text) if isinstance(value, int | float | str) and not isinstance(value, bool) else None
    except InvalidOperation:
        figure = None
    accepted = f"a figure from 0 to {_MOST}, with {_DECIMALS} decimals at most, such as 4.25"
    if figure is None or not figure.is_finite() or not 0 <= figure <= _MOST:
        raise NotUnderstoodError(written(value), accepted, _ALONE)
    if figure != round(figure, _DECIMALS):
        raise NotUnderstoodError(written(value), accepted, "Write it with fewer decimals.")
    return figure


def _percent(value: object) -> object:
    """Read a figure per cent; a bare one under 1 is a share, as spreadsheets keep it.

    Raises
    ------
    NotUnderstoodError
        As `_figure`, and for a share.
    """
    figure = _figure(value)
    if not isinstance(value, str) and isinstance(figure, Decimal) and 0 < figure < 1:
        percent = f"{(100 * figure).normalize():f}"
        raise NotUnderstoodError(
            written(value), "a figure per cent, such as 20", f'Write {percent} for {percent} per cent; "{value}" in '
            f"quotes is {value} per cent.",
        )  # fmt: skip
    return figure


_Money = Annotated[Decimal, BeforeValidator(_figure)]
_Percent = Annotated[Decimal, BeforeValidator(_percent), Field(le=1000)]
_Words = Annotated[str, Field(min_length=1, max_length=200), THAT_PRINT]


class _Work(Strict):
    included: bool = Field(default=False, description="true where the other prices hold it")


class _Cutting(_Work):
    metre: _Money | None = Field(default=None, description="a metre of cut")
    minute: _Money | None = Field(default=None, description="a minute of cutting, with metres_per_minute")
    metres_per_minute: Annotated[Decimal, BeforeValidator(_figure), Field(gt=0)] | None = Field(
        default=None, description="how many metres are cut in a minute"
    )


class _Folding(_Work):
    fold: _Money | None = Field(default=None, description="a fold")


class _Welding(_Work):
    metre: _Money | None = Field(default=None, description="a metre of leadwelded seam")
    corner: _Money | None = Field(default=None, description="a leadwelded corner, sleeve or notch")


class _Credit(Strict):
    scrap: _Money | None = Field(default=None, description="back for a kilogram of scrap")
    kept: _Money | None = Field(default=None, description="back for a kilogram of kept offcuts")


class _Markup(Strict):
    lead: _Percent | None = Field(default=None, description="per cent on the lead")
    work: _Percent | None = Field(default=None, description="per cent on the work")
    in_prices: bool = Field(
        default=False, description="true to put both into the prices of their lines, so that the customer sees no line"
    )


class _Tax(Strict):
    name: _Words = "tax"
    percent: _Percent = Field(description="per cent on all of it")


class _File(Strict):
    currency: Annotated[str, Field(min_length=1, max_length=12), THAT_PRINT] = Field(
        description="as it stands beside figures"
    )
    places: Annotated[int, Field(ge=0, le=3)] = Field(default=2, description="decimals of an amount")
    charge: Annotated[Charge, Field(strict=False)] = Field(
        default=Charge.USED,
        description="which lead is charged: pieces, used (with its scrap) or drawn (with kept offcuts)",
    )
    valid_days: Annotated[int, Field(ge=1, le=365)] | None = Field(
        default=None, description="for how long a quote holds"
    )
    heading: list[_Words] = Field(default=[], description="lines for the head of a quote")
    notes: list[_Words] = Field(default=[], description="lines for the foot of a quote")
    lead: dict[str, _Money] = Field(default={}, description="a kilogram of lead by code")
    cutting: _Cutting | None = None
    folding: _Folding | None = None
    welding: _Welding | None = None
    credit: _Credit = _Credit()
    markup: _Markup = _Markup()
    tax: _Tax | None = None


def read_prices(file: str | Path) -> Prices:
    """Read a shop's prices.

    Raises
    ------
    Refused
        CP206 with every fault of the file, each with its key path.
    """
    name = str(file)
    text = read_text(file)
    raw = text if isinstance(text, Finding) else parse_toml(text, name)
    if isinstance(raw, Finding):
        raise Refused([Finding("CP206", raw.where, raw.found, raw.accepted, raw.remedy)])
    table, faults = check(_File, raw, name, code="CP206")
    if table is None:
        raise Refused(finding for _, finding in faults)
    if found := [*_clashes(table, name)]:
        raise Refused(found)
    return _frozen(table, Path(name).name)


def odd_prices(own: Prices) -> list[Finding]:
    """Doubt prices of lead that are many times each other: a kilogram of one code is worth about that of another."""
    by_price = sorted((price, code) for code, price in own.lead.items())
    if not by_price or by_price[-1][0] <= _APART * by_price[0][0]:
        return []
    (least, cheap), (most, dear) = by_price[0], by_price[-1]
    return [
        Finding(
            "CP206",
            f"{own.file}: lead",
            f"{most} for a kilogram of code {dear}, {least} for one of code {cheap}",
            f"usual: prices within {_APART} times of each other",
            "Check where the decimal point stands, and whether both are in the same money.",
            Severity.WARNING,
        )
    ]


_APART = 3
"""Prices of codes differ by what rolling them costs, some per cent; this is a slip of the point or of the money."""


def _fault(where: str, found: str, accepted: str, remedy: str) -> Finding:
    return Finding("CP206", where, found, accepted, remedy)


def _clashes(table: _File, where: str) -> Iterator[Finding]:
    """Find prices of nothing that there is, and those of which only one can hold."""
    codes = {str(code) for code in lead_table()}
    for code in table.lead:
        if code not in codes:
            yield _fault(
                f"{where}: lead.{code}", f"code {code}", f"one of {', '.join(sorted(codes))}", "Correct the code."
            )
    ways: tuple[tuple[str, _Work | None, tuple[str, ...]], ...] = (
        ("cutting", table.cutting, ("metre", "minute", "included")),
        ("folding", table.folding, ("fold", "included")),
        ("welding", table.welding, ("metre", "corner", "included")),
    )
    for key, work, names in ways:
        given = [name for name in names if getattr(work, name, None) is not None and getattr(work, name) is not False]
        if work is not None and len(given) != 1:
            yield _fault(
                f"{where}: {key}", " and ".join(given) or "no price", f"one of {', '.join(names)}",
                "Charge it in one way; leave the whole table out where it has no price.",
            )  # fmt: skip
    cutting = table.cutting
    if cutting is not None and (cutting.minute is None) != (cutting.metres_per_minute is None):
        yield _fault(
            f"{where}: cutting.metres_per_minute", "minute without metres_per_minute, or the other way round", "both",
            "Time how many metres you cut in a minute, and write it in.",
        )  # fmt: skip
    dearest = max(table.lead.values(), default=None)
    for key, credit in (("scrap", table.credit.scrap), ("kept", table.credit.kept)):
        if credit is not None and dearest is not None and credit > dearest:
            yield _fault(
                f"{where}: credit.{key}", f"{credit} back for a kilogram", f"what lead costs, {dearest} at most",
                "Check both: new lead is not cheaper than old.",
            )  # fmt: skip
    for key, credit, fitting in (
        ("scrap", table.credit.scrap, (Charge.USED, Charge.DRAWN)),
        ("kept", table.credit.kept, (Charge.DRAWN,)),
    ):
        if credit is not None and table.charge not in fitting:
            yield _fault(
                f"{where}: credit.{key}", f'a credit for what charge = "{table.charge}" does not charge',
                f"charge = {' or '.join(fitting)}", "Take the credit out, or charge that lead.",
            )  # fmt: skip


def _cutting(table: _Cutting) -> Work:
    if table.minute is not None:
        return Work(Per.MINUTE, table.minute, table.metres_per_minute or Decimal(1))
    return Work(Per.METRE, table.metre)


def _welding(table: _Welding) -> Work:
    return Work(Per.METRE, table.metre) if table.corner is None else Work(Per.CORNER, table.corner)


def _frozen(table: _File, name: str) -> Prices:
    own = Prices(
        file=name,
        currency=table.currency,
        places=table.places,
        charge=table.charge,
        lead={int(code): price for code, price in table.lead.items()},
        cutting=None if table.cutting is None else _cutting(table.cutting),
        folding=None if table.folding is None else Work(Per.FOLD, table.folding.fold),
        welding=None if table.welding is None else _welding(table.welding),
        scrap=table.credit.scrap,
        kept=table.credit.kept,
        markup_lead=table.markup.lead,
        markup_work=table.markup.work,
        tax=None if table.tax is None else table.tax.percent,
        tax_name="tax" if table.tax is None else table.tax.name,
        valid_days=table.valid_days,
        heading=tuple(table.heading),
        notes=tuple(table.notes),
    )
    return _marked_up(own) if table.markup.in_prices else own


def _marked_up(own: Prices) -> Prices:
    """Return prices that hold their mark-up, each rounded as it is printed."""
    to = Decimal(1).scaleb(-max(own.places, 2))

    def up(price: Decimal, percent: Decimal | None) -> Decimal:
        return (price * (1 + (percent or 0) / Decimal(100))).quantize(to, ROUND_HALF_UP)

    def works(work: Work | None) -> Work | None:
        return work if work is None or work.price is None else replace(work, price=up(work.price, own.markup_work))

    return replace(
        own,
        lead={code: up(price, own.markup_lead) for code, price in own.lead.items()},
        cutting=works(own.cutting),
        folding=works(own.folding),
        welding=works(own.welding),
        markup_lead=None,
        markup_work=None,
    )
