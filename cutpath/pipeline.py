"""The one place that knows the order of the stages: job files in, findings or a whole folder of files out.

Files are read at the beginning and written at the end; everything between is a function over frozen values.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from cutpath import __version__
from cutpath.ceilings import PIECES_BYTES
from cutpath.drawing.label import label_findings
from cutpath.drawing.preflight import shared_cuts
from cutpath.errors import Finding, Refused, faults, refuse_faults
from cutpath.families.checking import check_rules
from cutpath.folding import prove
from cutpath.intake.files import file_name, read_text
from cutpath.jobs import Source, in_cells, measuring, read_jobs
from cutpath.jobs.blanks import parse_blanks
from cutpath.machines import machine_findings, unready
from cutpath.machines.beds import beds_at_fault, rolls_within
from cutpath.nesting import NestProgress, judge
from cutpath.nesting.feed import nest_fed, unfit, usual
from cutpath.nesting.home import turned_over
from cutpath.pieces import fixed_pieces, run_choices
from cutpath.pieces.blanks import (
    at_pieces,
    blanks_of,
    divisions_of,
    face_up,
    leads_of,
    of_lead,
    problem_of,
    under_their_numbers,
    with_choices,
)
from cutpath.profiles import Practice, plausible
from cutpath.profiles.rolls import rolls_list
from cutpath.readback import folder_faults, page_faults, pages_to_read
from cutpath.recheck import recheck
from cutpath.reports.account import lifting
from cutpath.reports.account.buy_list import to_measure
from cutpath.reports.account.totals import check_totals
from cutpath.reports.pictures.walls import elevations
from cutpath.trade.in_force import in_force
from cutpath.trade.plausible import check_blanks, check_clear, check_rolls
from cutpath.values.batch import Batch, Made, MaterialNest, Planned, Sheet
from cutpath.values.formats import ALL_FORMATS, NO_LABELS, Format, LabelSheets
from cutpath.values.machine import Machine, Stuff
from cutpath.values.nest import Blank, Budget, Division, Nest, NestProblem, Roll, RunChoice
from cutpath.values.piece import Piece
from cutpath.values.proof import Proof
from cutpath.values.settings import Settings
from cutpath.values.survey import Job, Lead
from cutpath.workers import each
from cutpath.writers.files import Wanted, folder_of, pattern_files, roll_work
from cutpath.writers.measuring_page import measuring_page
from cutpath.writers.pdf_frame import letter_findings
from cutpath.writers.templates import check_templates

Report = Callable[[str, NestProgress], None]
"""Told of each better nest: the material, and how far it is."""


def plan(
    sources: Sequence[Source],
    rolls: str | Path | Sequence[Roll] | None = None,
    settings: Settings | None = None,
    shop_rules: str | Path | None = None,
    tools: Sequence[Machine] = (),
) -> Planned:
    """Read jobs, apply the rules, develop, split, prove that it folds up, and see that every piece fits a roll.

    Parameters
    ----------
    sources : sequence of str, Path or mapping
        Job files, order sheets, or jobs as mappings of the same keys.
    rolls : str, Path or sequence of Roll, optional
        The rolls themselves, or see `cutpath.profiles.rolls.rolls_list`.
    settings : Settings, optional
    shop_rules : str or Path, optional
        File with the shop's own rules; those it does not name stay as published.
    tools : sequence of Machine
        Only rolls that all of them take are used; those for card do not count.

    Raises
    ------
    Refused
        With every finding of every file and stage at once, when one of them is a fault.
    """
    settings = settings or Settings()
    listed = rolls_list(rolls) if rolls is None or isinstance(rolls, str | Path) else tuple(rolls)
    stock = rolls_within(listed, tools)
    limits, sizes, found = in_force(shop_rules)
    found += check_clear(sizes, settings, settings.gap_mm, "settings: gap")
    jobs, findings = read_jobs(sources, stock or listed, limits, sizes)
    found += findings
    for job in jobs:
        found += check_rules(job, limits)
    pieces, more = fixed_pieces(jobs, {}, limits, either_face=settings.may_turn_over)
    found += more
    if isinstance(rolls, str | Path):
        found += check_rolls(sizes, listed, str(rolls), len(leads_of(pieces)))
    proofs, doubts = _proved(jobs, pieces, limits, complete=not faults(found))
    found += [*doubts, *check_totals(jobs, pieces, sizes)]
    found += [f for tool in tools for f in unready(tool)]
    problems = tuple((lead, problem_of(lead, pieces, stock, settings)) for lead in leads_of(pieces))
    for lead, problem in problems:
        found += _fits(lead, problem, pieces, settings, tools=tools, rolls=listed)
    findings = refuse_faults(in_cells(found, {job.file: job.places for job in jobs if job.places}))
    asked = jobs if settings.choose_lengths else ()
    choices = tuple(c for own in each("runs, job by job", _job_choices, None, asked, len(pieces)) for c in own)
    return Planned(jobs, pieces, problems, tuple(proofs), findings, limits, settings, choices)


def _fits(
    lead: Lead,
    problem: NestProblem,
    pieces: Sequence[Piece],
    settings: Settings,
    *,
    tools: Sequence[Machine],
    rolls: Sequence[Roll],
) -> list[Finding]:
    """Find pieces that go on no roll that all machines take, and the machines whose beds are why."""
    lost = unfit(problem, settings.frame_mm)
    if not lost:
        return []

    def fit_on(others: Sequence[Roll]) -> bool:
        return not unfit(problem_of(lead, pieces, others, settings), settings.frame_mm)

    names = ", ".join(f.where for f in lost[:3]) + (f" and {len(lost) - 3} more" if len(lost) > 3 else "")
    return list(beds_at_fault(tools, f"{names} in {lead.material}", rolls, fit_on)) or at_pieces(lost, pieces)


def _proved(
    jobs: Sequence[Job], pieces: Sequence[Piece], limits: Practice, *, complete: bool = True
) -> tuple[tuple[Proof, ...], list[Finding]]:
    """Fold every piece up, and work out a second time what lies before the pieces."""
    own: dict[str, list[Piece]] = {job.name: [] for job in jobs}
    for piece in pieces:
        own.setdefault(piece.job, []).append(piece)
    asked = [(job, own[job.name]) for job in jobs]
    shown = each("proved, job by job", _job_proved, (dict(limits), complete), asked, len(pieces))
    return tuple(p for proofs, _ in shown for p in proofs), [f for _, found in shown for f in found]


def _job_proved(asked: tuple[Practice, bool], own: tuple[Job, Sequence[Piece]]) -> tuple[list[Proof], list[Finding]]:
    limits, complete = asked
    job, pieces = own
    proved, more = prove(job, pieces)
    return list(proved), [*more, *recheck(job, pieces, limits, complete=complete)]


def _job_choices(_: None, job: Job) -> tuple[tuple[Lead, RunChoice], ...]:
    return run_choices([job])


def nest_batch(
    planned: Planned, *, budget: Budget | None = None, seed: int | None = None, report: Report | None = None
) -> Batch:
    """Nest every material of a plan as it was planned; the budget is shared by the number of pieces.

    Runs are divided on the way where the plan leaves that to the nest. The lengths that it chose are developed, proved
    and judged like any others.

    Parameters
    ----------
    planned : Planned
    budget : Budget, optional
    seed : int, optional
        In the place of those that it was planned with; a plan does not hang on them.
    report : callable, optional
        Called with a material and a `NestProgress` each time a better nest of it is found.

    Raises
    ------
    Refused
        When rolls run out, a nest fails its judge, or a piece its proof.
    """
    settings = planned.settings if seed is None else replace(planned.settings, seed=seed)
    budget, seed = budget or settings.budget, settings.seed
    shares = [sum(p.quantity for p in planned.pieces if p.lead == lead) for lead, _ in planned.problems]
    asked: list[NestProblem] = []
    found: list[Nest] = []
    for (lead, problem), share in zip(planned.problems, shares, strict=True):
        progress = None if report is None else (lambda p, lead=lead: report(lead.material, p))
        runs = [run for own, run in planned.choices if own == lead]
        task = with_choices(problem, runs, planned.pieces, either_face=settings.either_face)
        asked.append(face_up(task) if settings.hidden_side else task)
        own = budget.part(share / sum(shares))
        try:
            laid = nest_fed(asked[-1], own, seed=seed, stretch_mm=settings.frame_mm, progress=progress)
            found.append(turned_over(laid) if settings.hidden_side else laid)
        except Refused as refusal:
            raise Refused(of_lead(lead, refusal.findings)) from None
    named = [under_their_numbers(task, nested, planned.pieces) for task, nested in zip(asked, found, strict=True)]
    return batch_of(planned, named, divisions_of(asked, found), seed=seed)


def batch_of(
    planned: Planned,
    nests: Sequence[Nest],
    divisions: Mapping[str, Division] | None = None,
    *,
    seed: int | None = None,
) -> Batch:
    """Return the batch of a plan that is nested already.

    Parameters
    ----------
    planned : Planned
    nests : sequence of Nest
        One for each of its problems, in their order.
    divisions : mapping, optional
        Runs that are not divided evenly there, by their numbers.
    seed : int, optional
        In the place of that of the plan.

    Raises
    ------
    Refused
        When the judge finds a fault, or a piece fails its proof.
    """
    by_practice = [usual(problem) for _, problem in planned.problems]
    planned = divided(planned, divisions or {})
    problems = [problem for _, problem in planned.problems]
    refuse_faults(f for problem, found in zip(problems, nests, strict=True) for f in judge(problem, found))
    materials = tuple(
        MaterialNest(lead, problem, nested, practice)
        for (lead, problem), nested, practice in zip(planned.problems, nests, by_practice, strict=True)
    )
    sheets = tuple(
        Sheet(f"code{m.lead.code}-{number:02d}", m.lead, nested, m.problem.offcuts)
        for m in materials
        for number, nested in enumerate(m.nest.rolls, 1)
    )
    return Batch(
        jobs=planned.jobs,
        pieces=planned.pieces,
        materials=materials,
        sheets=sheets,
        findings=planned.findings,
        seed=planned.settings.seed if seed is None else seed,
        version=__version__,
        practice=planned.practice,
        proofs=planned.proofs,
        divided=planned.divided,
        beside=planned.beside,
        hidden_side=planned.settings.hidden_side,
    )


def divided(planned: Planned, divisions: Mapping[str, Division]) -> Planned:
    """Return the plan with its runs divided as a nest has them, proved anew.

    Raises
    ------
    Refused
        When a piece fails its proof.
    """
    if not divisions:
        return planned
    pieces, _ = fixed_pieces(planned.jobs, divisions, planned.practice, either_face=planned.settings.may_turn_over)
    proofs, findings = _proved(planned.jobs, pieces, planned.practice)
    more = [f for f in refuse_faults(findings) if f not in planned.findings]
    return replace(
        planned,
        pieces=pieces,
        problems=tuple((lead, replace(problem, blanks=blanks_of(lead, pieces))) for lead, problem in planned.problems),
        proofs=proofs,
        findings=(*planned.findings, *more),
        divided=dict(divisions),
    )


def nest_outlines(
    file: str, rolls: str | Path | None, settings: Settings, report: Report | None = None
) -> tuple[tuple[Blank, ...], Nest, tuple[Finding, ...]]:
    """Nest the plain outlines of ``file`` (``-``: standard input) on the rolls of one list; return both, and doubts.

    Raises
    ------
    Refused
        When the file or the list is at fault, a piece fits no roll, or rolls run out.
    """
    text = read_text(file, PIECES_BYTES)
    if isinstance(text, Finding):
        raise Refused([text])
    asked = parse_blanks(text, file_name(file))
    listed, sizes = rolls_list(rolls), plausible()
    problem = settings.asking(asked.blanks, listed, asked.gap_mm)
    gap_in = f"{file_name(file)}: gap_mm" if asked.gap_mm > settings.gap_mm else "settings: gap"
    doubts = refuse_faults(
        [
            *check_rolls(sizes, listed, str(rolls)),
            *check_blanks(sizes, asked.blanks, file_name(file)),
            *check_clear(sizes, settings, problem.gap_mm, gap_in),
        ]
    )
    progress = None if report is None else (lambda p: report("outlines", p))
    where = {b.id: f"{file_name(file)}: pieces[{n}] ({b.id})" for n, b in enumerate(asked.blanks, 1)}
    try:
        found = nest_fed(problem, settings.budget, seed=settings.seed, stretch_mm=settings.frame_mm, progress=progress)
    except Refused as refusal:
        raise Refused(replace(f, where=where.get(f.where, f.where)) for f in refusal.findings) from None
    return asked.blanks, found, doubts


def files_of(
    batch: Batch,
    tools: Sequence[Machine] = (),
    *,
    formats: Collection[Format] = ALL_FORMATS,
    templates: Sequence[str] | None = None,
    labels: LabelSheets = NO_LABELS,
    settled: Mapping[str, object] | None = None,
    made_from: Mapping[str, object] | None = None,
) -> Made:
    """Make every file of the output folder in memory: path inside the folder -> bytes.

    The batch comes back with what the drawings found added to its findings. Every machine for lead gets its files of
    each roll; one for card gets the patterns of single pieces. These are also made of the pieces that ``templates``
    names, of all where it is empty, of none where it is None. ``labels`` says which labels they get. Report
    and tickets are always made, lists and drawings of rolls in those ``formats`` that are named. ``settled`` is what
    the manifest says of the settings, ``made_from`` what it keeps, see `cutpath.output.made_from`.

    Raises
    ------
    Refused
        When ``templates`` names no piece, a drawing fails its preflight, or a file reads back otherwise than it was to
        be written (CP612).
    """
    check_templates(templates or (), batch.pieces)
    by_id = {piece.id: piece for piece in batch.pieces}
    wanted, cutters = Wanted(formats, tools), [tool for tool in tools if tool.stuff is Stuff.LEAD]
    count = sum(len(sheet.nested.placements) for sheet in batch.sheets)
    asked = [(sheet, {p.id: by_id[p.id] for p in sheet.nested.placements}) for sheet in batch.sheets]
    rolls = each("rolls drawn", roll_work, wanted, asked, count)
    found = [f for roll in rolls for f in roll.findings]
    refuse_faults(found)
    found += shared_cuts({work.roll: work.shared for work in rolls})
    found += to_measure(batch.sheets)
    found += label_findings([name for roll in rolls for name in roll.unlettered], by_id)
    made = [file for roll in rolls for file in roll.files]
    words: list[str] = []
    for tool in tools:
        works = [roll.works[cutters.index(tool)] for roll in rolls] if tool in cutters else []
        made += [file for work in works for file in work.files]
        words += [*(f"{tool.name}: {caution}" for caution in tool.cautions[:1]), *(work.words for work in works)]
        more = [*machine_findings(tool), *(f for work in works for f in work.findings)]
        found += [f for f in dict.fromkeys(more) if f not in found]
    made += pattern_files(batch.pieces, tools, templates)
    if labels.grid or Format.PDF in formats or any(file.path.endswith(".pdf") for file in made):
        found += letter_findings(batch.jobs)
    batch = replace(batch, findings=(*batch.findings, *found, *lifting.heavy(batch)))
    whole = folder_of(
        batch, made, words, labels=labels, formats=formats, settled=settled or {}, made_from=made_from or {}
    )
    pages = each("pages read again", page_faults, None, pages_to_read(whole.files, batch), len(batch.pieces))
    refuse_faults([*folder_faults(whole.files, batch), *(f for own in pages for f in own)])
    return whole


def measuring_sheet(kind: str) -> bytes:
    """Return the blank measuring sheet of a kind of detail as PDF; its sketches are the pictures of a specimen.

    Raises
    ------
    KeyError
        When there is no such kind.
    """
    asked = measuring.measuring_sheet(kind)
    if asked.raw is None:
        return measuring_page(asked, [])
    planned = plan([asked.raw])
    shown = elevations(planned.jobs[0], planned.pieces)
    pictures = [shown[place] for place in asked.specimen.shown]
    return measuring_page(asked, [(picture.title.rpartition(": ")[2], picture.inks) for picture in pictures])
