"""The one place that knows the order of the stages: job files in, findings or a whole folder of files out.

Files are read at the beginning and written at the end; everything between is a function over frozen values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from cutpath import __version__
from cutpath.drawing.fold_notes import fold_notes
from cutpath.drawing.label import label_findings
from cutpath.drawing.path_report import told
from cutpath.drawing.preflight import preflight, shared_cuts
from cutpath.drawing.sheet import draw
from cutpath.errors import Finding, Refused, faults, refuse_faults
from cutpath.families.checking import check_rules
from cutpath.folding import prove
from cutpath.intake import did_you_mean, file_name, read_text
from cutpath.jobs import Source, read_jobs
from cutpath.jobs.blanks import parse_blanks
from cutpath.machines import machine_findings, off_the_bed, rolls_within, unready
from cutpath.nesting import NestProgress, judge, nest, one_after_another
from cutpath.nesting.fit import misfits
from cutpath.nesting.frames import in_frames, onto_whole_rolls
from cutpath.nesting.shapes import forms, rooms
from cutpath.output import MANIFEST, Entry, Manifest, entry_of, json_text, run_id
from cutpath.output.index import INDEX, index_text
from cutpath.pieces import length_ids, pieces_of, run_choices
from cutpath.profiles import Practice, Sizes, plausible, practice, rolls_list, rolls_names, shop_figures
from cutpath.recheck import recheck
from cutpath.reports.account import buy_list, cutting_list, lifting, quantities, setting_out, yields
from cutpath.reports.account.totals import check_totals
from cutpath.reports.words import page, tickets
from cutpath.trade import cautions
from cutpath.trade.fixings import with_fixings
from cutpath.trade.plausible import own_sizes
from cutpath.trade.rules import shop_findings
from cutpath.values.batch import Batch, MaterialNest, Sheet
from cutpath.values.drawing import Drawing, Role
from cutpath.values.held import Held
from cutpath.values.machine import Machine, Stuff
from cutpath.values.nest import (
    QUARTER_TURNS,
    Blank,
    Budget,
    Division,
    Nest,
    NestProblem,
    Objective,
    OffcutRule,
    Roll,
    RunChoice,
)
from cutpath.values.piece import Piece
from cutpath.values.proof import Proof
from cutpath.values.survey import Job, Lead
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from cutpath.writers.machine_files import machine_files, set_up_files, stroke_facts
from cutpath.writers.set_up import set_up
from cutpath.writers.svg import ROLE_GROUPS, to_svg
from cutpath.writers.templates import template_files


@dataclass(frozen=True, slots=True)
class Settings(Held):
    """What a shop chooses for one nest, apart from its rolls.

    Attributes
    ----------
    gap_mm, edge_trim_mm : float
        Between pieces, and along the roll's edges and cross-cuts.
    offcuts : OffcutRule
    objective : Objective
    budget : Budget
        Work, or a ceiling on the seconds, of the search over all materials.
    seed : int
    frame_mm : float or None
        No piece stands across two stretches of this length, for machines that feed the roll on; None: anywhere.
    choose_lengths : bool
        Runs are divided as suits the rolls; else evenly.
    either_face : bool
        Pieces may lie face down on the roll, for lead with two faces alike.
    """

    gap_mm: float = 0.0
    edge_trim_mm: float = 0.0
    offcuts: OffcutRule = field(default_factory=OffcutRule)
    objective: Objective = Objective.DRAWN
    budget: Budget = field(default_factory=partial(Budget, seconds=20.0))
    seed: int = 1
    frame_mm: float | None = None
    choose_lengths: bool = True
    either_face: bool = False

    _over_zero = frozenset({"frame_mm"})

    def on(self, tool: Machine, *, in_frames: bool) -> Settings:
        """Give the settings with at least the machine's gap and trim, and its frame where that is asked.

        A profile may ask for frames by itself. A machine for card does not touch the rolls and changes nothing.
        """
        if tool.stuff is Stuff.CARD:
            return self
        frame_mm = tool.bed.length_mm - tool.bed.overlap_mm if in_frames or tool.keep_in_frame else None
        return replace(
            self,
            gap_mm=max(self.gap_mm, tool.gap_mm),
            edge_trim_mm=max(self.edge_trim_mm, tool.edge_trim_mm),
            frame_mm=min((mm for mm in (self.frame_mm, frame_mm) if mm is not None), default=None),
        )


@dataclass(frozen=True, slots=True)
class Planned:
    """Jobs developed and split evenly, ready for the nest: no fault stands in the way.

    ``settings`` are those that it was planned with, and is nested with. ``choices`` are the runs that the nest may
    divide otherwise, each with its lead; ``divided`` those that it did.
    """

    jobs: tuple[Job, ...]
    pieces: tuple[Piece, ...]
    problems: tuple[tuple[Lead, NestProblem], ...]
    proofs: tuple[Proof, ...]
    findings: tuple[Finding, ...]
    practice: Practice
    settings: Settings
    choices: tuple[tuple[Lead, RunChoice], ...] = ()
    divided: tuple[str, ...] = ()


Report = Callable[[str, NestProgress], None]


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
        Job files, or jobs as mappings of the same keys.
    rolls : str, Path or sequence of Roll, optional
        The rolls themselves, or see `cutpath.profiles.rolls_list`.
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
    limits, sizes, found = _limits(shop_rules)
    jobs, findings = read_jobs(sources, stock or listed, limits, sizes)
    found += findings
    for job in jobs:
        found += check_rules(job, limits)
    pieces, more = _pieces(jobs, {}, limits, either_face=settings.either_face)
    found += more
    proofs, doubts = _proved(jobs, pieces, limits, complete=not faults(found))
    doubts += check_totals(jobs, pieces, sizes)
    found += doubts
    found += [f for tool in tools for f in unready(tool)]
    problems = tuple((lead, _problem(lead, pieces, stock, settings)) for lead in _leads(pieces))
    for lead, problem in problems:
        unfit = _misfits(problem, settings)
        beds = _beds_at_fault(lead, pieces, unfit, (listed, tools, settings))
        found += beds or _at_pieces(unfit, pieces)
    findings = refuse_faults(found)
    choices = run_choices(jobs) if settings.choose_lengths else ()
    return Planned(jobs, pieces, problems, tuple(proofs), findings, limits, settings, choices)


def _beds_at_fault(
    lead: Lead,
    pieces: Sequence[Piece],
    unfit: Sequence[Finding],
    asked: tuple[Sequence[Roll], Sequence[Machine], Settings],
) -> tuple[Finding, ...]:
    """Return findings on the machines whose beds leave no roll for pieces for which the list has one."""
    listed, tools, settings = asked
    if not unfit or not tools:
        return ()

    def fit_on(rolls: Sequence[Roll]) -> bool:
        return not _misfits(_problem(lead, pieces, rolls, settings), settings)

    if not fit_on(listed):
        return ()
    lists = [name for name in rolls_names() if fit_on(rolls_within(rolls_list(name), tools))]
    names = ", ".join(f.where for f in unfit[:3]) + (f" and {len(unfit) - 3} more" if len(unfit) > 3 else "")
    return off_the_bed(tools, f"{names} in {lead.material}", listed, lists)


def _pieces(
    jobs: Sequence[Job], divisions: Mapping[str, Division], limits: Practice, *, either_face: bool
) -> tuple[tuple[Piece, ...], tuple[Finding, ...]]:
    pieces, findings = pieces_of(jobs, divisions)
    return with_fixings((replace(p, may_flip=p.may_flip or either_face) for p in pieces), limits), findings


def _proved(
    jobs: Sequence[Job], pieces: Sequence[Piece], limits: Practice, *, complete: bool = True
) -> tuple[tuple[Proof, ...], list[Finding]]:
    """Fold every piece up, and work out a second time what lies before the pieces."""
    proofs: list[Proof] = []
    found: list[Finding] = []
    for job in jobs:
        proved, more = prove(job, pieces)
        proofs += proved
        found += more
        found += recheck(job, pieces, limits, complete=complete)
    return tuple(proofs), found


def _misfits(problem: NestProblem, settings: Settings) -> tuple[Finding, ...]:
    found = misfits(problem, forms(problem), rooms(problem))
    if settings.frame_mm is None or found:
        return found
    framed = in_frames(problem, settings.frame_mm)
    return tuple(
        replace(
            f,
            accepted=f"needed: pieces within a frame of {settings.frame_mm:g} mm",
            remedy="Leave --in-frames out, so that the roll is fed on within a piece, or divide it (longest).",
        )
        for f in misfits(framed, forms(framed), rooms(framed))
    )


def _limits(shop_rules: str | Path | None) -> tuple[Practice, Sizes, list[Finding]]:
    """Return the rules and sizes in force, and what is to be said of the shop's own; those at fault do not count."""
    if shop_rules is None:
        return practice(), plausible(), []
    try:
        own, sizes = shop_figures(shop_rules)
    except Refused as refusal:
        return practice(), plausible(), list(refusal.findings)
    file = str(shop_rules)
    return own, sizes, [*shop_findings(own, practice(), file), *own_sizes(sizes, plausible(), file)]


