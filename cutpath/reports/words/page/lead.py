"""The lead of a batch code by code, as a table and as bars to one scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from math import fsum

from cutpath.paper.markup import drawing, element, hatched, html_table, rectangle, svg
from cutpath.paper.text import ROUNDED, kilograms, percent, square_metres
from cutpath.reports.account.yield_tables import ends_in_words
from cutpath.reports.account.yields import DRAWN, Account, GroupTally
from cutpath.values.survey import Lead


def lead_html(account: Account, leads: Sequence[Lead]) -> str:
    """Say of each code, and of all, what was bought, drawn, cut, kept and lost."""
    head: tuple[str, ...] = (
        "lead", "bought kg", "drawn kg", "drawn m²", "pieces kg", "kept kg", "scrap kg", "scrap m²", "yield", "ceiling",
    )  # fmt: skip
    bought, ends = account["totals"]["least"] != DRAWN, ends_in_words(account["totals"])
    if bought:
        head = (*head, "pieces / bought")
    names = {lead.material: f"{lead.material}, {lead.colour}" for lead in leads}
    groups: list[tuple[str, GroupTally]] = [(names[lead], group) for lead, group in account["materials"].items()]
    several = len(groups) != 1  # of one lead alone the total would say everything twice
    groups += [("total", account["totals"])] if several else []
    rows = [
        (
            name,
            kilograms(g["bought_kg"]),
            kilograms(g["drawn_kg"]),
            square_metres(g["drawn_mm2"]),
            kilograms(g["pieces_kg"]),
            kilograms(g["offcuts_kg"]),
            kilograms(g["scrap_kg"]),
            square_metres(g["scrap_mm2"]),
            percent(g["yield"]),
            percent(min(1.0, g["pieces_mm2"] / g["bound_mm2"]) if g["bound_mm2"] else None),
            *((percent(g["yield_bought"]),) if bought else ()),
        )
        for name, g in groups
    ]
    return element(
        "section",
        element("h2", "Lead", id="lead"),
        html_table(head, rows, left=frozenset({0}), total=several, caption="Lead by code"),
        element(
            "p",
            "Bought: whole rolls. Drawn: off the roll up to the square cross-cut; the rest stays on the roll. "
            f"{ends}{' ' * bool(ends)}"
            f"Yield: pieces over drawn, by area. Ceiling: the most that any layout could yield. {ROUNDED}",
            class_="note",
        ),
        _bars(groups),
        class_="account",
    )


def _bars(groups: Sequence[tuple[str, GroupTally]]) -> str:
    """Draw bars of drawn lead to one scale: pieces grey, kept offcuts outlined, scrap hatched."""
    practices = [g["common_practice"] if g["least"] == DRAWN else None for _, g in groups]
    longest = max([g["drawn_kg"] for _, g in groups] + [p["drawn_kg"] for p in practices if p is not None])
    if longest <= 0:
        return ""
    beside = ", beside one piece after another" if any(practices) else ""
    one_by_one = " One by one: each from the narrowest roll that holds it." if any(practices) else ""
    edge, gap = 0.5, 2.2
    parts: list[str] = []
    y = edge
    for (name, group), practice in zip(groups, practices, strict=True):
        bars = [(name, group["pieces_kg"], group["offcuts_kg"], group["scrap_kg"])]
        if practice is not None:
            kept = practice["drawn_kg"] - practice["scrap_kg"] - group["pieces_kg"]
            bars.append(("one by one", group["pieces_kg"], kept, practice["scrap_kg"]))
        for i, (words, *masses) in enumerate(bars):
            parts += _bar(words, masses, y, _FULL / longest, soft=bool(i))
            y += _HEIGHT + 0.8
        y += gap
    picture = svg(186.0, y - gap, *parts, title="Drawn lead: pieces, kept offcuts and scrap" + beside)
    told = f" pieces dark, kept offcuts outlined, scrap hatched.{one_by_one}"
    title = element("p", element("b", "Lead drawn:"), escape(told), class_="note")
    return element("div", title, drawing(picture), class_="together")


_LEFT, _FULL, _HEIGHT = 42.0, 118.0, 3.6
"""Where bars begin, the length of the longest, and how thick they are, in mm."""


def _bar(words: str, masses: Sequence[float], y: float, per_kg: float, *, soft: bool) -> Iterator[str]:
    """Draw one bar of pieces, kept offcuts and scrap, its name before it and its mass behind."""
    class_, x = "words soft" if soft else "words", _LEFT
    yield element("text", escape(words), x=_LEFT - 2.0, y=y + 2.8, text_anchor="end", class_=class_)
    for part, mass in zip(("bar", "kept", "scrap"), masses, strict=True):
        box = (x, y, mass * per_kg, _HEIGHT)
        if box[2] > 0:
            yield hatched(*box) if part == "scrap" else rectangle(part, *box)
        x += box[2]
    yield element("text", f"{kilograms(fsum(masses))} kg", x=x + 1.5, y=y + 2.8, class_="words")
