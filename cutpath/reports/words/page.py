"""The page to print: what was drawn and what for, every roll as a picture, every job's cutting list.

One HTML file with its style and pictures inside; nothing is fetched, nothing runs.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TypeVar

from cutpath.errors import Finding, Severity
from cutpath.paper.fixing_marks import fixing_key
from cutpath.paper.markup import HERE, drawing, element, framed, hatched, html_table, number, path, svg
from cutpath.paper.text import (
    ROUNDED,
    add_up,
    fixed,
    kilograms,
    millimetres,
    percent,
    rolls_named,
    square_metres,
    times,
    unbroken,
)
from cutpath.paper.wall_sheet import BESIDE
from cutpath.plane import bounds_mm
from cutpath.reports.account.buy_list import BUY, buy_cells, buy_list
from cutpath.reports.account.cutting_list import DEVELOPED, CuttingRow, cutting_list
from cutpath.reports.account.quantities import QuantityRow, quantities, quantities_html
from cutpath.reports.account.shape import movement_span, same_cut
from cutpath.reports.account.yield_tables import shown_saving_kg
from cutpath.reports.account.yields import DRAWN, PRICE, Account, GroupTally, JobTally, RollTally
from cutpath.reports.pictures.figures import captioned, folded_figure, in_pairs, wall_figures, with_key
from cutpath.reports.pictures.isometric import Folded, folded_pieces
from cutpath.reports.pictures.job_grounds import Ground, job_grounds
from cutpath.reports.pictures.pattern_picture import angle_words, fold_groups, pattern_picture
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.pictures.roll_picture import SCALE, is_short, pattern_lines, roll_rows
from cutpath.reports.words.page_style import STYLE
from cutpath.reports.words.proofs import chimney_names, proof_words
from cutpath.reports.words.shop_rules import shop_rules_html
from cutpath.reports.words.tickets import ticket_places
from cutpath.tolerances import FILE_DECIMALS
from cutpath.trade.cautions import in_short
from cutpath.values.batch import Batch, Sheet
from cutpath.values.pattern import FlatPattern
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand, Job, Lead
from cutpath.workers import each

T = TypeVar("T")

_FEW_NAMES = 12
"""Letters of roll names that stand in one line; longer lists would make the table wider than the paper."""

_KEY_MM = 62.0
"""Least width of a key beside a pattern, on paper."""

_DEGREES = re.compile(r"(?<=\d) deg\b(?!\")")
"""The unit of an angle in a sentence, but not of one that is quoted as somebody wrote it."""

_NONE = "0.00"

_ALWAYS_THERE = frozenset({"piece", "scrap", "across", "cross-cut"})
"""What the key of the rolls always tells."""

_NAMED = 3
"""Jobs that the heading names; more are in the list below it."""


def report_parts(
    batch: Batch, account: Account, cautions: Sequence[str], folded: Mapping[str, Folded] | None = None
) -> list[str]:
    """Make the whole page for a batch and its account, in parts that follow each other; the same for the same values.

    Of large batches the page is tens of MB, of which each copy would be another.

    Parameters
    ----------
    cautions : sequence of str
        Plain sentences, printed once, before anything is to be cut.
    folded : mapping of str to Folded, optional
        The pieces of the batch drawn folded up, where they are there already.
    """
    title = "Cutting report: " + "; ".join(job.name for job in batch.jobs)
    parts = _job_parts(batch, account, folded_pieces(batch) if folded is None else folded)
    tallies = {tally["id"]: tally for tally in account["rolls"]}
    patterns = {piece.id: piece.pattern for piece in batch.pieces}
    grounds = _grounds(batch)
    of_piece = {piece.id: grounds[piece.job] for piece in batch.pieces} if grounds else {}
    kinds = _alike(batch.sheets)
    laid = [
        (sheet, _on(sheet, patterns), _on(sheet, of_piece), f"{sheet.id} and {len(alike)} alike" if alike else sheet.id)
        for sheet, *alike in kinds
    ]
    shown = each("report, roll by roll", _rows_of, None, laid, sum(len(sheet.nested.placements) for sheet, *_ in laid))
    body = [
        _headline(batch, account),
        _to_fetch(batch),
        _for_whom(batch, account),
        _contents(batch, cautions),
        _findings(batch.findings, batch.jobs),
        element(
            "section",
            element(
                "div",
                element("h2", "Rolls", id="rolls"),
                element("p", escape(in_short("under Before you start")), class_="mind") if cautions else "",
                _key(laid),
                _job_key(batch, grounds),
                class_="opening",
            ),
            *in_pairs(
                (_roll(sheets, tallies[sheets[0].id], rows), is_short(sheets[0]))
                for sheets, rows in zip(kinds, shown, strict=True)
            ),
            class_="rolls",
        ),
        _by_code(account, [m.lead for m in batch.materials]),
        shop_rules_html(batch.practice),
        _cautions(cautions),
        *each("report, job by job", _job, None, parts, len(batch.pieces)),
    ]
    return list(framed(title, STYLE + PICTURE_STYLE, element("main", HERE), body))


def _to_fetch(batch: Batch) -> str:
    """List on top what to fetch from stock and what to buy."""
    listed = buy_list(batch)
    head, rows = buy_cells(listed)
    bought = bool(rows) and rows[-1][0].startswith("buy")
    table = html_table(
        head, rows, left=frozenset({0, 5}), total=bought, sparing=True, caption="Rolls to fetch and to buy"
    )
    each_kg = [row["kg"] for row in listed if row["way"] == BUY]
    note = "" if add_up(each_kg) else element("p", ROUNDED, class_="note")
    return element("section", element("h2", "Fetch and buy"), table, note, class_="account")


def _for_whom(batch: Batch, account: Account) -> str:
    """List the jobs on top: what each is called, its order and day, how much it comes to."""
    rows = []
    for job in batch.jobs:
        share = account["jobs"][job.name]
        told = (
            job.name,
            job.mark,
            job.customer or "-",
            job.site or "-",
            job.order or "-",
            job.due or "-",
            str(share["pieces"]),
            kilograms(share["pieces_kg"]),
        )
        rows.append(told)
    head = ("job", "mark", "customer", "site", "order", "due", "pieces", "kg")
    table = html_table(head, rows, left=frozenset(range(6)), sparing=True, caption="The jobs that are cut")
    return element("section", element("h2", "Jobs"), table, class_="account")


def _contents(batch: Batch, cautions: Sequence[str]) -> str:
    """Link to every part."""
    parts = [("check", "Check these")] if batch.findings else []
    parts += [("rolls", "Rolls"), ("lead", "Lead")]
    parts += [("safety", "Before you start")] if cautions else []
    parts += [(f"job-{n}", job.name) for n, job in enumerate(batch.jobs, 1)]
    items = (element("li", element("a", escape(name), href=f"#{id_}")) for id_, name in parts)
    return element("nav", element("ul", *items), aria_label="Contents", class_="contents")


def _count(pieces: int) -> str:
    return f"{pieces} piece" if pieces == 1 else f"{pieces} pieces"


def _headline(batch: Batch, account: Account) -> str:
    totals = account["totals"]
    practice = totals["common_practice"]
    kept = kilograms(totals["offcuts_kg"])
    scrap = (
        f"{kilograms(totals['scrap_kg'])} kg",
        "scrap to recycle",
        "no offcut is worth keeping" if kept == _NONE else f"{kept} kg more kept as offcuts",
    )
    in_pieces = f"{kilograms(totals['pieces_kg'])} kg in {_count(totals['pieces'])}"
    by_area = " by area" if len(account["materials"]) > 1 else ""  # of one lead it is the same by weight
    if totals["least"] != DRAWN:
        figures = [*_bought_figures(totals, in_pieces, by_area), scrap, *_saved_figure(totals)]
    else:
        figures = [
            (f"{kilograms(totals['drawn_kg'])} kg", "lead drawn", f"{square_metres(totals['drawn_mm2'])} m²"),
            (percent(totals["yield"]), f"yield{by_area}", in_pieces),
            scrap,
        ]
    if (
        practice is not None
        and totals["least"] == DRAWN
        and (saved := kilograms(shown_saving_kg(totals, practice))) != _NONE
    ):
        figures.append(
            (
                f"{saved.removeprefix('-')} kg",
                f"{'more' if saved.startswith('-') else 'less'} than cutting one piece after another",
                f"which takes {kilograms(practice['drawn_kg'])} kg, a yield of {percent(practice['yield'])}",
            )
        )
    return element(
        "header",
        element("p", "Cutting report", element("small", escape(_made_by(batch))), class_="kind"),
        element("h1", escape(_heading_of(batch))),
        element(
            "div",
            *(
                element(
                    "div",
                    element("strong", escape(value)),
                    element("span", escape(name)),
                    element("small", escape(note)),
                )
                for value, name, note in figures
            ),
            class_="figures",
        ),
        *_divided(batch),
    )


def _made_by(batch: Batch) -> str:
    return f"cutpath {batch.version}, seed {batch.seed}. Lengths in millimetres."


def _heading_of(batch: Batch) -> str:
    """Name the jobs; of many the first, and how many more there are."""
    names = [job.name for job in batch.jobs]
    return "; ".join(names) if len(names) <= _NAMED else f"{names[0]} and {len(names) - 1} more jobs"


def _whole_rolls(count: int) -> str:
    return f"{count} whole {'roll' if count == 1 else 'rolls'}"


def _bought_figures(totals: GroupTally, in_pieces: str, by_area: str) -> Iterator[tuple[str, str, str]]:
    """Yield what is bought, and how much of that is in pieces."""
    kg, rolls = f"{kilograms(totals['bought_kg'])} kg", _whole_rolls(totals["rolls_bought"])
    drawn = f"{kilograms(totals['drawn_kg'])} kg drawn"
    if totals["price"] is not None:
        yield fixed(totals["price"], 2), "price of the lead bought", f"{rolls}, {kg}"
    else:
        area = f"{square_metres(totals['bought_mm2'])} m²"
        yield kg, "lead bought", f"{rolls}, {area}" if totals["rolls_bought"] else "all of it is in stock"
    if totals["yield_bought"] is None:
        yield percent(totals["yield"]), f"yield{by_area}", f"{in_pieces}, of {drawn}"
    else:
        words = f"in all {in_pieces}, {percent(totals['yield'])}{by_area} of the {drawn}"
        yield percent(totals["yield_bought"]), f"of it{by_area} in pieces", words


def _saved_figure(totals: GroupTally) -> Iterator[tuple[str, str, str]]:
    """Yield what common practice would buy more, in money where that was to be least; nothing where neither buys."""
    practice = totals["common_practice"]
    if practice is None or not totals["rolls_bought"] + practice["rolls_bought"]:
        return
    rolls, kg = _whole_rolls(practice["rolls_bought"]), f"{kilograms(practice['bought_kg'])} kg"
    if totals["least"] == PRICE and practice["saved_price"] is not None:
        saved, unit, what = fixed(practice["saved_price"], 2), "", ""
        usual = f"which buys {rolls}, {kg}" + (f", for {fixed(p, 2)}" if (p := practice["price"]) is not None else "")
    else:
        saved, unit, what = kilograms(shown_saving_kg(totals, practice)), " kg", " bought"
        usual = f"which buys {rolls}, {kg}"
    way = "more" if saved.startswith("-") else "less"
    yield f"{saved.removeprefix('-')}{unit}", f"{way}{what} than cutting one piece after another", usual


def _divided(batch: Batch) -> Iterator[str]:
    if batch.divided:
        runs = ", ".join(name.rstrip("-") for name in batch.divided)
        yield element("p", escape(f"Divided to suit the rolls, not evenly: {runs}."))


def _cautions(cautions: Sequence[str]) -> str:
    """List the cautions in two boxes, each whole on its page and low enough to leave no page half empty."""
    if not cautions:
        return ""
    items = [element("li", escape(times(caution))) for caution in cautions]
    half = (len(items) + 1) // 2
    return element(
        "section",
        element("div", element("h2", "Before you start", id="safety"), element("ul", *items[:half])),
        element("div", element("h3", "At work and after"), element("ul", *items[half:])) if items[half:] else "",
        class_="cautions",
    )


def _findings(findings: Sequence[Finding], jobs: Sequence[Job]) -> str:
    """List what was found in some jobs."""
    if not findings:
        return ""
    order = list(Severity)
    labels = {d.head.origin.key(""): d.head.label for job in jobs for d in reversed(job.details)}
    alike: dict[object, list[Finding]] = {}
    for found in sorted(findings, key=lambda f: order.index(f.severity)):
        alike.setdefault((found.severity, found.code, _sentence(found), found.remedy), []).append(found)
    return element(
        "section",
        element("h2", "Check these", id="check"),
        *(
            element(
                "div",
                element(
                    "p",
                    element("b", escape(_heading(group, jobs, labels))),
                    escape(_sentence(group[0])),
                ),
                element("p", escape(times(group[0].remedy)), class_="remedy"),
                element(
                    "details",
                    element("summary", f"{group[0].code}, and where"),
                    *(element("p", escape(found.where)) for found in group),
                ),
                class_="finding",
            )
            for group in alike.values()
        ),
    )


def _heading(group: Sequence[Finding], jobs: Sequence[Job], labels: Mapping[str, str]) -> str:
    """Say how much findings weigh that are alike, and what they are about, job by job where there are several."""
    names = {job.file: job.name for job in jobs} if len(jobs) > 1 else {}
    places: dict[str, list[str]] = {}
    for found in group:
        places.setdefault(names.get(found.where.partition(": ")[0], ""), []).append(_place(found, labels))
    told = (f"{job}: {'; '.join(own)}" if job else "; ".join(own) for job, own in places.items())
    return f"{group[0].severity.value.capitalize()}, {'; '.join(told)}. "


def _place(finding: Finding, labels: Mapping[str, str]) -> str:
    """Say what a finding is about as a person would: no file, no underscore, a detail by the label on its picture."""
    _, job_file, keys = finding.where.partition(".toml: ")
    if not job_file:
        return finding.where
    if (own := max((place for place in labels if _is_under(finding.where, place)), key=len, default="")) != "":
        keys = labels[own] + finding.where.removeprefix(own)
    return re.sub(r"\[(\d+)\]", r" \1", keys).replace(".", ", ").replace("_", "-")


def _is_under(where: str, place: str) -> bool:
    return where == place or where.startswith(f"{place}.")


def _sentence(finding: Finding) -> str:
    """Return a finding's sentence as a person writes it: no underscore in its first word, and the sign for degrees."""
    key, space, rest = finding.sentence.partition(" ")
    words = times(_DEGREES.sub("°", key.replace("_", "-") + space + rest))
    return f"{words[:1].upper()}{words[1:]}."


