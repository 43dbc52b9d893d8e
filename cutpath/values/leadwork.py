"""The surveys of leadwork that more than its family knows of: the proof works them out a second time.

They stand in the frames of `cutpath.values.survey`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from cutpath import sure
from cutpath.values.held import Held
from cutpath.values.survey import BedJoint, Covering, Detail

PLUMB_DEG = 90.0
"""A plumb riser, in degrees from level."""


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
    """How corners are made: bossed from the uncut sheet, or cut and lead-welded with a gusset."""

    BOSSED = "bossed"
    WELDED = "welded"


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

    The upstand stands on a vertical face; the cover lies on a roof that falls away at ``pitch_deg``, over its
    ``covering`` (None: not known).
    """

    folder: ClassVar[str] = "apron"

    pitch_deg: float
    width_mm: float
    side_mm: float
    upstand_mm: float
    cover_mm: float
    turn_in_mm: float
    corners: CornerWork
    covering: Covering | None = None


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

    The cover lies over its ``covering`` (None: not known).
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
    covering: Covering | None = None


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
    the upper side; ``seam_mm`` the lap of its seam; base: ``side_mm``, ``below_mm`` and ``above_mm`` beyond the hole,
    in the courses of the ``covering`` (None: not known).
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
    covering: Covering | None = None


@dataclass(frozen=True, slots=True)
class PlainOutline(Detail):
    """A shape of the user's own: closed outline and holes, open cuts and fold lines, all in mm."""

    folder: ClassVar[str] = "outline"

    outline: tuple[tuple[float, float], ...]
    holes: tuple[tuple[tuple[float, float], ...], ...]
    cuts: tuple[tuple[tuple[float, float], ...], ...]
    folds: tuple[tuple[tuple[float, float], tuple[float, float], float], ...]
    may_flip: bool
