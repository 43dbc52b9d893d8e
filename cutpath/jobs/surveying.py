"""From a checked job file to surveyed details: every default filled in from the trade's data."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TypeVar

from cutpath.errors import Finding, Severity, faults
from cutpath.intake import did_you_mean
from cutpath.jobs.chimney import KINDS, measured, own_table, parts, parts_wanted, side_table, surveyed
from cutpath.jobs.courses import RunLine
from cutpath.jobs.desk import Desk, LeftOutError
from cutpath.jobs.outlines import survey_outline
from cutpath.jobs.schema import (
    AbutmentGutterTable,
    AnyDetail,
    ApronTable,
    BackGutterTable,
    ChimneyTable,
    CoverFlashingTable,
    CoveringTable,
    DetailTable,
    FilletTable,
    OutlineTable,
    PartTable,
    PipeSlateTable,
    PlainDetail,
    ReturnTable,
    RidgeSaddleTable,
    SoakersTable,
    SoakerTable,
    StepAndCoverTable,
    StepFlashingTable,
    StepTable,
    TopAbutmentTable,
    ValleyGutterTable,
)
from cutpath.jobs.walls import along_water_line, check_walls, joints_for
from cutpath.profiles import CoveringData, coverings
from cutpath.trade.coursing import seen_from
from cutpath.trade.coverings import gauge_mm, headlap_mm, soaker_count, soaker_length_mm, surface_deg
from cutpath.trade.limits import SEVERE, check_covering, free_lap_mm, lap_mm, longest_fact, longest_mm, too_flat
from cutpath.trade.physics import valley_pitch_deg
from cutpath.trade.plausible import Written, check_size
from cutpath.trade.rules import severity_of
from cutpath.units import deg_text, mm_text, written
from cutpath.values.fact import Fact
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    BedJoint,
    Chimney,
    CornerKind,
    CornerReturn,
    CornerWork,
    CoverFlashing,
    Covering,
    Detail,
    DetailHead,
    EndCut,
    Hand,
    Lead,
    Origin,
    PipeSlate,
    PlainOutline,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TiltingFillet,
    Tongue,
    TopAbutment,
    ValleyGutter,
)

_HANDS: dict[str, tuple[Hand, ...]] = {
    "left": (Hand.LEFT,),
    "right": (Hand.RIGHT,),
    "pair": (Hand.RIGHT, Hand.LEFT),
}
_LABEL_LETTERS = {
    "step flashing": "S",
    "step and cover": "S",
    "soakers": "K",
    "apron": "A",
    "cover flashing": "C",
    "back gutter": "G",
    "ridge saddle": "R",
    "top abutment": "T",
    "valley gutter": "V",
    "abutment gutter": "G",
    "pipe slate": "P",
    "outline": "P",
}
_PLUMB_DEG = 90.0
_STEEPEST_RISER_DEG = 150.0
_COUNT_OFF = 0.2
"""A count of soakers this part away from the courses of the run asks for a second look."""
_ABOVE_THE_SIDES_MM = 1000.0
"""Joints by a gauge are given this far above the sides of a chimney: more than any gutter and its cover take up."""

T = TypeVar("T")
_Tables = tuple[list[tuple[str, PlainDetail]], Callable[[tuple[str, ...]], Chimney] | None]
Place = tuple[int, str]
"""A detail's number in the file, and the key of a table inside it that makes a detail of its own."""


@dataclass(frozen=True, slots=True)
class _Site:
    """One detail to be surveyed: where it stands in the file, its label, and the job's covering if there is one."""

    desk: Desk
    path: str
    label: str
    covering: Covering | None


def survey(desk: Desk, numbered: Sequence[tuple[int, AnyDetail]]) -> tuple[tuple[Detail, ...], tuple[Chimney, ...]]:
    """Survey every detail that can be; what cannot is left out, and the desk's findings say why.

    Parameters
    ----------
    desk : Desk
    numbered : sequence of (int, detail)
        The details with their places in the file, counted from 1.

    Returns
    -------
    details, chimneys
        In the order of the file; soakers follow the step flashing in whose table they stand. A chimney with a fault, or
        with a part left out, gives its details, but is not given as a whole.
    """
    check_walls(desk)
    labels = _labels(desk, numbered)
    covering = _attempt(lambda: _covering_of(desk, desk.job.covering, "covering"))
    out: list[Detail | None] = []
    chimneys: list[Chimney] = []
    for number, asked in numbered:
        whole = _Site(desk, f"detail[{number}]", "", covering)
        before, found = len(out), len(desk.findings)
        tables, stack = _tables(whole, asked)
        for inside, table in tables:
            site = replace(whole, path=_join(whole.path, inside), label=labels[number, inside])
            out.append(_attempt(partial(_one, site, table)))
            if isinstance(table, StepTable):
                keys = _reach_keys(inside, table)
                sites = [replace(site, path=_join(whole.path, key), label=labels[number, key]) for key in keys]
                out += _attempt(partial(_reaches_above, site, sites, table)) or []
            if isinstance(table, StepFlashingTable) and table.soakers is not False:
                label = labels[number, _join(inside, "soakers")]
                below = replace(site, path=f"{site.path}.soakers", label=label)
                out.append(_attempt(partial(_soakers_below, below, table)))
        if stack is not None and None not in out[before:] and not faults(desk.findings[found:]):
            chimneys.append(stack(tuple(part.head.label for part in out[before:] if part is not None)))
    return tuple(detail for detail in out if detail is not None), tuple(chimneys)


