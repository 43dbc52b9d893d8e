"""The section of a job: its cutting list, quantities, proof, walls and drawings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TypeVar

from cutpath.paper.markup import element, html_table
from cutpath.paper.text import ROUNDED, counted, fixed, kilograms, millimetres, rolls_named, unbroken
from cutpath.reports.account.cutting_list import DEVELOPED, CuttingRow, cutting_list
from cutpath.reports.account.quantities import QuantityRow, quantities, quantities_html
from cutpath.reports.account.shape import movement_span
from cutpath.reports.account.yields import Account, JobTally
from cutpath.reports.pictures.figures import wall_figures
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.words.page.drawings import drawings
from cutpath.reports.words.page.proofs import chimney_names, proof_words
from cutpath.reports.words.tickets import ticket_places
from cutpath.values.batch import Batch
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand, Job
from cutpath.workers import each

T = TypeVar("T")
_FEW_NAMES = 12
"""Letters of roll names that stand in one line; longer lists would make the table wider than the paper."""


def jobs_html(batch: Batch, account: Account, folded: Mapping[str, Folded]) -> list[str]:
    """Make the section of each job of a batch.

    Parameters
    ----------
    folded : mapping of str to Folded
        The pieces drawn folded up, by their numbers.
    """
    return each("report, job by job", _job, None, _job_parts(batch, account, folded), len(batch.pieces))


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
        f"{counted(share['pieces'], 'piece')}, {kilograms(share['pieces_kg'])} kg",
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
        job_list(part.rows, part.tickets),
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


def job_list(rows: Sequence[CuttingRow], tickets: Mapping[str, str]) -> str:
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