def _leads(pieces: Sequence[Piece]) -> list[Lead]:
    return sorted({piece.lead for piece in pieces}, key=lambda lead: lead.code)


def _problem(lead: Lead, pieces: Sequence[Piece], stock: Sequence[Roll], settings: Settings) -> NestProblem:
    return NestProblem(
        blanks=_blanks(lead, pieces),
        rolls=tuple(r for r in stock if r.material in ("", lead.material)),
        gap_mm=settings.gap_mm,
        edge_trim_mm=settings.edge_trim_mm,
        offcuts=settings.offcuts,
        objective=settings.objective,
    )


def _blanks(lead: Lead, pieces: Sequence[Piece]) -> tuple[Blank, ...]:
    return tuple(
        Blank(p.id, p.quantity, p.pattern.outline, p.pattern.holes, QUARTER_TURNS, p.may_flip)
        for p in pieces
        if p.lead == lead
    )


def _at_pieces(findings: Sequence[Finding], pieces: Sequence[Piece]) -> list[Finding]:
    """Say of a finding about a blank where in the job file its piece comes from."""
    where = {p.id: f"{p.where} (piece {p.id})" for p in pieces}
    return [replace(f, where=where.get(f.where, f.where)) for f in findings]


def check_templates(planned: Planned, templates: Sequence[str] | None) -> None:
    """See that every piece of which a pattern is wanted is there.

    Raises
    ------
    Refused
        With a finding for each number that no piece bears.
    """
    known = [piece.id for piece in planned.pieces]
    found = []
    for name in templates or ():
        if name not in known:
            meant = did_you_mean(name, known)
            remedy = f"Did you mean {meant}?" if meant else "The cutting list (cutpath pieces) has the numbers."
            found.append(
                Finding("CP108", "--template", f"no piece bears the number {name}", "needed: a piece's number", remedy)
            )
    refuse_faults(found)


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
    settings = planned.settings
    settings = replace(settings, budget=budget or settings.budget, seed=settings.seed if seed is None else seed)
    shares = [sum(p.quantity for p in planned.pieces if p.lead == lead) for lead, _ in planned.problems]
    asked: list[NestProblem] = []
    found: list[Nest] = []
    for (lead, problem), share in zip(planned.problems, shares, strict=True):
        progress = None if report is None else (lambda p, lead=lead: report(lead.material, p))
        asked.append(_with_choices(lead, problem, planned))
        own = replace(settings, budget=settings.budget.part(share / sum(shares)))
        try:
            found.append(_nest(asked[-1], own, progress))
        except Refused as refusal:
            raise Refused(_of_lead(lead, refusal.findings)) from None
    return _batch(planned, asked, found, settings.seed)