def _by_code(account: Account, leads: Sequence[Lead]) -> str:
    head: tuple[str, ...] = (
        "lead", "bought kg", "drawn kg", "drawn m²", "pieces kg", "kept kg", "scrap kg", "scrap m²", "yield", "ceiling",
    )  # fmt: skip
    bought = account["totals"]["least"] != DRAWN
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
    left, full, height, edge, gap = 42.0, 118.0, 3.6, 0.5, 2.2
    parts: list[str] = []
    y = edge
    for (name, group), practice in zip(groups, practices, strict=True):
        bars = [(name, group["pieces_kg"], group["offcuts_kg"], group["scrap_kg"])]
        if practice is not None:
            kept = practice["drawn_kg"] - practice["scrap_kg"] - group["pieces_kg"]
            bars.append(("one by one", group["pieces_kg"], kept, practice["scrap_kg"]))
        for i, (words, pieces, offcuts, scrap) in enumerate(bars):
            x = left
            parts.append(
                element(
                    "text",
                    escape(words),
                    x=left - 2.0,
                    y=y + 2.8,
                    text_anchor="end",
                    class_="words soft" if i else "words",
                )
            )
            for class_, mass in (("bar", pieces), ("kept", offcuts), ("scrap", scrap)):
                w = mass / longest * full
                if w > 0:
                    box = (x, y, w, height)
                    parts.append(hatched(*box) if class_ == "scrap" else _box(class_, *box))
                x += w
            parts.append(
                element("text", f"{kilograms(pieces + offcuts + scrap)} kg", x=x + 1.5, y=y + 2.8, class_="words")
            )
            y += height + 0.8
        y += gap
    picture = svg(186.0, y - gap, *parts, title="Drawn lead: pieces, kept offcuts and scrap" + beside)
    told = f" pieces dark, kept offcuts outlined, scrap hatched.{one_by_one}"
    title = element("p", element("b", "Lead drawn:"), escape(told), class_="note")
    return element("div", title, drawing(picture), class_="together")