def _reach_keys(inside: str, table: StepTable) -> list[str]:
    return [_join(inside, f"above[{place}]") for place in range(1, len(table.above) + 1)]


def _join(*keys: str) -> str:
    return ".".join(key for key in keys if key)


def _tables(site: _Site, asked: AnyDetail) -> _Tables:
    """Give the tables that an entry of the file stands for, by their key inside it: one, or the parts of a chimney.

    With those of a chimney comes what gives its survey, once the labels of its parts are known.
    """
    if not isinstance(asked, ChimneyTable):
        return [("", asked)], None
    return _attempt(partial(_chimney, site, asked)) or ([], None)


def _chimney(site: _Site, asked: ChimneyTable) -> _Tables:
    stack = measured(site.desk, site.path, asked, _pitch(site, asked.pitch))
    key = "step_and_cover" if asked.step_and_cover is not False else "step_flashing"
    side = side_table(stack, key)
    on_roof = None
    if isinstance(side, StepFlashingTable):
        water, _ = _water_line(replace(site, path=f"{site.path}.{key}"), side)
    else:
        water = side.water_line or site.desk.fact("step_water_line")
        covering = _covering_under(replace(site, path=f"{site.path}.{key}"), side)
        on_roof = surface_deg(stack.pitch_deg, covering)
    # A gauge has to give joints up to the cover flashing, well above the upper end of the sides.
    run = RunLine(stack.pitch_deg, stack.slope_mm, water)
    above = replace(run, slope_mm=stack.slope_mm + _ABOVE_THE_SIDES_MM / math.sin(math.radians(stack.pitch_deg)))
    joints = joints_for(site.desk, f"{site.path}.coursing", asked.coursing, above)
    made, meeting = parts(stack, side, water, joints, on_roof)
    return made, partial(surveyed, stack, meeting)


def _one(site: _Site, table: PlainDetail) -> Detail:  # noqa: C901 - one line to a kind
    """Survey one table of a detail, whatever its kind."""
    match table:
        case StepFlashingTable():
            return _step_flashing(site, table)
        case StepAndCoverTable():
            return _step_and_cover(site, table)
        case SoakersTable():
            return _soakers_alone(site, table)
        case ApronTable():
            return _apron(site, table)
        case CoverFlashingTable():
            return _cover_flashing(site, table)
        case BackGutterTable():
            return _back_gutter(site, table)
        case RidgeSaddleTable():
            return _ridge_saddle(site, table)
        case TopAbutmentTable():
            return _top_abutment(site, table)
        case ValleyGutterTable():
            return _valley_gutter(site, table)
        case AbutmentGutterTable():
            return _abutment_gutter(site, table)
        case PipeSlateTable():
            return _pipe_slate(site, table)
        case OutlineTable():
            return _outline(site, table)


def _attempt(make: Callable[[], T]) -> T | None:
    try:
        return make()
    except LeftOutError:
        return None


def _labels(desk: Desk, numbered: Sequence[tuple[int, AnyDetail]]) -> dict[Place, str]:
    """Give every detail its label: the user's own, else the next free one of its kind."""
    wanted: list[tuple[Place, str, str | None]] = []
    for number, asked in numbered:
        tables: list[tuple[str, str, PartTable]] = [("", asked.kind, asked)] if isinstance(asked, PartTable) else []
        if isinstance(asked, ChimneyTable):
            tables = [(key, KINDS[key], own_table(asked, key)) for key in parts_wanted(asked)]
        for inside, kind, table in tables:
            wanted.append(((number, inside), _LABEL_LETTERS[kind], table.label))
            above = _reach_keys(inside, table) if isinstance(table, StepTable) else []
            wanted += [((number, key), _LABEL_LETTERS[kind], None) for key in above]
            soakers = getattr(table, "soakers", inside == "step_flashing")
            if soakers is not False:
                own = soakers.label if isinstance(soakers, SoakerTable) else None
                wanted.append(((number, _join(inside, "soakers")), _LABEL_LETTERS["soakers"], own))
    taken: dict[str, str] = {}
    for (number, inside), _, own in wanted:
        path = ".".join(part for part in (f"detail[{number}]", inside, "label") if part)
        if own in taken:
            desk.add(
                [
                    desk.finding(
                        "CP109",
                        path,
                        f"label {own} once more",
                        f"it is the label of {taken[own]} already",
                        "Give each detail a label of its own, or leave the labels out.",
                    )
                ]
            )
        elif own:
            taken[own] = path.removesuffix(".label")
    labels: dict[Place, str] = {}
    for place, letter, own in wanted:
        free = (f"{letter}{count}" for count in itertools.count(1))
        labels[place] = own or next(label for label in free if label not in taken)
        taken.setdefault(labels[place], "")
    return labels