def batch_of(planned: Planned, nests: Sequence[Nest]) -> Batch:
    """Return the batch of a plan that is nested already, its runs divided evenly.

    Parameters
    ----------
    planned : Planned
    nests : sequence of Nest
        One for each of its problems, in their order.

    Raises
    ------
    Refused
        When the judge finds a fault.
    """
    asked = [problem for _, problem in planned.problems]
    refuse_faults(f for problem, found in zip(asked, nests, strict=True) for f in judge(problem, found))
    return _batch(planned, asked, nests, planned.settings.seed)


def _batch(planned: Planned, asked: Sequence[NestProblem], found: Sequence[Nest], seed: int) -> Batch:
    usual = [_usual(problem) for _, problem in planned.problems]
    planned = _divided(planned, asked, found)
    materials = [
        MaterialNest(lead, problem, _named(task, nested, problem, planned.pieces), practice)
        for (lead, problem), task, nested, practice in zip(planned.problems, asked, found, usual, strict=True)
    ]
    sheets = tuple(
        Sheet(f"code{m.lead.code}-{number:02d}", m.lead, nested)
        for m in materials
        for number, nested in enumerate(m.nest.rolls, 1)
    )
    return Batch(
        jobs=planned.jobs,
        pieces=planned.pieces,
        materials=tuple(materials),
        sheets=sheets,
        findings=planned.findings,
        seed=seed,
        version=__version__,
        practice=planned.practice,
        proofs=planned.proofs,
        divided=planned.divided,
    )