def _key(laid: Sequence[tuple[Sheet, Mapping[str, FlatPattern], object, str]]) -> str:
    """Say what the lines and hatchings mean that are in the pictures of these rolls."""
    drawn = {
        class_ for _, patterns, *_ in laid for pattern in patterns.values() for class_, _ in pattern_lines(pattern)
    }
    drawn |= {"kept"} if any(sheet.nested.offcuts for sheet, *_ in laid) else set()
    entries = (
        ("piece", "outer cut"),
        ("snip", "snip or inner cut"),
        ("fold back", "fold back, away from you"),
        ("fold forward", "fold forward, towards you"),
        ("mark water-line", "water line, marked only"),
        ("mark lap", "lap, marked only"),
        ("mark bossing", "bossing line, marked only"),
        ("mark wood-cored-roll", "foot of a wood-cored roll, marked only"),
        ("mark centre", "line up the roof, marked only"),
        ("scrap", "scrap"),
        ("kept", "kept offcut"),
        ("across", "straight cut right across, numbered above the roll in the order of cutting, the cross-cut last"),
        ("cross-cut", "square cross-cut"),
    )
    return element(
        "p",
        *(_key_entry(_sample(class_), words) for class_, words in entries if class_ in drawn | _ALWAYS_THERE),
        element(
            "span",
            f"Scale {unbroken(f'1 : {number(SCALE)}')} when printed at 100 %. Pieces lie with their weather face up. "
            "Figures below each roll are measured from the end that comes off first.",
        ),
        class_="key",
    )


