"""Step flashings in the job file, over soakers or with a cover, and their survey."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Annotated, Final, Literal

from pydantic import Discriminator, Field, Tag

from cutpath import sure
from cutpath.errors import Finding, Severity
from cutpath.families.courses import RunLine
from cutpath.families.coverings import doubt_pitch
from cutpath.families.family import Further
from cutpath.families.site import (
    HANDS,
    Site,
    attempt,
    head_of,
    lap_of,
    pitch_of,
    pitch_origin,
    sets_of,
    stock_widths_mm,
)
from cutpath.families.soakers.job import SoakerTable, soakers_of
from cutpath.families.tables import (
    CoursingOrName,
    DetailTable,
    HandWord,
    Height,
    JointNumber,
    Length,
    LengthOrNought,
    Means,
    OwnCovering,
    OwnLap,
    OwnPitch,
    PartTable,
    Pitch,
    Riser,
    Sized,
    by_kind,
)
from cutpath.families.walls import along_water_line, joints_for
from cutpath.trade.coursing import seen_from
from cutpath.trade.coverings import surface_deg
from cutpath.trade.limits import (
    SEVERE,
)
from cutpath.trade.rules import said
from cutpath.units import deg_text, mm_text, unlike
from cutpath.values.leadwork import PLUMB_DEG, CornerKind, CornerReturn, EndCut, Soakers, StepFlashing, Tongue
from cutpath.values.survey import BedJoint, Detail, Origin


class ReturnTable(Sized):
    """A return round the arris at the lower end."""

    kind: Literal["integral", "separate"] = Field(
        default="integral", description="in one sheet with the strip, or a lapped piece of its own"
    )
    length: Annotated[Length, Means("return")] = Field(description="level reach on the next face, mm")
    joint: JointNumber | None = Field(
        default=None,
        description="number of the bed joint its top folds into, counted from 1; the first step's if left out",
    )
    foot: Annotated[Height, Means("return foot")] = Field(
        default=0.0, description="height of its lower edge above the lower corner, mm"
    )


class StepSizes(PartTable):
    """How steps are turned into bed joints."""

    lap: OwnLap = None
    water_line: Annotated[Length, Means("water line")] | None = Field(
        default=None,
        description="height of the water line above the roof, square to the roof, mm; 65, or 5 above any soakers",
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joints, mm; 25"
    )
    riser: Riser = Field(default=None, description="plumb if left out, or the angle of the risers in degrees")
    riser_from: Literal["level", "water line"] = Field(
        default="level", description="the line from which the riser's angle is counted"
    )
    strip_width: Annotated[Length, Means("strip width")] | None = Field(
        default=None,
        description="width of the whole strip, mm, any cover on the roof and the turn-ins included; if left out, the "
        "narrowest roll that holds the steps",
    )
    set_back: Annotated[LengthOrNought, Means("set back")] = Field(
        default=0.0, description="level distance from the arris to the lower end, mm"
    )
    upper_end: Literal["plumb", "square"] = Field(default="plumb", description="how the upper end is cut")
    return_: ReturnTable | None = Field(
        default=None, alias="return", description="return round the arris, lengths in mm"
    )
    skip_joints: list[JointNumber] = Field(
        default=[], description="numbers of bed joints not to be used, counted from 1"
    )
    short_steps: Literal["keep", "skip"] = Field(
        default="keep", description="skip to leave out joints whose steps are too short to dress"
    )


class ReachTable(Sized):
    """A part of a run above a change of pitch."""

    length: Annotated[Length, Means("run")] = Field(description="along the slope, from the change upwards, mm")
    pitch: Pitch = Field(description="pitch of the roof there, degrees or rise to run")


class StepTable(StepSizes, DetailTable):
    """A run of steps turned into bed joints."""

    hands: HandWord = Field(
        default="pair", description="which way the roof rises as you face the wall: left, right or pair"
    )
    length: Annotated[Length, Means("run")] = Field(
        description="along the slope, from the lower corner to the upper end, mm"
    )
    pitch: OwnPitch = None
    coursing: CoursingOrName = Field(
        default=None, description="name of a coursing of this job, or the joints themselves in mm"
    )
    above: list[ReachTable] = Field(
        default=[],
        max_length=5,
        description="where the roof changes its pitch, as over sprocketed eaves: the parts above, in mm, bottom up",
    )


class StepFlashingTable(StepTable):
    """A run of step flashing over soakers."""

    kind: Literal["step flashing"] = Field(description="step flashing")
    clearance: Annotated[LengthOrNought, Means("clearance")] | None = Field(
        default=None, description="from the top of the soakers to the water line, mm; 5"
    )
    soakers: Annotated[
        Annotated[SoakerTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=False, description="true for soakers by the covering, or their sizes in mm")


class StepAndCoverTable(StepTable):
    """A run of step flashing that goes on over the roof in one sheet: for profiled tiles, without soakers."""

    kind: Literal["step and cover"] = Field(description="step and cover")
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="on the roof, mm; 150, or 200 in severe exposure"
    )
    covering: OwnCovering = None


SOAKERS = "soakers"


_STEEPEST_RISER_DEG = 150.0


def water_line_of(site: Site, table: StepFlashingTable) -> tuple[float, float]:
    """Return the water line, and the upstand that it leaves to soakers, both in mm.

    The water line is the user's own; else it stands clear above the soakers; else where the old specification
    has it. The upstand is the user's own; else the rule's, or less where the water line leaves less.
    """
    desk = site.desk
    if table.soakers is False:
        if table.clearance is not None:
            raise desk.refuse(
                "CP111",
                f"{site.path}.clearance",
                "clearance is given without soakers",
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
            "clearance, water_line and upstand are all given",
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


def _step_flashing(site: Site, table: StepFlashingTable) -> StepFlashing:
    if table.soakers is not False:
        own = getattr(table.soakers, "headlap", None)
        covering = site.covering if own is None or site.covering is None else replace(site.covering, headlap_mm=own)
        doubt_pitch(site.desk, covering, pitch_of(site, table.pitch), pitch_origin(site, table.pitch))
    elif "soakers" not in table.model_fields_set and site.covering is not None and not site.covering.single_lap:
        site.desk.tell(
            "CP113",
            site.path,
            f"nothing said of soakers, so none are made under {site.covering.name}",
            "a step flashing over soakers (common practice, no source)",
            "Add soakers = true; or soakers = false where they lie there, or are cut apart.",
            Severity.NOTE,
        )
    return _steps(site, table, water_line_of(site, table)[0], 0.0)


def reaches_above(site: Site, sites: list[Site], table: StepFlashingTable | StepAndCoverTable) -> list[Detail]:
    """Survey the parts of a run above each change of pitch: each begins at a change, with a tongue over what is below.

    A strip cannot be bent in its own plane, so it is cut at the change and laps there as any two lengths do.
    """
    below = base(site, table)
    out: list[Detail] = []
    x, y = _end_of(below)
    covering = below.covering if below.cover_mm else site.covering if getattr(table, "soakers", False) else None
    for above, reach in zip(sites, table.above, strict=True):
        doubt_pitch(site.desk, covering, reach.pitch, Origin(above.desk.file, above.path))
        if abs(reach.pitch - below.pitch_deg) < _LEAST_CHANGE_DEG:
            above.desk.add([_no_change(above, below.pitch_deg, reach.pitch)])
        surface = surface_deg(reach.pitch, below.covering) if below.cover_mm else None
        lap, no_lap = lap_of(site, table.lap, surface, whole_steps=True)
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


_LEAST_CHANGE_DEG: Final = 1.0
"""A pitch is measured no finer than this: less is no change of the roof."""


def _no_change(above: Site, below_deg: float, pitch_deg: float) -> Finding:
    """Doubt a change of pitch where the roof goes on as it is: the strip would be cut for nothing."""
    told = unlike(deg_text(pitch_deg), pitch_deg, deg_text, below_deg)
    return above.desk.finding(
        "CP112",
        f"{above.path}.pitch",
        f"{told} above a roof at {unlike(deg_text(below_deg), below_deg, deg_text, pitch_deg)}",
        f"usual: a change of {_LEAST_CHANGE_DEG:g} deg or more; the strip is cut there, with a lap more",
        "Measure both pitches again; if they are one, make one run of both lengths.",
        Severity.WARNING,
    )


def _end_of(run: StepFlashing) -> tuple[float, float]:
    """Return the upper end on the roof line in the run's own wall frame."""
    p = math.radians(run.pitch_deg)
    return run.slope_mm * sure.cos(p), run.slope_mm * sure.sin(p)