def _of_lead(lead: Lead, findings: Sequence[Finding]) -> list[Finding]:
    """Say of rolls that run out of which lead they are."""
    return [replace(f, where=f"{f.where} of {lead.material}") if f.code == "CP502" else f for f in findings]


def _nest(problem: NestProblem, settings: Settings, progress: Callable[[NestProgress], None] | None) -> Nest:
    if settings.frame_mm is None:
        return nest(problem, settings.budget, seed=settings.seed, progress=progress)
    framed = nest(in_frames(problem, settings.frame_mm), settings.budget, seed=settings.seed, progress=progress)
    return onto_whole_rolls(problem, framed, settings.frame_mm)


def _with_choices(lead: Lead, problem: NestProblem, planned: Planned) -> NestProblem:
    """Give the problem with its runs undivided, in place of the blanks of their even lengths."""
    runs = tuple(_choice(run, planned) for own, run in planned.choices if own == lead)
    gone = {name for choice in runs for name in length_ids(choice, planned.pieces)}
    return replace(problem, blanks=tuple(b for b in problem.blanks if b.id not in gone), runs=runs)


def _choice(run: RunChoice, planned: Planned) -> RunChoice:
    either = planned.settings.either_face
    sections = tuple(replace(section, blank=replace(section.blank, may_flip=either)) for section in run.sections)
    return replace(run, sections=sections)


def _divided(planned: Planned, asked: Sequence[NestProblem], found: Sequence[Nest]) -> Planned:
    """Give the plan with its runs divided as the nests have them, proved anew.

    Raises
    ------
    Refused
        When a piece fails its proof.
    """
    divisions = {
        run.id: joints
        for problem, nested in zip(asked, found, strict=True)
        for run, joints in zip(problem.runs, nested.divisions, strict=True)
        if joints != run.even
    }
    if not divisions:
        return planned
    pieces, _ = _pieces(planned.jobs, divisions, planned.practice, either_face=planned.settings.either_face)
    proofs, findings = _proved(planned.jobs, pieces, planned.practice)
    more = [f for f in refuse_faults(findings) if f not in planned.findings]
    return replace(
        planned,
        pieces=pieces,
        problems=tuple((lead, replace(problem, blanks=_blanks(lead, pieces))) for lead, problem in planned.problems),
        proofs=proofs,
        findings=(*planned.findings, *more),
        divided=tuple(divisions),
    )