def _covering_of(desk: Desk, asked: str | CoveringTable | None, path: str) -> Covering | None:
    """Return a covering by its name or its sizes, None where none is named; ``path`` is the key that names it."""
    if asked is None:
        return None
    if isinstance(asked, str):
        asked = CoveringTable(name=asked)
        name_path = path
    else:
        name_path = f"{path}.name"
    listed = _listed(asked.name)
    if listed is None and asked.length is None and (asked.name is None or asked.flatter_by is None):
        raise _unknown_covering(desk, asked.name, path, name_path)
    least = asked.least_pitch if asked.least_pitch is not None else listed.least_pitch_deg if listed else None
    flatter = desk.fact(listed.flatter if listed else "true_pitch_less_most")
    flatter = flatter if asked.flatter_by is None else asked.flatter_by
    if listed.single_lap if listed else asked.length is None:
        return _single_lap(desk, path, asked, least, flatter)
    if asked.headlap is not None and asked.gauge is not None:
        raise desk.refuse(
            "CP111",
            f"{path}.gauge",
            "gauge beside headlap",
            "accepted: one of the two; the other follows from the length",
            "Take one of the lines out.",
        )
    length = asked.length or (listed.length_mm if listed else 0.0)
    if asked.gauge is not None:
        headlap: float | None = headlap_mm(length, asked.gauge)
    elif asked.headlap is not None:
        headlap = asked.headlap
    elif listed:
        headlap = listed.headlap_severe_mm if desk.job.exposure == SEVERE else listed.headlap_mm
    else:
        headlap = None
    if headlap is None:
        raise desk.refuse("CP104", path, "neither headlap nor gauge", "needed: one of the two", "Add headlap or gauge.")
    name = asked.name or f"covering {mm_text(length)} long"
    size_path = f"{path}.gauge" if asked.gauge is not None else f"{path}.headlap"
    return _covering(desk, size_path, Covering(name, length, headlap, gauge_mm(length, headlap), least, flatter))


def _single_lap(
    desk: Desk, path: str, asked: CoveringTable, least_pitch_deg: float | None, flatter_deg: float
) -> Covering:
    sizes = [key for key in ("length", "headlap", "gauge") if getattr(asked, key) is not None]
    if sizes:
        raise desk.refuse(
            "CP111",
            f"{path}.{sizes[0]}",
            f"{sizes[0]} of {asked.name}",
            "accepted: sizes of double-lap coverings; one in single lap takes no soakers, so its sizes do nothing",
            f"Take {' and '.join(sizes)} out, or give a covering of your own another name.",
        )
    return Covering(asked.name or "", 0.0, 0.0, 0.0, least_pitch_deg, flatter_deg, single_lap=True)


def _covering(desk: Desk, path: str, covering: Covering) -> Covering:
    """Let a covering pass when its headlap can be laid in double lap."""
    if 0 <= covering.headlap_mm < covering.length_mm:
        desk.add(_odd_covering(desk, path, covering))
        return covering
    raise desk.refuse(
        "CP107",
        path,
        f"a headlap of {mm_text(covering.headlap_mm)} on {mm_text(covering.length_mm)}",
        "a headlap from 0 to less than the length; gauge = (length - headlap) / 2",
        "Check length, headlap and gauge.",
    )


def _odd_covering(desk: Desk, path: str, covering: Covering) -> list[Finding]:
    """Hold gauge and headlap against what they can be, where one follows from the other."""
    follows = ("headlap", covering.headlap_mm) if path.endswith("gauge") else ("covering gauge", covering.gauge_mm)
    finding = check_size(desk.sizes[follows[0]], Written(f"{desk.file}: {path}", follows[1], None))
    return [finding] if finding else []


def _listed(name: str | None) -> CoveringData | None:
    known = {listed.casefold(): data for listed, data in coverings().items()}
    return known.get(name.casefold()) if name else None


def _unknown_covering(desk: Desk, name: str | None, path: str, name_path: str) -> LeftOutError:
    if name is None:
        return desk.refuse("CP104", path, "neither name nor length", "needed: one of the two", "Add name or length.")
    meant = did_you_mean(name, coverings())
    return desk.refuse(
        "CP108",
        name_path,
        f"no covering named {written(name)}",
        f"one of {', '.join(sorted(coverings()))}, or a table with length and headlap or gauge, or with flatter_by",
        f"Did you mean {meant}?" if meant else "Give its length with headlap or gauge; in single lap, flatter_by.",
    )


def _pitch(site: _Site, own_deg: float | None) -> float:
    if own_deg is not None:
        return own_deg
    if site.desk.job.pitch is not None:
        return site.desk.job.pitch
    if "pitch" in site.desk.lost:
        raise LeftOutError(site.path)
    raise site.desk.refuse(
        "CP104",
        f"{site.path}.pitch",
        "nothing, and the job gives no pitch",
        "needed: pitch of the roof in degrees or rise to run",
        "Add pitch = ... at the top of the file, or to the detail.",
    )


