"""What folding a flat pattern up in space has shown.

Space: mm, right-handed axes of the survey; a left hand is shown in a mirror, so that both hands stand alike.
Flashings, aprons, back gutters and saddles: x level along the wall or face, y plumb, z out of it. Gutters beside a
wall: x up the slope, y square to it, z out of the wall. Soakers: x up the slope, y level towards the wall, z square
out of the roof. Valley gutters: x up the valley, y across the second roof, z square out of that. Gussets, lead slates
and plain outlines: x and y of the pattern, z towards the viewer; a sleeve is shown flat. The parts of a chimney brought
together: the frame of `cutpath.values.survey.Chimney`, each hand on its own side.
"""

from __future__ import annotations

from dataclasses import dataclass

from cutpath.values.pattern import Fold

SpacePoint = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class FoldedFace:
    """A flat part of the folded piece: ``name`` is the fold it hangs on, or ``sheet`` for the part that stays.

    ``holes`` are rings of points in the same plane; ``fold`` is the fold itself, None for the part that stays and for
    what was never folded. ``worked`` is a part over which the lead is worked, only its shape indicated.
    """

    name: str
    corners: tuple[SpacePoint, ...]
    holes: tuple[tuple[SpacePoint, ...], ...] = ()
    fold: Fold | None = None
    worked: bool = False


@dataclass(frozen=True, slots=True)
class Proof:
    """How far a folded piece, or the parts of a chimney brought together, miss what was surveyed.

    Attributes
    ----------
    piece : str
        Number of the piece; of a chimney, the job's name and which of its chimneys it is.
    deviation_mm : float
        The worst miss of any corner of any face.
    worst : str
        What misses most, in words; empty when there was nothing to compare with.
    faces : tuple of FoldedFace
        Every part that stays flat, in space; those of a chimney bear the number of their piece.
    unproved : tuple of str
        What the proof cannot speak for: lead that is worked, not folded.
    """

    piece: str
    deviation_mm: float
    worst: str
    faces: tuple[FoldedFace, ...]
    unproved: tuple[str, ...]