def _joints_of(site: Site, table: StepTable, water_line_mm: float) -> tuple[BedJoint, ...]:
    """Return the joints of a whole run, seen from its lower corner; enough of them for the steepest part of it."""
    desk = site.desk
    asked = RunLine(pitch_of(site, table.pitch), table.length, water_line_mm, table.set_back)
    if table.above:
        steepest = max(asked.pitch_deg, *(reach.pitch for reach in table.above))
        whole = table.length + math.fsum(reach.length for reach in table.above)
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


def _step_and_cover(site: Site, table: StepAndCoverTable) -> StepFlashing:
    desk = site.desk
    usual = desk.fact("step_cover_on_roof_severe" if desk.job.exposure == SEVERE else "step_cover_on_roof")
    covering = site.covering
    doubt_pitch(site.desk, covering, pitch_of(site, table.pitch), pitch_origin(site, table.pitch))
    if covering is not None and not covering.single_lap:
        desk.tell(
            "CP412",
            site.path,
            f"a cover on {covering.name}, a double-lap covering",
            "soakers under each course of slates or plain tiles (common practice, no source)",
            'Use kind = "step flashing" with soakers = true (step_flashing on a chimney), unless it is meant.',
            Severity.WARNING,
        )
    return _steps(site, table, table.water_line or desk.fact("step_water_line"), table.cover or usual)