def _lead(site: _Site, code: int | None, use: str) -> Lead:
    desk = site.desk
    wanted = code or int(getattr(desk.job.lead, use))
    if code is None and "lead" in desk.lost:
        raise LeftOutError(site.path)
    if wanted in desk.lead:
        return desk.lead[wanted]
    raise desk.refuse(
        "CP107",
        f"{site.path}.code" if code else f"lead.{use}",
        f"lead code {wanted}",
        f"accepted: {', '.join(str(known) for known in sorted(desk.lead))}",
        "Choose one of these.",
    )


def _longest(site: _Site, code: int, own_mm: float | None) -> float:
    """Return the limit for one length: the user's own where no rule refuses it.

    The job's limit is meant for every lead in it, so it is at fault only where no lead would allow it, and does not
    lengthen any. A detail's own limit may pass a rule that only warns, but not the one for the thickest lead.
    """
    desk = site.desk
    job_mm = desk.job.longest
    rule = longest_fact(code, desk.practice)
    most = max((longest_fact(known, desk.practice) for known in desk.lead), key=lambda fact: fact.value)
    own_rule = most if own_mm is not None and own_mm > most.value else rule
    for user, path, fact in ((own_mm, f"{site.path}.longest", own_rule), (job_mm, "longest", most)):
        if user is not None and user > fact.value:
            desk.add([_too_long(desk, path, user, fact)])
    if own_mm is None or severity_of(own_rule) is Severity.FAULT:
        return longest_mm(code, desk.practice, job_mm if own_mm is None else own_mm)
    return own_mm


def _too_long(desk: Desk, path: str, user_mm: float, fact: Fact) -> Finding:
    return desk.finding(
        "CP302",
        path,
        mm_text(user_mm),
        f"at most {mm_text(fact.value)} ({fact.founded_on})",
        f"Make it {mm_text(fact.value)} or less, or leave it out.",
        severity_of(fact),
    )


def _head(
    site: _Site,
    table: DetailTable | SoakerTable,
    use: str,
    *,
    quantity: int,
    hands: tuple[Hand, ...],
    roof_deg: float | None = None,
    whole_steps: bool = False,
) -> DetailHead:
    """Make a head; ``roof_deg`` is the true pitch of the roof on which laps lie, None where they lie on none."""
    lead = _lead(site, table.code, use)
    own_longest = None if isinstance(table, SoakerTable) else table.longest
    lap, no_lap = _lap(site, getattr(table, "lap", None), roof_deg, whole_steps=whole_steps)
    return DetailHead(
        label=site.label,
        origin=Origin(site.desk.file, site.path),
        lead=lead,
        quantity=quantity,
        hands=hands,
        longest_mm=_longest(site, lead.code, own_longest),
        lap_mm=lap,
        no_lap=no_lap,
    )


def _lap(site: _Site, own_mm: float | None, roof_deg: float | None, *, whole_steps: bool = False) -> tuple[float, str]:
    """Return the least lap, the user's own or the rule's, and why there may be none; the user's own mends nothing."""
    practice = site.desk.practice
    if roof_deg is None:
        return (site.desk.fact("least_lap") if own_mm is None else own_mm), ""
    rule = lap_mm(roof_deg, practice)
    if math.isinf(rule):
        return rule, too_flat(roof_deg, practice)
    if own_mm is not None:
        return own_mm, ""
    return (rule if whole_steps else free_lap_mm(rule, practice)), ""


def _water_line(site: _Site, table: StepFlashingTable) -> tuple[float, float]:
    """Give the water line, and the upstand that it leaves to soakers, both in mm.

    The water line is the user's own; else it stands clear above the soakers; else where the old specification
    has it. The upstand is the user's own; else the rule's, or less where the water line leaves less.
    """
    desk = site.desk
    if table.soakers is False:
        if table.clearance is not None:
            raise desk.refuse(
                "CP111",
                f"{site.path}.clearance",
                "clearance without soakers",
                "accepted: clearance from the top of the soakers to the water line",
                "Add soakers = true, or give water_line itself.",
            )
        return table.water_line or desk.fact("step_water_line"), 0.0
    own = table.soakers.upstand if isinstance(table.soakers, SoakerTable) else None
    clearance = desk.fact("water_line_clearance_least") if table.clearance is None else table.clearance
    if table.water_line is None:
        upstand = own or desk.fact("soaker_upstand")
        return upstand + clearance, upstand
    if own is not None and table.clearance is not None:
        raise desk.refuse(
            "CP111",
            f"{site.path}.clearance",
            "clearance beside water_line and upstand",
            "accepted: two of the three; the third follows",
            "Take one of the lines out.",
        )
    left = min(desk.fact("soaker_upstand"), table.water_line - clearance)
    if own is None and left <= 0:
        raise desk.refuse(
            "CP107",
            f"{site.path}.water_line",
            f"{mm_text(table.water_line)}, no higher than the clearance of {mm_text(clearance)}",
            "a water line that leaves an upstand to the soakers",
            "Measure the water line square to the roof.",
        )
    return table.water_line, left if own is None else own