def _key_entry(sample: str, words: str) -> str:
    picture = element(
        "svg",
        sample,
        xmlns="http://www.w3.org/2000/svg",
        viewBox="0 0 10 4",
        style="width:calc(10mm * var(--zoom))",
    )
    return element("span", picture, escape(words))


def _grounds(batch: Batch) -> dict[str, Ground]:
    """Return the ground of each job that has pieces on the rolls, none where it is one job alone."""
    cut = {piece.job for piece in batch.pieces}
    return job_grounds(job.name for job in batch.jobs if job.name in cut)


def _job_key(batch: Batch, grounds: Mapping[str, Ground]) -> str:
    """Say which ground the pieces of each job lie on."""
    if not grounds:
        return ""
    marks = {job.name: job.mark for job in batch.jobs}
    box = (0.5, 0.5, 9.0, 3.0)
    entries = (
        _key_entry(ground.laid(*box) + _box("piece", *box, style="fill:none"), f"{marks[name]}: {name}")
        for name, ground in grounds.items()
    )
    heard = element("span", "Pieces by job, each job with a colour and a pattern of its own:")
    return element("p", heard, *entries, class_="key jobs")


def _sample(class_: str) -> str:
    if class_ == "scrap":
        return hatched(0.5, 0.5, 9.0, 3.0)
    if class_ in ("piece", "kept"):
        return _box(class_, 0.5, 0.5, 9.0, 3.0)
    return element("path", d=path(((0.0, 2.0), (10.0, 2.0))), class_=class_)