def _steps(site: Site, table: StepTable, water_line: float, cover: float) -> StepFlashing:
    desk = site.desk
    pitch = pitch_of(site, table.pitch)
    covering = site.covering if cover else None
    surface = surface_deg(pitch, covering) if cover else None
    hands = sets_of(site, table)
    head = head_of(
        site, table, "step_flashing", quantity=table.quantity, hands=hands, roof_deg=surface, whole_steps=True
    )
    riser = _riser_deg(site, table, pitch)
    joints = _joints_of(site, table, water_line)
    numbers = {joint.number for joint in joints}
    for place, number in enumerate(table.skip_joints, start=1):
        if number not in numbers:
            raise desk.refuse(
                "CP108",
                f"{site.path}.skip_joints[{place}]",
                f"there is no joint {number}",
                f"joints 1 to {len(joints)}",
                "Count the joints from the bottom up; the first is joint 1.",
            )
    changes = bool(table.above)
    set_back = table.set_back / sure.cos(math.radians(pitch))
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
        stock_widths_mm=stock_widths_mm(desk, head.lead),
        set_back_mm=table.set_back,
        upper_end=EndCut.PLUMB if changes else EndCut(table.upper_end),
        corner=_corner(table.return_),
        least_fold_mm=desk.fact("least_fold"),
        cover_mm=cover,
        skip_short=table.short_steps == "skip",
        lapped_mm=lapped,
        covering=covering,
    )