def _named(asked: NestProblem, found: Nest, problem: NestProblem, pieces: Sequence[Piece]) -> Nest:
    """Give a nest with its lengths of runs under the numbers of their pieces.

    Raises
    ------
    Refused
        CP503 when the judge finds that it does not answer ``problem``, which asks for these pieces.
    """
    names = {
        blank.id: name
        for run, joints in zip(asked.runs, found.divisions, strict=True)
        for blank, name in zip(run.blanks(joints), length_ids(run, pieces), strict=True)
    }
    rolls = tuple(
        replace(roll, placements=tuple(replace(p, id=names.get(p.id, p.id)) for p in roll.placements))
        for roll in found.rolls
    )
    named = replace(found, rolls=rolls, divisions=())
    if asked.runs and (faults := judge(problem, named)):
        raise Refused(faults)
    return named


def _usual(problem: NestProblem) -> Nest | None:
    try:
        return one_after_another(problem)
    except Refused:
        return None


def nest_outlines(file: str, rolls: str | Path | None, settings: Settings, report: Report | None = None) -> Nest:
    """Nest the plain outlines of ``file`` (``-``: standard input) on the rolls of one list.

    Raises
    ------
    Refused
        When the file or the list is at fault, a piece fits no roll, or rolls run out.
    """
    text = read_text(file)
    if isinstance(text, Finding):
        raise Refused([text])
    asked = parse_blanks(text, file_name(file))
    problem = NestProblem(
        blanks=asked.blanks,
        rolls=rolls_list(rolls),
        gap_mm=max(asked.gap_mm, settings.gap_mm),
        edge_trim_mm=settings.edge_trim_mm,
        offcuts=settings.offcuts,
        objective=settings.objective,
    )
    progress = None if report is None else (lambda p: report("outlines", p))
    where = {b.id: f"{file_name(file)}: pieces[{n}] ({b.id})" for n, b in enumerate(asked.blanks, 1)}
    try:
        return _nest(problem, settings, progress)
    except Refused as refusal:
        raise Refused(replace(f, where=where.get(f.where, f.where)) for f in refusal.findings) from None