def _step_flashing(site: _Site, table: StepFlashingTable) -> StepFlashing:
    if site.covering and table.soakers is not False:
        pitch = _pitch(site, table.pitch)
        site.desk.add(check_covering(site.covering, pitch, _pitch_origin(site, table.pitch)))
    return _steps(site, table, _water_line(site, table)[0], 0.0)


def _reaches_above(site: _Site, sites: list[_Site], table: StepFlashingTable | StepAndCoverTable) -> list[Detail]:
    """Survey the parts of a run above each change of pitch: each begins at a change, with a tongue over what is below.

    A strip cannot be bent in its own plane, so it is cut at the change and laps there as any two lengths do.
    """
    below = _one(site, table)
    assert isinstance(below, StepFlashing)  # noqa: S101 - that is what every table of steps makes
    out: list[Detail] = []
    x, y = _end_of(below)
    for above, reach in zip(sites, table.above, strict=True):
        surface = surface_deg(reach.pitch, below.covering) if below.cover_mm else None
        lap, no_lap = _lap(site, table.lap, surface, whole_steps=True)
        head = replace(
            below.head,
            label=above.label,
            origin=Origin(above.desk.file, above.path),
            lap_mm=lap,
            no_lap=no_lap,
        )
        joints = seen_from(_joints_of(site, table, below.water_line_mm), x, y)
        here = replace(
            below,
            head=head,
            pitch_deg=reach.pitch,
            slope_mm=reach.length,
            joints=tuple(joint for joint in joints if joint.number not in table.skip_joints),
            riser_deg=_riser_deg(site, table, reach.pitch),
            set_back_mm=0.0,
            upper_end=EndCut(table.upper_end),
            corner=_corner(None),
            tongue=Tongue(below),
            lapped_mm=0.0,
        )
        if above is not sites[-1]:
            here = replace(here, upper_end=EndCut.PLUMB, lapped_mm=_lap_at_change(above, table, surface, reach.length))
        out.append(here)
        dx, dy = _end_of(here)
        x, y, below = x + dx, y + dy, here
    return out


def _end_of(run: StepFlashing) -> tuple[float, float]:
    """Give the upper end on the roof line in the run's own wall frame."""
    p = math.radians(run.pitch_deg)
    return run.slope_mm * math.cos(p), run.slope_mm * math.sin(p)


def _joints_of(site: _Site, table: StepTable, water_line_mm: float) -> tuple[BedJoint, ...]:
    """Give the joints of a whole run, seen from its lower corner; enough of them for the steepest part of it."""
    desk = site.desk
    asked = RunLine(_pitch(site, table.pitch), table.length, water_line_mm, table.set_back)
    if table.above:
        steepest = max(asked.pitch_deg, *(reach.pitch for reach in table.above))
        whole = table.length + sum(reach.length for reach in table.above)
        asked = replace(asked, pitch_deg=steepest, slope_mm=whole)
        path = f"{site.path}.coursing"
        if along_water_line(desk, path, table.coursing):
            raise desk.refuse(
                "CP111",
                path,
                "readings along the water line of a roof that changes its pitch",
                "accepted: joints by their heights, a gauge, or steps of your own",
                "Measure the heights of the joints at the lower corner.",
            )
    return joints_for(desk, f"{site.path}.coursing", table.coursing, asked)


def _step_and_cover(site: _Site, table: StepAndCoverTable) -> StepFlashing:
    desk = site.desk
    usual = desk.fact("step_cover_on_roof_severe" if desk.job.exposure == SEVERE else "step_cover_on_roof")
    return _steps(site, table, table.water_line or desk.fact("step_water_line"), table.cover or usual)


def _steps(site: _Site, table: StepTable, water_line: float, cover: float) -> StepFlashing:
    desk = site.desk
    pitch = _pitch(site, table.pitch)
    covering = _covering_under(site, table) if cover else None
    surface = surface_deg(pitch, covering) if cover else None
    hands = _sets(site, table)
    head = _head(site, table, "step_flashing", quantity=table.quantity, hands=hands, roof_deg=surface, whole_steps=True)
    riser = _riser_deg(site, table, pitch)
    joints = _joints_of(site, table, water_line)
    numbers = {joint.number for joint in joints}
    for place, number in enumerate(table.skip_joints, start=1):
        if number not in numbers:
            raise desk.refuse(
                "CP108",
                f"{site.path}.skip_joints[{place}]",
                f"joint {number}",
                f"joints 1 to {len(joints)}",
                "Count the joints from the bottom up, the first one is 1.",
            )
    changes = bool(table.above)
    set_back = table.set_back / math.cos(math.radians(pitch))
    lapped = _lap_at_change(site, table, surface, table.length - set_back) if changes else 0.0
    return StepFlashing(
        head=head,
        pitch_deg=pitch,
        slope_mm=table.length,
        joints=tuple(joint for joint in joints if joint.number not in table.skip_joints),
        water_line_mm=water_line,
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        riser_deg=riser,
        strip_width_mm=table.strip_width,
        stock_widths_mm=_stock_widths_mm(desk, head.lead),
        set_back_mm=table.set_back,
        upper_end=EndCut.PLUMB if changes else EndCut(table.upper_end),
        corner=_corner(table.return_),
        least_fold_mm=desk.fact("least_fold"),
        cover_mm=cover,
        skip_short=table.short_steps == "skip",
        lapped_mm=lapped,
        covering=covering,
    )


