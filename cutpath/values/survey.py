"""What was measured on site, ready for development: every default filled in, every figure in mm and degrees.

Wall frame
----------
Facing the wall, x runs level and up the slope, y plumb; the origin is the lower corner (the arris, or where
the flashing begins to be measured) on the roof line. The roof line is y = x tan(pitch). All surveys are
written right-handed (the roof rises to the right of a person facing the wall); a left hand is the mirror image.

Strip frame
-----------
u along the roof line up the slope, v square to it: u = x cos p + y sin p, v = -x sin p + y cos p. The water
line is v = ``water_line_mm``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, ClassVar, TypeVar

from cutpath import sure
from cutpath.values.held import Held

PLUMB_DEG = 90.0
"""A plumb riser, in degrees from level."""


@dataclass(frozen=True, slots=True)
class Origin(Held):
    """Where in a user's file a value came from: ``file`` and ``path`` such as ``detail[2]``."""

    file: str
    path: str

    @property
    def keys(self) -> tuple[str | int, ...]:
        """The path key by key, places in lists counted from 1: ``detail[2].soakers`` is detail, 2, soakers."""
        parts = self.path.replace("[", ".").replace("]", "").split(".")
        return tuple(int(part) if part.isdigit() else part for part in parts if part)

    def key(self, name: str) -> str:
        """Return ``<file>: <path>.<name>`` for a finding; an empty ``name`` names the whole entry."""
        path = ".".join(part for part in (self.path, name) if part)
        return f"{self.file}: {path}" if path else self.file

    def advice(self, line: str) -> str:
        """Return a line such as ``skip_joints = [4]`` as it is to be written under the ``[[detail]]`` of this entry.

        A part of a detail takes it under its own key: ``step_flashing.skip_joints = [4]``.
        """
        return ".".join((*self.path.split(".")[1:], line))


class Hand(StrEnum):
    """Which way the roof rises for a person who faces the wall: right-hand rises to the right."""

    RIGHT = "right"
    LEFT = "left"

    @property
    def letter(self) -> str:
        """One capital for piece numbers: R or L."""
        return self.value[0].upper()


@dataclass(frozen=True, slots=True)
class Lead(Held):
    """One code of milled lead sheet: thickness in mm, mass in kg/m2, identification colour in words."""

    code: int
    thickness_mm: float
    mass_kg_m2: float
    colour: str

    @property
    def material(self) -> str:
        """Name of the material in every listing, such as ``lead code 4``."""
        return f"lead code {self.code}"


@dataclass(frozen=True, slots=True)
class Covering(Held):
    """Slates or tiles: length, headlap, gauge in mm; least pitch in degrees (None: not known).

    ``flatter_deg`` is how much flatter than the rafters their surface lies. A ``single_lap`` covering takes no soakers:
    its length, headlap and gauge are 0. ``least_headlaps`` are pairs of a pitch and the least headlap from there on, up
    to the next pair's, empty where none are known.
    """

    name: str
    length_mm: float
    headlap_mm: float
    gauge_mm: float
    least_pitch_deg: float | None
    flatter_deg: float = 0.0
    single_lap: bool = False
    least_headlaps: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class BedJoint(Held):
    """A bed joint as the line y = y_mm + slope * x in the wall frame; ``number`` is the user's count from 1.

    ``end_x_mm`` is where the fold on it ends, level from the origin, for steps of the user's own choice; None: where
    the joint dips to the water line.
    """

    number: int
    y_mm: float
    slope: float = 0.0
    end_x_mm: float | None = None

    def height_mm(self, x_mm: float) -> float:
        """Return the height of the joint above the origin at level distance ``x_mm``."""
        return self.y_mm + self.slope * x_mm


class EndCut(StrEnum):
    """How an end of a strip is cut."""

    PLUMB = "plumb"
    SQUARE = "square"


class CornerKind(StrEnum):
    """How the lower end treats the arris: no return, in one sheet with the strip, or a lapped piece of its own."""

    NONE = "none"
    INTEGRAL = "integral"
    SEPARATE = "separate"


class CornerWork(StrEnum):
    """How an apron's corners are made: bossed from the uncut sheet, or cut and lead-welded with a gusset."""

    BOSSED = "bossed"
    WELDED = "welded"


@dataclass(frozen=True, slots=True)
class DetailHead(Held):
    """What every detail has, whatever its family.

    Attributes
    ----------
    label : str
        The detail's short name inside its job, such as ``S1``.
    origin : Origin
    lead : Lead
    quantity : int
        Sets of the detail, per hand.
    hands : tuple of Hand
        Empty when the detail has no hand.
    longest_mm : float
        No length may be longer; the rule's or the user's own, whichever is less.
    lap_mm : float
        Least lap between lengths; infinite where none may be made.
    no_lap : str
        Why no lap may be made: the slope and the rule with its source; empty where one may.
    """

    label: str
    origin: Origin
    lead: Lead
    quantity: int
    hands: tuple[Hand, ...]
    longest_mm: float
    lap_mm: float
    no_lap: str = ""