def files_of(batch: Batch, tools: Sequence[Machine] = (), *, templates: Sequence[str] | None = None) -> Made:
    """Make every file of the output folder in memory: path inside the folder -> bytes.

    The batch comes back with what the drawings found added to its findings. Every machine for lead gets its files of
    each roll; one for card gets the patterns of single pieces. These are also made of the pieces that ``templates``
    names, of all where it is empty, of none where it is None.

    Raises
    ------
    Refused
        When a drawing fails its preflight.
    """
    by_id = {piece.id: piece for piece in batch.pieces}
    drawings = [(sheet, draw(sheet, by_id, caution=cautions.text_of("no scoring"))) for sheet in batch.sheets]
    found = [f for _, drawing in drawings for f in preflight(drawing)]
    refuse_faults(found)
    found += shared_cuts([drawing for _, drawing in drawings])
    found += [f for sheet in batch.sheets for f in label_findings(sheet, by_id)]
    words: list[str] = []
    made = [file for sheet, drawing in drawings for file in _roll_files(sheet, drawing)]
    for tool in tools:
        found += machine_findings(tool)
        words += [f"{tool.name}: {caution}" for caution in tool.cautions[:1]]
        for sheet, drawing in drawings if tool.stuff is Stuff.LEAD else ():
            thick = sheet.lead.thickness_mm
            run = machine_files(sheet.id, drawing, tool, thickness_mm=thick, notes=fold_notes(sheet, by_id))
            found += [f for f in run.paths.findings if f not in found]
            words.append(f"{tool.name}: {told(run.paths)}")
            made += [(entry, run.files[str(entry["path"])]) for entry in run.entries]
            if tool.paper is None and run.files:
                own = set_up(sheet, by_id, drawing, tool, (run.paths, tuple(run.files)))
                made += set_up_files(sheet.id, own, tool, roll=sheet.id, folder="rolls")
    cutters = [tool for tool in tools if tool.stuff is Stuff.CARD]
    if templates is not None or cutters:
        chosen = [piece for piece in batch.pieces if not templates or piece.id in templates]
        patterns = template_files(chosen, machines=cutters)
        made += [(entry, patterns.files[str(entry["path"])]) for entry in patterns.entries]
    batch = replace(batch, findings=(*batch.findings, *found, *lifting.heavy(batch)))
    made = [*_report_files(batch), *made]
    made.append(_text_file(INDEX, index_text([entry for entry, _ in [*made, _text_file(_TICKETS, "")]])))
    name = run_id(batch.version, batch.seed, map(_entry, made))  # by all but the tickets, which bear it
    made.append(_text_file(_TICKETS, tickets.tickets_html(batch, name)))
    files = {str(entry["path"]): data for entry, data in made}
    manifest = Manifest(batch.version, batch.seed, tuple(map(_entry, made)), name)
    return Made({**files, MANIFEST: manifest.text().encode()}, batch, tuple(words), name)


@dataclass(frozen=True, slots=True)
class Made:
    """Every file by its path in the folder, the batch with all findings, a line on each sheet's machine work, the name.

    The name of a run says what it made: the same files bear the same name.
    """

    files: dict[str, bytes]
    batch: Batch
    machine_words: tuple[str, ...]
    run: str


_File = tuple[dict[str, object], bytes]
"""A manifest entry, yet without its hash, and the bytes of the file."""


def _roll_files(sheet: Sheet, drawing: Drawing) -> list[_File]:
    strokes = stroke_facts(drawing)
    out: list[_File] = []
    for suffix, form, text, roles in (
        ("_mm.dxf", "dxf-r2000", to_dxf(drawing, release="R2000"), ROLE_LAYERS),
        ("_mm_r12.dxf", "dxf-r12", to_dxf(drawing, release="R12"), ROLE_LAYERS),
        ("_mm.svg", "svg", to_svg(drawing), ROLE_GROUPS),
    ):
        entry: dict[str, object] = {"path": f"rolls/{sheet.id}{suffix}", "format": form, "roll": sheet.id}
        out.append(({**entry, "roles": _names(roles), "units": "mm", "strokes": strokes}, text.encode()))
    return out


def _report_files(batch: Batch) -> list[_File]:
    totals = yields.account(batch)
    texts = {
        "yield.json": json_text(totals),
        "yield.csv": yields.yield_csv(totals),
        "cutting-list.csv": cutting_list.cutting_list_csv(cutting_list.cutting_list(batch)),
        "buy-list.csv": buy_list.buy_list_csv(buy_list.buy_list(batch)),
        "quantities.csv": quantities.quantities_csv(quantities.quantities(batch)),
        "setting-out.csv": setting_out.setting_out_csv(batch.pieces),
        "report.html": page.report_html(batch, totals, cautions=cautions.texts()),
    }
    return [_text_file(path, text) for path, text in texts.items()]


_TICKETS = "tickets.html"


def _text_file(path: str, text: str) -> _File:
    return {"path": path, "format": path.rsplit(".", 1)[1], "roll": None}, text.encode()


def _entry(file: _File) -> Entry:
    told, data = file
    return entry_of(str(told["path"]), data, {"roles": {}, **told})


def _names(roles: Mapping[Role, str]) -> dict[str, str]:
    return {role.value: name for role, name in roles.items()}