def _box(class_: str, x: float, y: float, width: float, height: float, style: str | None = None) -> str:
    return element("rect", x=x, y=y, width=width, height=height, class_=class_, style=style)


def _alike(sheets: Sequence[Sheet]) -> list[list[Sheet]]:
    """Gather rolls that are cut alike, within the files' decimals, in the order of the first of each."""
    found: dict[object, list[Sheet]] = {}
    for sheet in sheets:
        nested = sheet.nested
        laid = tuple(
            (p.id, p.turn_deg, p.flipped, round(p.x_mm, FILE_DECIMALS), round(p.y_mm, FILE_DECIMALS))
            for p in nested.placements
        )
        key = (sheet.lead, nested.roll, round(nested.drawn_mm, FILE_DECIMALS), laid, nested.offcuts)
        found.setdefault(key, []).append(sheet)
    return list(found.values())


def _roll(sheets: Sequence[Sheet], tally: RollTally, rows: Sequence[str]) -> str:
    """Show a roll, or several that are cut alike, by the rows of its picture."""
    sheet = sheets[0]
    roll, lead = sheet.nested.roll, sheet.lead
    alike = f"{len(sheets)} rolls cut alike, each: " if len(sheets) > 1 else ""
    owned = "in stock:" if roll.in_stock else "roll"
    facts = (
        f"{lead.material}, {lead.colour}",
        f"{owned} {millimetres(roll.width_mm)} × {millimetres(roll.length_mm)} mm"
        + (f" ({roll.name})" if roll.name else ""),
        f"{kilograms(tally['drawn_kg'] + tally['rest_kg'])} kg whole",
        f"draw {millimetres(tally['drawn_mm'])} mm",
        _count(tally["pieces"]),
        *([f"{n} straight {'cut' if n == 1 else 'cuts'} right across"] if (n := tally["square_cuts"]) else []),
        f"yield {percent(tally['yield'])}",
        f"scrap {kilograms(tally['scrap_kg'])} kg",
    )
    told = "\u00a0· ".join(map(unbroken, facts))  # a line ends between two facts, not in one
    first, *others = map(drawing, rows)
    return element(
        "article",
        element(
            "div",
            element("h3", escape(", ".join(s.id for s in sheets))),
            element("p", escape(alike + told), class_="facts"),
            first,
            class_="together",
        ),
        *others,
        class_="roll",
    )