def _covering_under(site: _Site, table: StepTable) -> Covering | None:
    """Return what a cover lies on: its own covering, else the job's."""
    own = getattr(table, "covering", None)
    return site.covering if own is None else _covering_of(site.desk, own, f"{site.path}.covering")


def _lap_at_change(site: _Site, table: StepTable, roof_deg: float | None, length_mm: float) -> float:
    """Return the lap over ``length_mm`` of lead below a change of pitch, where the part above may end anywhere."""
    lap, no_lap = _lap(site, table.lap, roof_deg)
    if no_lap:
        raise site.desk.refuse(
            "CP315",
            f"{site.path}.pitch",
            "a change of pitch, where the part above laps over the one below",
            no_lap,
            "Have a drip formed at the change, and order each part as a run of its own; ask a competent leadworker.",
        )
    if length_mm < lap:
        raise site.desk.refuse(
            "CP410",
            f"{site.path}.length",
            f"{mm_text(length_mm)} of lead below the change of pitch",
            f"at least the lap of {mm_text(lap)} that lies over it there",
            "Check the length; a shorter piece is better left out.",
        )
    return lap


def _pitch_origin(site: _Site, own_deg: float | None) -> Origin:
    return Origin(site.desk.file, site.path if own_deg is not None else "")


def _riser_deg(site: _Site, table: StepTable, pitch_deg: float) -> float:
    """Give the riser's angle from level."""
    desk = site.desk
    if table.riser is None:
        if "riser_from" in table.model_fields_set:
            raise desk.refuse(
                "CP104",
                f"{site.path}.riser",
                "riser_from without an angle",
                "needed: riser, the angle that is counted from there",
                "Add riser = ..., or take riser_from out: the riser is plumb.",
            )
        return _PLUMB_DEG
    if table.riser_from == "level":
        return table.riser
    riser = table.riser + pitch_deg
    if riser > _STEEPEST_RISER_DEG:
        raise desk.refuse(
            "CP107",
            f"{site.path}.riser",
            f"{deg_text(table.riser)} from the water line, {deg_text(riser)} from level",
            f"at most {deg_text(_STEEPEST_RISER_DEG)} from level; a plumb riser stands at "
            f"{deg_text(_PLUMB_DEG - pitch_deg)} to this water line",
            "Check from which line the angle was taken.",
        )
    return riser


def _stock_widths_mm(desk: Desk, lead: Lead) -> tuple[float, ...]:
    return tuple(sorted({roll.width_mm for roll in desk.rolls if roll.material in {"", lead.material}}))


def _corner(table: ReturnTable | None) -> CornerReturn:
    if table is None:
        return CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    return CornerReturn(CornerKind(table.kind), table.length, table.joint, table.foot)


def _soakers_below(site: _Site, table: StepFlashingTable) -> Soakers:
    """Survey the soakers written in the table of a step flashing."""
    own = table.soakers if isinstance(table.soakers, SoakerTable) else SoakerTable()
    _, upstand = _water_line(replace(site, path=site.path.removesuffix(".soakers")), table)
    head = _head(site, own, "soakers", quantity=table.quantity, hands=_HANDS[table.hands])
    slope = table.length + sum(reach.length for reach in table.above)
    return _soakers(site, own, head, slope, upstand)


def _sets(site: _Site, table: StepTable | SoakersTable | AbutmentGutterTable) -> tuple[Hand, ...]:
    """Return the hands of a set, and note what is made of a quantity where nothing was said of hands."""
    desk, n = site.desk, table.quantity
    inside_chimney = site.path.count(".") > 0
    if n > 1 and "hands" not in table.model_fields_set and not inside_chimney:
        desk.add(
            [
                desk.finding(
                    "CP113",
                    f"{site.path}.quantity",
                    f"{n} sets, and nothing said of hands: {n} pairs, {n} right and {n} left",
                    "hands = left or right for sets of one hand",
                    f"Nothing to do for {n} pairs; else add hands.",
                    Severity.NOTE,
                )
            ]
        )
    return _HANDS[table.hands or "pair"]