@dataclass(frozen=True, slots=True)
class Detail(Held):
    """A surveyed detail of any family: it has a head, and figures of its own.

    Attributes
    ----------
    folder : str
        Name of its family's folder; the proof finds what it is held to by it.
    """

    folder: ClassVar[str] = ""

    head: DetailHead

    @property
    def covered_mm(self) -> float | None:
        """Width of an upstand over which a cover flashing hangs; None where there is none."""
        return None


D = TypeVar("D", bound=Detail)


@dataclass(frozen=True, slots=True)
class CornerReturn(Held):
    """A return round an external arris at the lower end.

    ``length_mm`` is its level reach on the next face; ``joint`` the number of the bed joint its top folds
    into (None: the joint of the first step); ``foot_mm`` the height of its lower edge above the origin.
    """

    kind: CornerKind
    length_mm: float
    joint: int | None
    foot_mm: float


@dataclass(frozen=True, slots=True)
class Tongue(Held):
    """Where the roof changes its pitch: the run goes on down over the upper end of the one ``below``, by its lap.

    The wall frame of the run below has its origin at that run's own lower corner; the change is its upper end.
    """

    below: StepFlashing

    @property
    def pitch_deg(self) -> float:
        """Pitch of the roof below the change."""
        return self.below.pitch_deg

    @property
    def lap_mm(self) -> float:
        """Least lap over the run below, along its roof line."""
        return self.below.lapped_mm


@dataclass(frozen=True, slots=True)
class StepFlashing(Detail):
    """A run of step flashing, right-handed: over soakers, or with a cover of its own on the roof.

    Attributes
    ----------
    pitch_deg : float
    slope_mm : float
        Length along the roof line from the origin to the upper end.
    joints : tuple of BedJoint
        From the bottom up, as numbered on site, less those to be skipped.
    water_line_mm : float
        Height of the water line above the roof line, square to it.
    turn_in_mm : float
    riser_deg : float
        From level; 90 is plumb.
    strip_width_mm : float or None
        Given width of the strip, cover included; None: the narrowest of ``stock_widths_mm`` that holds it.
    stock_widths_mm : tuple of float
        Ascending.
    set_back_mm : float
        Level distance from the origin to the lower end; 0 is at the arris.
    upper_end : EndCut
    corner : CornerReturn
    least_fold_mm : float
        Shortest fold that can be dressed into a joint.
    cover_mm : float
        Width that goes on below the roof line and lies on the roof (step and cover); 0 over soakers.
    covering : Covering or None
        What the cover lies on; None without a cover, or where it is not known.
    skip_short : bool
        Leave out joints whose steps cannot be dressed, instead of only saying so.
    tongue : Tongue or None
        At the lower end, where that is a change of pitch; None: no change there.
    lapped_mm : float
        How far a tongue lies over the upper end at least, along the roof; 0 without a change of pitch there.
    """

    folder: ClassVar[str] = "step_flashing"

    pitch_deg: float
    slope_mm: float
    joints: tuple[BedJoint, ...]
    water_line_mm: float
    turn_in_mm: float
    riser_deg: float
    strip_width_mm: float | None
    stock_widths_mm: tuple[float, ...]
    set_back_mm: float
    upper_end: EndCut
    corner: CornerReturn
    least_fold_mm: float
    cover_mm: float = 0.0
    skip_short: bool = False
    tongue: Tongue | None = None
    lapped_mm: float = 0.0
    covering: Covering | None = None


@dataclass(frozen=True, slots=True)
class Soakers(Detail):
    """Soakers to one run: one for each course that the run crosses.

    ``count`` per hand and set; ``length_mm`` includes ``turn_down_mm`` over the head; ``upstand_mm`` up the
    wall, ``roof_mm`` under the covering. ``gauge_mm`` is the covering's; 0 where it is not known.
    """

    folder: ClassVar[str] = "soakers"

    count: int
    length_mm: float
    upstand_mm: float
    roof_mm: float
    turn_down_mm: float
    gauge_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Apron(Detail):
    """A front apron: ``width_mm`` along the face, ``side_mm`` past each arris, upstand, cover and turn-in.

    The upstand stands on a vertical face; the cover lies on a roof that falls away at ``pitch_deg``.
    """

    folder: ClassVar[str] = "apron"

    pitch_deg: float
    width_mm: float
    side_mm: float
    upstand_mm: float
    cover_mm: float
    turn_in_mm: float
    corners: CornerWork