def _on(sheet: Sheet, things: Mapping[str, T]) -> dict[str, T]:
    """Return those of the things that belong to pieces on a roll, by the pieces' numbers."""
    return {p.id: things[p.id] for p in sheet.nested.placements if p.id in things}


def _rows_of(_: None, laid: tuple[Sheet, Mapping[str, FlatPattern], Mapping[str, Ground], str]) -> list[str]:
    return roll_rows(*laid)


@dataclass(frozen=True, slots=True)
class _JobPart:
    """What the section of a job is made from: its pieces, those on its walls, rows of lists, and words on its proof."""

    number: int
    job: Job
    pieces: Sequence[Piece]
    on_walls: Sequence[Piece]
    rows: Sequence[CuttingRow]
    needed: Sequence[QuantityRow]
    share: JobTally
    proved: str
    folded: Mapping[str, Folded]
    tickets: Mapping[str, str]


def _job_parts(batch: Batch, account: Account, folded: Mapping[str, Folded]) -> list[_JobPart]:
    """Return each job's own, so that no more of a batch than that goes where its section is made."""
    pieces, rows, needed = (
        _sorted_out((piece.job, piece) for piece in batch.pieces),
        _sorted_out((row["job"], row) for row in cutting_list(batch)),
        _sorted_out((row["job"], row) for row in quantities(batch)),
    )
    owners = {piece.id: piece.job for piece in batch.pieces}
    owners |= {name: job.name for job in batch.jobs for name in chimney_names(job)}
    proofs = _sorted_out((owners.get(proof.piece, ""), proof) for proof in batch.proofs)
    places = ticket_places(batch.pieces)
    parts = []
    for count, job in enumerate(batch.jobs, 1):
        own = pieces.get(job.name, [])
        parts.append(
            _JobPart(
                count,
                job,
                own,
                _on_walls(job, own, batch.beside),
                rows.get(job.name, []),
                needed.get(job.name, []),
                account["jobs"][job.name],
                proof_words(job, own, proofs.get(job.name, [])),
                {piece.id: folded[piece.id] for piece in own if piece.id in folded},
                {piece.id: places[piece.id] for piece in own},
            )
        )
    return parts