def _soakers_alone(site: _Site, table: SoakersTable) -> Soakers:
    desk = site.desk
    if table.length is None and table.count is None:
        raise desk.refuse(
            "CP104",
            f"{site.path}.length",
            "neither length nor count",
            "needed: the length of the run, which is divided by the gauge, or the number of soakers",
            "Add length = ... or count = ...",
        )
    plain = table.count is not None and table.hands is None
    hands = () if plain else _sets(site, table)
    if plain:
        desk.add(
            [
                desk.finding(
                    "CP113",
                    f"{site.path}.count",
                    f"{table.count} soakers, and nothing said of hands: {table.count} blanks are cut",
                    "hands = left, right or pair: then count is that of one run, and a pair is two",
                    "Nothing to do: it is drawn for a roof that rises to the right; for the other hand turn the blank "
                    "over before it is marked and folded.",
                    Severity.NOTE,
                )
            ]
        )
    head = _head(site, table, "soakers", quantity=table.quantity, hands=hands)
    return _soakers(site, table, head, table.length, table.upstand or desk.fact("soaker_upstand"))


def _soakers(
    site: _Site, table: SoakersTable | SoakerTable, head: DetailHead, slope_mm: float | None, upstand_mm: float
) -> Soakers:
    desk = site.desk
    covering = site.covering
    if covering is None:
        if desk.job.covering is not None or "covering" in desk.lost:
            raise LeftOutError(site.path)
        raise desk.refuse(
            "CP104",
            "covering",
            "nothing",
            "needed for soakers: slates or plain tiles, by name or by length with headlap or gauge",
            "Add covering = ... at the top of the file.",
        )
    if table.headlap is not None:
        gauge = gauge_mm(covering.length_mm, table.headlap)
        covering = _covering(desk, f"{site.path}.headlap", replace(covering, headlap_mm=table.headlap, gauge_mm=gauge))
    if covering.single_lap:
        raise desk.refuse(
            "CP412",
            site.path,
            f"soakers under {covering.name}",
            "soakers to a double-lap covering: one to each course of slates or plain tiles",
            'Over a covering in single lap use kind = "step and cover" (step_and_cover on a chimney).',
        )
    courses = soaker_count(slope_mm, covering.gauge_mm) if slope_mm is not None else None
    desk.add(_odd_count(site, table, courses))
    turn_down = desk.fact("soaker_turn_down")
    return Soakers(
        head=head,
        count=table.count or courses or 1,
        length_mm=soaker_length_mm(covering.gauge_mm, covering.headlap_mm, turn_down),
        upstand_mm=upstand_mm,
        roof_mm=table.roof or desk.fact("soaker_roof"),
        turn_down_mm=turn_down,
        gauge_mm=covering.gauge_mm,
    )


def _odd_count(site: _Site, table: SoakersTable | SoakerTable, courses: int | None) -> list[Finding]:
    """Warn of a count that is far from the courses that the run crosses."""
    count = table.count
    if count is None or courses is None or "count" in table.confirmed:
        return []
    if abs(count - courses) <= max(_COUNT_OFF * courses, 2):
        return []
    return [
        site.desk.finding(
            "CP112",
            f"{site.path}.count",
            f"{count} soakers to a run that crosses {courses} courses",
            "one to each course",
            'Check count, length and gauge. If it is right, add confirmed = ["count"] to the same table.',
            Severity.WARNING,
        )
    ]


def _apron(site: _Site, table: ApronTable) -> Apron:
    desk = site.desk
    pitch = _pitch(site, table.pitch)
    severe = desk.job.exposure == SEVERE
    return Apron(
        head=_head(site, table, "apron", quantity=table.quantity, hands=()),
        pitch_deg=pitch,
        width_mm=table.width,
        side_mm=desk.fact("apron_side") if table.side is None else table.side,
        upstand_mm=table.upstand or desk.fact("upstand"),
        cover_mm=table.cover or desk.fact("apron_cover_severe" if severe else "apron_cover"),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        corners=CornerWork(table.corners),
    )


def _cover_flashing(site: _Site, table: CoverFlashingTable) -> CoverFlashing:
    desk = site.desk
    raking = table.slope > 0
    if raking and table.hands is None:
        raise desk.refuse(
            "CP104",
            f"{site.path}.hands",
            "nothing",
            "needed on a raking chase: left, right or pair, as the chase rises facing the wall",
            "Add hands = ...",
        )
    if not raking and table.hands is not None:
        raise desk.refuse(
            "CP111",
            f"{site.path}.hands",
            f"hands {written(table.hands)} on a level chase",
            "accepted: hands with slope; a level cover flashing has none",
            "Take the line out, or add slope = ...",
        )
    if raking and table.returns:
        raise desk.refuse(
            "CP111",
            f"{site.path}.returns",
            "returns on a raking chase",
            "accepted: returns round both arrises of a level chase",
            "Take one of the lines out.",
        )
    hands = _HANDS[table.hands] if table.hands else ()
    return CoverFlashing(
        head=_head(site, table, "cover_flashing", quantity=table.quantity, hands=hands),
        length_mm=table.length,
        slope_deg=table.slope,
        cover_mm=table.cover or desk.fact("cover_flashing_cover"),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        return_mm=table.returns,
    )