@dataclass(frozen=True, slots=True)
class CoverFlashing(Detail):
    """A strip turned into a chase and hanging over an upstand.

    ``length_mm`` along the chase; ``slope_deg`` 0 for a level chase, else the rake of the chase; ends plumb.
    ``return_mm`` goes round the arris at each end of a level one, as over a back gutter; 0 without.
    """

    folder: ClassVar[str] = "cover_flashing"

    length_mm: float
    slope_deg: float
    cover_mm: float
    turn_in_mm: float
    return_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class TiltingFillet(Held):
    """A tilting fillet across the roof: a triangle in section, its thick side towards the gutter.

    ``foot_mm`` up the roof from the sole's edge to its lower side; ``width_mm`` along the roof, ``height_mm`` square
    to it; ``face_deg`` between the roof and the face that rises to the crest.
    """

    foot_mm: float
    width_mm: float
    height_mm: float
    face_deg: float

    @property
    def crest_mm(self) -> float:
        """How far along the sheet, from the foot of the roof, the crest lies."""
        return self.foot_mm + self.height_mm / sure.sin(math.radians(self.face_deg))


@dataclass(frozen=True, slots=True)
class BackGutter(Detail):
    """A back gutter: along the back face of a stack, past each arris, and up the roof behind it.

    Attributes
    ----------
    pitch_deg : float
        Of the roof that falls towards the stack.
    width_mm, side_mm : float
        Arris to arris, and past each arris.
    upstand_mm, sole_mm, up_roof_mm : float
        Up the back face, the level sole, and along the sheet up the roof from the sole's edge.
    fillet : TiltingFillet or None
    turn_over_mm : float
        Least reach of the sheet beyond the fillet's crest.
    corners : CornerWork
    roll_core_mm, roll_under_mm, roll_over_mm : float
        Wood-cored roll where one length is too long: width of the core, undercloak and overcloak from its feet.
    """

    folder: ClassVar[str] = "back_gutter"

    pitch_deg: float
    width_mm: float
    side_mm: float
    upstand_mm: float
    sole_mm: float
    up_roof_mm: float
    fillet: TiltingFillet | None
    turn_over_mm: float
    corners: CornerWork
    roll_core_mm: float
    roll_under_mm: float
    roll_over_mm: float

    @property
    def covered_mm(self) -> float:
        """The width of its upstand, over which a cover flashing may hang."""
        return self.width_mm


@dataclass(frozen=True, slots=True)
class RidgeSaddle(Detail):
    """A saddle where a ridge of two equal slopes runs into a plumb wall.

    ``width_mm`` across the ridge, ``length_mm`` along it with ``upstand_mm`` of that up the wall.
    """

    folder: ClassVar[str] = "ridge_saddle"

    pitch_deg: float
    width_mm: float
    length_mm: float
    upstand_mm: float
    corners: CornerWork


@dataclass(frozen=True, slots=True)
class TopAbutment(Detail):
    """A flashing along a level wall, ``length_mm``, over the top edge of a lean-to roof that falls away from it.

    ``stop_left_mm`` and ``stop_right_mm``: height of the sheet turned up, square to the roof, against a wall that
    stands across that end; 0 where the end is plain.
    """

    folder: ClassVar[str] = "top_abutment"

    pitch_deg: float
    length_mm: float
    upstand_mm: float
    cover_mm: float
    turn_in_mm: float
    stop_left_mm: float
    stop_right_mm: float
    corners: CornerWork


@dataclass(frozen=True, slots=True)
class ValleyGutter(Detail):
    """A valley gutter, ``length_mm`` along the valley, between two roofs whose eaves meet square in plan.

    ``true_pitch_deg`` is the valley's own; ``width_mm`` the whole sheet, half on each roof; the fillet's foot is
    counted from the middle, the same on both roofs (None: no fillets), and
    ``turn_over_mm`` is the least reach beyond its crest.
    """

    folder: ClassVar[str] = "valley_gutter"

    pitch_deg: float
    other_pitch_deg: float
    true_pitch_deg: float
    length_mm: float
    width_mm: float
    fillet: TiltingFillet | None
    turn_over_mm: float


@dataclass(frozen=True, slots=True)
class AbutmentGutter(Detail):
    """A gutter up the slope beside a wall, right-handed: upstand, sole on the roof, outer edge turned up."""

    folder: ClassVar[str] = "abutment_gutter"

    pitch_deg: float
    length_mm: float
    upstand_mm: float
    sole_mm: float
    edge_mm: float