def _sorted_out(things: Iterable[tuple[str, T]]) -> dict[str, list[T]]:
    """Return the things by their names, each name's in the order in which they came."""
    found: dict[str, list[T]] = {}
    for name, thing in things:
        found.setdefault(name, []).append(thing)
    return found


def _job(_: None, part: _JobPart) -> str:
    job, share = part.job, part.share
    facts = (
        f"{_count(share['pieces'])}, {kilograms(share['pieces_kg'])} kg",
        (
            f"share of the lead used {kilograms(share['share_kg'])} kg, "
            f"including {kilograms(share['scrap_kg'])} kg of scrap"
        ),
        *([f"exposure {job.exposure}"] if job.exposure else []),
    )
    return element(
        "section",
        element("h2", escape(job.name), id=f"job-{part.number}"),
        element("p", escape("\u00a0· ".join(facts)), class_="facts"),
        element("p", escape(job.notes), class_="notes") if job.notes else "",
        _job_list(part.rows, part.tickets),
        quantities_html(part.needed),
        element("p", escape(part.proved), class_="facts proved") if part.proved else "",
        wall_figures(job, part.on_walls, part.pieces if len(part.on_walls) > len(part.pieces) else ()),
        element("div", *drawings(part.pieces, part.folded), class_="drawings"),
        class_="job",
    )


def _on_walls(job: Job, own: Sequence[Piece], beside: Sequence[Piece]) -> list[Piece]:
    """Return the pieces that stand on the walls of those that are cut, in fitting order, cut this time or not."""
    if not beside:
        return list(own)
    cut = {piece.detail for piece in own}
    near = {d.head.label for detail in job.details if detail.head.label in cut for d in job.beside(detail)}
    order = [detail.head.label for detail in job.details]
    pieces = [*own, *(piece for piece in beside if piece.job == job.name and piece.detail in near)]
    hands = (None, Hand.RIGHT, Hand.LEFT)
    return sorted(pieces, key=lambda p: (order.index(p.detail), hands.index(p.hand), p.number))


def _job_list(rows: Sequence[CuttingRow], tickets: Mapping[str, str]) -> str:
    """List the pieces of a job, each with a link to its ticket."""
    head = (
        "piece",
        "what",
        "hand",
        "fitting order",
        "cut",
        "code",
        "length\u00a0×\u00a0width",
        "developed",
        "thermal movement",
        "kg\u00a0each",
        "kg",
        "roll",
    )
    return html_table(
        head,
        [
            (
                row["id"],
                row["family"],
                row["hand"] or "",
                f"{row['number']} of {row['of']}" if row["of"] > 1 else "",
                str(row["quantity"]),
                str(row["code"]),
                f"{millimetres(row['length_mm'])} × {millimetres(row['width_mm'])}",
                millimetres(row["developed_mm"]),
                fixed(row["movement_mm"], 1),
                kilograms(row["each_kg"]),
                kilograms(row["total_kg"]),
                _roll_names(row["rolls"]) + (f" ({row['face_down']} face down)" if row["face_down"] else ""),
            )
            for row in rows
        ],
        left=frozenset({0, 1, 2, 3, 11}),
        sparing=True,
        class_="pieces",
        links=[f"tickets.html#{tickets[row['id']]}" for row in rows],
        caption="Cutting list of the job",
    ) + element("p", f"{DEVELOPED} Thermal movement: {movement_span()}, in mm. {ROUNDED}", class_="note")