def _back_gutter(site: _Site, table: BackGutterTable) -> BackGutter:
    fact = site.desk.fact
    return BackGutter(
        head=_head(site, table, "back_gutter", quantity=table.quantity, hands=()),
        pitch_deg=_pitch(site, table.pitch),
        width_mm=table.width,
        side_mm=fact("gutter_side") if table.side is None else table.side,
        upstand_mm=table.upstand or fact("gutter_upstand"),
        sole_mm=table.sole or fact("gutter_sole"),
        up_roof_mm=table.up_roof or fact("gutter_up_roof"),
        fillet=_fillet(site, table, "gutter_fillet_foot"),
        turn_over_mm=fact("gutter_turn_over"),
        corners=CornerWork(table.corners),
        roll_core_mm=fact("roll_core"),
        roll_under_mm=fact("roll_undercloak"),
        roll_over_mm=fact("roll_overcloak"),
    )


def _fillet(site: _Site, table: BackGutterTable | ValleyGutterTable, foot: str) -> TiltingFillet | None:
    desk, asked = site.desk, table.fillet
    if asked is False:
        return None
    own = asked if isinstance(asked, FilletTable) else FilletTable()
    return TiltingFillet(
        foot_mm=own.foot or desk.fact(foot),
        width_mm=own.width or desk.fact("gutter_fillet_width"),
        height_mm=own.height or desk.fact("gutter_fillet_height"),
        face_deg=own.face or desk.fact("gutter_fillet_face"),
    )


def _ridge_saddle(site: _Site, table: RidgeSaddleTable) -> RidgeSaddle:
    fact = site.desk.fact
    return RidgeSaddle(
        head=_head(site, table, "saddle", quantity=table.quantity, hands=()),
        pitch_deg=_pitch(site, table.pitch),
        width_mm=table.width or fact("saddle_size"),
        length_mm=table.length or fact("saddle_size"),
        upstand_mm=table.upstand or fact("saddle_upstand"),
        corners=CornerWork(table.corners),
    )


def _top_abutment(site: _Site, table: TopAbutmentTable) -> TopAbutment:
    desk = site.desk
    severe = desk.job.exposure == SEVERE
    if table.stop_height is not None and table.stop_ends == "none":
        raise desk.refuse(
            "CP111",
            f"{site.path}.stop_height",
            "stop_height without stop_ends",
            "accepted: the height of stop ends, where there are any",
            'Add stop_ends = "left", "right" or "both", or take the line out.',
        )
    height = table.stop_height or desk.fact("stop_end")
    return TopAbutment(
        head=_head(site, table, "abutment", quantity=table.quantity, hands=()),
        pitch_deg=_pitch(site, table.pitch),
        length_mm=table.length,
        upstand_mm=table.upstand or desk.fact("upstand"),
        cover_mm=table.cover or desk.fact("apron_cover_severe" if severe else "apron_cover"),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        stop_left_mm=height if table.stop_ends in ("left", "both") else 0.0,
        stop_right_mm=height if table.stop_ends in ("right", "both") else 0.0,
        corners=CornerWork(table.corners),
    )


def _valley_gutter(site: _Site, table: ValleyGutterTable) -> ValleyGutter:
    desk = site.desk
    pitch = _pitch(site, table.pitch)
    other = table.other_pitch or pitch
    true = valley_pitch_deg(pitch, other)
    return ValleyGutter(
        head=_head(site, table, "valley_gutter", quantity=table.quantity, hands=(), roof_deg=true),
        pitch_deg=pitch,
        other_pitch_deg=other,
        true_pitch_deg=true,
        length_mm=table.length,
        width_mm=table.width or desk.fact("valley_width"),
        fillet=_fillet(site, table, "valley_fillet_foot"),
        turn_over_mm=desk.fact("gutter_turn_over"),
    )


def _abutment_gutter(site: _Site, table: AbutmentGutterTable) -> AbutmentGutter:
    fact = site.desk.fact
    pitch = _pitch(site, table.pitch)
    hands = _sets(site, table)
    return AbutmentGutter(
        head=_head(site, table, "abutment_gutter", quantity=table.quantity, hands=hands, roof_deg=pitch),
        pitch_deg=pitch,
        length_mm=table.length,
        upstand_mm=table.upstand or fact("abutment_gutter_upstand"),
        sole_mm=table.sole or fact("abutment_gutter_sole"),
        edge_mm=table.edge or fact("abutment_gutter_edge"),
    )


def _pipe_slate(site: _Site, table: PipeSlateTable) -> PipeSlate:
    fact = site.desk.fact
    return PipeSlate(
        head=_head(site, table, "pipe_slate", quantity=table.quantity, hands=()),
        pitch_deg=_pitch(site, table.pitch),
        pipe_mm=table.pipe,
        clearance_mm=table.clearance or fact("pipe_clearance"),
        sleeve_mm=table.sleeve or fact("pipe_sleeve"),
        seam_mm=table.seam or fact("pipe_seam"),
        side_mm=table.side or fact("pipe_base_side"),
        below_mm=table.below or fact("pipe_base_below"),
        above_mm=table.above or fact("pipe_base_above"),
    )


def _outline(site: _Site, table: OutlineTable) -> PlainOutline:
    head = _head(site, table, "outline", quantity=table.quantity, hands=())
    return survey_outline(site.desk, site.path, head, table)
