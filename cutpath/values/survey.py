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

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, ClassVar, TypeVar

from cutpath.values.held import Held


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

    @property
    def of_a_part(self) -> bool:
        """Tell whether this is a part of a detail under a key of its own, such as a side of a chimney."""
        return len(self.keys) > _OF_A_DETAIL and isinstance(self.keys[-1], str)

    def key(self, name: str) -> str:
        """Return ``<file>: <path>.<name>`` for a finding; an empty ``name`` names the whole entry."""
        path = ".".join(part for part in (self.path, name) if part)
        return f"{self.file}: {path}" if path else self.file

    def advice(self, line: str) -> str:
        """Return a line such as ``skip_joints = [4]`` as it is to be written under the ``[[detail]]`` of this entry.

        A part of a detail takes it under its own key: ``step_flashing.skip_joints = [4]``. One in a list, such as the
        run above a change of pitch, has it from the detail.
        """
        return ".".join((*(part for part in self.path.split(".")[1:] if not part.endswith("]")), line))


_OF_A_DETAIL = 2  # keys of a detail itself: detail, and which


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