@dataclass(frozen=True, slots=True)
class PipeSlate(Detail):
    """A slate of lead for a plumb pipe through the roof: a base with a hole, and a sleeve.

    ``pipe_mm`` across the pipe, ``clearance_mm`` between pipe and sleeve; ``sleeve_mm`` from the roof to the top on
    the upper side; ``seam_mm`` the lap of its seam; base: ``side_mm``, ``below_mm`` and ``above_mm`` beyond the hole.
    """

    folder: ClassVar[str] = "pipe_slate"

    pitch_deg: float
    pipe_mm: float
    clearance_mm: float
    sleeve_mm: float
    seam_mm: float
    side_mm: float
    below_mm: float
    above_mm: float


@dataclass(frozen=True, slots=True)
class PlainOutline(Detail):
    """A shape of the user's own: closed outline and holes, open cuts and fold lines, all in mm."""

    folder: ClassVar[str] = "outline"

    outline: tuple[tuple[float, float], ...]
    holes: tuple[tuple[tuple[float, float], ...], ...]
    cuts: tuple[tuple[tuple[float, float], ...], ...]
    folds: tuple[tuple[tuple[float, float], tuple[float, float], float], ...]
    may_flip: bool


@dataclass(frozen=True, slots=True)
class Chimney(Held):
    """A stack, and the details of the job that go together round it.

    Frame of the stack: facing its front from below, x level along the front from the left arris, y plumb from the roof
    line there, z out of the front, so that the roof is y = -z tan(pitch) and the back face stands at z = -depth.

    Attributes
    ----------
    parts : tuple of str
        Labels of the details.
    width_mm, depth_mm : float
        Arris to arris across the roof, and level from front to back.
    front : BedJoint
        Apron and returns of the side flashings turn into it.
    back : BedJoint or None
        The cover flashing over the back gutter turns into it, at its height at the back; None without either.
    lap_mm, back_lap_mm : float
        Least lap of the returns over the apron, and of the back gutter over the side flashings.
    cover_mm : float
        Least cover over the back gutter's upstand.
    """

    origin: Origin
    parts: tuple[str, ...]
    pitch_deg: float
    width_mm: float
    depth_mm: float
    front: BedJoint
    back: BedJoint | None
    lap_mm: float
    back_lap_mm: float
    cover_mm: float


@dataclass(frozen=True, slots=True)
class Group:
    """Details of a job that go together, by their labels, such as those round a stack.

    Attributes
    ----------
    parts : tuple of str
        In the order of the job.
    over : tuple of (str, str)
        Which lies over which: a step flashing over its soakers, a cover flashing over its back gutter.
    """

    parts: tuple[str, ...]
    over: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Job(Held):
    """One job: its name, short ``mark`` for piece numbers, notes, exposure, surveyed details, and which go together.

    ``customer``, ``site``, ``order`` and ``due`` are the shop's own words: for whom and where it is, the order's number
    and its day.

    ``written`` is the file as it was checked, lengths in mm and pitches in degrees, with its details by their numbers,
    less what was left out of them: what the survey is held to when it is worked out a second time. Empty for a job from
    no file. ``reads`` are the files beside it that were read, such as drawings. ``places`` says of a job from an order
    sheet where each key path stands there.
    """

    name: str
    mark: str
    file: str
    notes: str
    exposure: str
    details: tuple[Detail, ...]
    chimneys: tuple[Chimney, ...] = ()
    reads: tuple[str, ...] = field(default=(), repr=False, compare=False)
    order: str = ""
    due: str = ""
    customer: str = ""
    site: str = ""
    groups: tuple[Group, ...] = ()
    written: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)
    places: Mapping[str, str] = field(default_factory=dict, repr=False, compare=False)

    def beside(self, detail: Detail) -> list[Detail]:
        """Return the details that go together with one, and that itself, in the order of the job."""
        label = detail.head.label
        labels = {label, *(part for group in self.groups if label in group.parts for part in group.parts)}
        return [other for other in self.details if other.head.label in labels]

    def over(self, detail: Detail, kind: type[D] = Detail) -> D | None:  # type: ignore[assignment]  # all are details
        """Return what lies over a detail, such as the step flashing over soakers, where it is of a kind; else None."""
        label = detail.head.label
        upper = {above for group in self.groups for above, below in group.over if below == label}
        above = next((other for other in self.details if other.head.label in upper), None)
        return above if isinstance(above, kind) else None

    def under(self, detail: Detail) -> Detail | None:
        """Return what lies under a detail, such as the gutter under a cover flashing; None where nothing does."""
        label = detail.head.label
        lower = {below for group in self.groups for above, below in group.over if above == label}
        return next((other for other in self.details if other.head.label in lower), None)

    @property
    def errand(self) -> tuple[str, ...]:
        """For whom, where, by which order and by when, as far as it was written and the name does not say it."""
        words = (("for", self.customer), ("site", self.site), ("order", self.order), ("due", self.due))
        customer, *rest = self.name.split(", ")
        said = {f"for {customer}", *rest}
        return tuple(told for what, value in words if value and (told := f"{what} {value}") not in said)