def _roll_names(rolls: Sequence[str]) -> str:
    """Name rolls; a line ends in no name, and in a short list nowhere."""
    names = rolls_named(rolls).replace("-", "\u2011")
    return unbroken(names) if len(names) <= _FEW_NAMES else names.replace("to ", "to\u00a0")


def drawings(pieces: Sequence[Piece], folded: Mapping[str, Folded]) -> Iterable[str]:
    """Yield a drawing to each distinct pattern of a lead, named after all that share it; narrow ones two by two."""
    return in_pairs((element("figure", inside), narrow) for inside, narrow in _drawings(pieces, folded))


def _drawings(pieces: Sequence[Piece], folded: Mapping[str, Folded]) -> Iterable[tuple[str, bool]]:
    """Yield what is in each drawing, and whether it is narrow: a small pattern, with nothing folded beside it."""
    alike: dict[object, list[Piece]] = {}
    for piece in pieces:
        alike.setdefault((piece.lead, same_cut(piece.pattern)), []).append(piece)
    shown: dict[object, str] = {}
    for group in alike.values():
        pattern, first = group[0].pattern, group[0]
        names = ", ".join(f"{p.id} ({p.quantity} off)" if p.quantity > 1 else p.id for p in group)
        picture, scale, wide = pattern_picture(pattern, names, first.fixings)
        hand = f"{first.hand.value} hand, " if first.hand else ""
        x0, y0, x1, y1 = bounds_mm(pattern.outline)
        words = (
            f"{pattern.family}, {hand}{first.lead.material}, {millimetres(x1 - x0)} × {millimetres(y1 - y0)} mm, "
            f"{unbroken(f'1 : {number(scale)}')}"
        )
        legend = [
            element("li", element("b", g.letter), escape(f" {g.words}"), class_=f"fold-{g.way}")
            for g in fold_groups(pattern)
        ]
        legend += [element("li", escape(fixing_key(first.fixings)))] if first.fixings else []
        like = shown.setdefault(_looks(first), first.id)
        if like != first.id:
            legend.append(element("li", escape(f"Folded like {like}")))
        caption = element("figcaption", element("b", escape(names)), element("span", escape(words)))
        flat, key = captioned(caption, picture), element("ul", *legend, *_notes(pattern), class_="legend")
        shape = folded.get(first.id) if like == first.id else None
        if shape is None:
            yield with_key(flat, key), wide <= BESIDE
        else:
            yield flat + with_key(folded_figure(shape, names), key, max(shape.size_mm[0], _KEY_MM)), False


def _looks(piece: Piece) -> object:
    """Return what pieces share that look alike when they are folded, longer or shorter."""
    folds = frozenset((g.use, g.folds[0].side, g.way, round(g.angle_deg)) for g in fold_groups(piece.pattern))
    return (piece.pattern.family, piece.hand, piece.pattern.mirrored, folds) if folds else piece.id


def _notes(pattern: FlatPattern) -> Iterable[str]:
    angles = angle_words(pattern)
    if angles:
        yield element("li", escape(angles[:1].upper() + angles[1:]))
    if pattern.marks:
        marks = "; ".join(dict.fromkeys(mark.name for mark in pattern.marks))
        yield element("li", escape(f"Marked: {marks}"))
