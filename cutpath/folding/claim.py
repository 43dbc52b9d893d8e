"""What the proof asks of a family: every question that it puts to a survey, and what is meant where none answers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from shapely.geometry.base import BaseGeometry

from cutpath.errors import Finding
from cutpath.folding.due import DueMark, Points
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Ends, Gap
from cutpath.folding.space import Array, Folded
from cutpath.folding.tongue import TongueEnd
from cutpath.found import modules
from cutpath.values.leadwork import Tongue
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Chimney, Detail


@dataclass(frozen=True, slots=True)
class InSpace:
    """A piece folded up.

    Attributes
    ----------
    part : PartKind
        Of the pattern: a detail may give more than one.
    faces : sequence of Folded
        In the space of `cutpath.values.proof`, right-handed.
    inner : array
        Corners of snips and holes in the still face (n x 3), in the same space.
    ends : Ends
        Which ends of the run the piece holds.
    """

    part: PartKind
    faces: Sequence[Folded]
    inner: Array
    ends: Ends


def everywhere(_: Any) -> tuple[float, float]:  # noqa: ANN401 - of any family
    """Return the whole of y = 0."""
    return -math.inf, math.inf


def not_cut(survey: object) -> tuple[float, ...]:
    """Refuse to say where lengths lap.

    Raises
    ------
    TypeError
        Always: the detail is not cut into lengths.
    """
    raise TypeError(f"{type(survey).__name__} is not cut into lengths")


def nothing(*_: object) -> tuple[()]:
    """Return nothing."""
    return ()


def none(*_: object) -> None:
    """Return None."""


def never(_: Any) -> bool:  # noqa: ANN401 - of any family
    """Return False."""
    return False


def the_origin(_: Any) -> list[tuple[float, float]]:  # noqa: ANN401 - of any family
    """Return the origin alone."""
    return [(0.0, 0.0)]


@dataclass(frozen=True, slots=True)
class Claims:
    """What one family is held to; its survey comes first in every question.

    Attributes
    ----------
    gaps : callable
        (survey, `InSpace`) -> how far the folded piece misses what was surveyed.
    tilt_deg : callable or None
        Survey -> angle from its run frame to its space; None: they are the same.
    window : callable
        Survey -> stretch of y = 0 in the run frame over which the still face stands, that on the wall or the roof.
    levels : callable
        Survey -> heights between which the ends of lengths are plain lines that have to lap.
    foot_mm : float or None
        Height of the foot of a length's end; None: the lowest of its part on the wall.
    over_a_roll : bool
        Its lengths meet over a wood-cored roll and do not lap.
    own_shape : bool
        Of the user's own: what is folded there, and when, is for the user to know.
    gussets_in_pairs : bool
        Its last gusset is the mirror image of the one before.
    marks : callable
        (survey, flat) -> marks that follow from the survey alone.
    points : callable
        (survey, flat, joints that its run turns into) -> setting-out points.
    sheet : callable
        (survey, flat) -> the uncut sheet about worked corners; None where it is not known.
    worked_about : callable
        Survey -> the corners about which lead is worked, in the run frame.
    as_given : callable or None
        (survey, flat) -> how far what is drawn misses what was given; None: it is developed.
    joints : callable
        Survey -> bed joints into which its steps may turn.
    passed_over, spare_lap : callable
        (survey, joints that it turns into) and (survey, those, lower length, upper length) -> joints not used, and laps
        of more steps than needed.
    tongue : callable
        Survey -> its tongue, where its lower end is a change of pitch.
    tongue_end : callable
        (survey, lowest length) -> where that tongue really ends.
    lapped_mm : callable or None
        Survey -> by how much a tongue from above a change of pitch is to lie over it; None: never.
    change : callable
        (survey, flat, upper neighbour, end of a tongue from above) -> marks at a change of pitch.
    places : callable
        (survey, chimney, piece) -> matrices that carry a piece to its places on a stack.
    beside_joint : callable
        (survey, chimney) -> findings on what the user chose for it on a stack.
    worked_down : callable
        Survey -> whether lead is worked from it down the sides of a stack.
    goes_past : bool
        On a stack it may lie beyond the back, cut on the roof.
    """

    gaps: Callable[[Any, InSpace], list[Gap]]
    tilt_deg: Callable[[Any], float] | None = None
    window: Callable[[Any], tuple[float, float]] = everywhere
    levels: Callable[[Any], tuple[float, ...]] = not_cut
    foot_mm: float | None = None
    over_a_roll: bool = False
    own_shape: bool = False
    gussets_in_pairs: bool = False
    marks: Callable[[Any, Flat], Iterator[DueMark] | tuple[()]] = nothing
    points: Callable[[Any, Flat, Sequence[BedJoint]], Points | tuple[()]] = nothing
    sheet: Callable[[Any, Flat], BaseGeometry | None] = none
    worked_about: Callable[[Any], list[tuple[float, float]]] = the_origin
    as_given: Callable[[Any, Flat], list[Gap]] | None = None
    joints: Callable[[Any], Sequence[BedJoint]] = nothing
    passed_over: Callable[[Any, Sequence[BedJoint]], Sequence[Gap]] = nothing
    spare_lap: Callable[[Any, Sequence[BedJoint], Flat, Flat], Sequence[Gap]] = nothing
    tongue: Callable[[Any], Tongue | None] = none
    tongue_end: Callable[[Any, Flat], TongueEnd | None] = none
    lapped_mm: Callable[[Any], float] | None = None
    change: Callable[[Any, Flat, Flat | None, TongueEnd | None], Iterator[DueMark] | tuple[()]] = nothing
    places: Callable[[Any, Chimney, Piece], Sequence[Array]] = nothing
    beside_joint: Callable[[Any, Chimney], Iterator[Finding] | tuple[()]] = nothing
    worked_down: Callable[[Any], bool] = never
    goes_past: bool = False


@cache
def known() -> Mapping[str, Claims]:
    """Return what every family is held to, by the name of its folder: the ``CLAIMS`` of each module of claims."""
    return {name: module.CLAIMS for name, module in modules("cutpath.claims").items()}


def claims_of(detail: Detail) -> Claims:
    """Return what a surveyed detail is held to.

    Raises
    ------
    KeyError
        When nobody knows: it cannot be proved, and so not cut.
    """
    return known()[detail.folder]