def _lap_at_change(site: Site, table: StepTable, roof_deg: float | None, length_mm: float) -> float:
    """Return the lap over ``length_mm`` of lead below a change of pitch, where the part above may end anywhere."""
    lap, no_lap = lap_of(site, table.lap, roof_deg)
    if no_lap:
        raise site.desk.refused(said("no_lap_at_a_change", site.desk.where(f"{site.path}.pitch"), no_lap=no_lap))
    if length_mm < lap:
        raise site.desk.refuse(
            "CP410",
            f"{site.path}.length",
            f"{mm_text(length_mm)} of lead below the change of pitch",
            f"at least the lap of {mm_text(lap)} that lies over it there",
            "Check the length; a shorter piece is better left out.",
        )
    return lap


def _riser_deg(site: Site, table: StepTable, pitch_deg: float) -> float:
    """Return the riser's angle from level."""
    desk = site.desk
    if table.riser is None:
        if "riser_from" in table.model_fields_set:
            raise desk.refuse(
                "CP104",
                f"{site.path}.riser",
                "riser_from is given without an angle",
                "needed: riser, the angle that is counted from there",
                "Add riser = ..., or take riser_from out: the riser is plumb.",
            )
        return PLUMB_DEG
    if table.riser_from == "level":
        return table.riser
    riser = table.riser + pitch_deg
    if riser > _STEEPEST_RISER_DEG:
        stands = unlike(deg_text(riser), riser, deg_text, _STEEPEST_RISER_DEG)
        raise desk.refuse(
            "CP107",
            f"{site.path}.riser",
            f"a riser at {deg_text(table.riser)} from the water line stands at {stands} from level",
            f"at most {deg_text(_STEEPEST_RISER_DEG)} from level; a plumb riser stands at "
            f"{deg_text(PLUMB_DEG - pitch_deg)} to this water line",
            "Check from which line the angle was taken.",
        )
    return riser


def _corner(table: ReturnTable | None) -> CornerReturn:
    if table is None:
        return CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    return CornerReturn(CornerKind(table.kind), table.length, table.joint, table.foot)


def soakers_below(site: Site, over: Site, table: StepFlashingTable) -> Soakers:
    """Survey the soakers written in the table of a step flashing."""
    own = table.soakers if isinstance(table.soakers, SoakerTable) else SoakerTable()
    _, upstand = water_line_of(over, table)
    head = head_of(site, own, "soakers", quantity=table.quantity, hands=HANDS[table.hands])
    slope = table.length + math.fsum(reach.length for reach in table.above)
    return soakers_of(site, own, head, slope, upstand)


def surveyed(
    site: Site, further: Mapping[str, Site], table: StepFlashingTable | StepAndCoverTable
) -> list[Detail | None]:
    """Survey a run, the parts of it above each change of pitch, and the soakers in its table."""
    out: list[Detail | None] = [attempt(partial(base, site, table))]
    reaches = [own for key, own in further.items() if key != SOAKERS]
    out += attempt(partial(reaches_above, site, reaches, table)) or []
    if isinstance(table, StepFlashingTable) and SOAKERS in further:
        out.append(attempt(partial(soakers_below, further[SOAKERS], site, table)))
    return out


def base(site: Site, table: StepFlashingTable | StepAndCoverTable) -> StepFlashing:
    """Survey the lowest part of a run."""
    return _step_flashing(site, table) if isinstance(table, StepFlashingTable) else _step_and_cover(site, table)


def further(table: PartTable) -> tuple[Further, ...]:
    """Return the details that stand in a table of steps beside its own: parts above a change of pitch."""
    return tuple(Further(f"above[{place}]", "S") for place in range(1, len(getattr(table, "above", ())) + 1))


def further_over_soakers(table: PartTable) -> tuple[Further, ...]:
    """Return the same, and the soakers."""
    soakers = getattr(table, SOAKERS, True)
    if soakers is False:
        return further(table)
    own = soakers.label if isinstance(soakers, SoakerTable) else None
    return (*further(table), Further(SOAKERS, "K", own))
