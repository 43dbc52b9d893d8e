"""The folded parts of one chimney brought together in the frame of its stack: whether they meet and cover each other.

Every part has been proved against its own survey; here each is carried, as it was folded up, to its place on one stack
(frame of `cutpath.values.survey.Chimney`) by what was measured of the stack alone. There

* parts stand on the same faces and the same roof, and turn into the same joints;
* the side of the apron lies under the side flashings, their returns over the apron's upstand;
* the sides of the back gutter lie over the upper ends of the side flashings, under the returns of its cover flashing;
* no wall shows between the roof and the water line, no soaker stands out behind its flashing;
* no part passes through another.

Parts on one face lie on each other: thickness is neglected. Where the corners of a back gutter are bossed, lead is
worked down the sides from its level to the roof; that much is taken for granted and named in the proof. What lies on
the roof beside an apron, worked or welded in, is not compared.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from cutpath import sure
from cutpath.errors import Finding
from cutpath.folding.claim import claims_of
from cutpath.folding.gap import AT_FAULT, Gap, cos_sin, from_to, misses, on, with_leeway, within
from cutpath.folding.sides import level_mm
from cutpath.folding.space import Folded, carried, crosses, heights_above
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import Apron, BackGutter, CornerKind, CornerWork, CoverFlashing, Soakers, StepFlashing
from cutpath.values.pattern import FoldUse, PartKind, Side
from cutpath.values.piece import Piece
from cutpath.values.proof import FoldedFace, Proof
from cutpath.values.survey import Chimney, Detail, Hand

T = TypeVar("T")

_Key = tuple[FoldUse | None, Side | None]
"""The fold on which a face hangs, and which of two alike."""

_STILL: _Key = (None, None)
_ARRIS: _Key = (FoldUse.ARRIS, None)
_LEFT_ARRIS: _Key = (FoldUse.ARRIS, Side.LEFT)
_RIGHT_ARRIS: _Key = (FoldUse.ARRIS, Side.RIGHT)
_RETURN: _Key = (FoldUse.RETURN_TURN_IN, None)
_UPSTAND: _Key = (FoldUse.UPSTAND, None)

_Bare = tuple[str, str, str, str]
"""Where it was written, what does not lie under or over its neighbour, what is accepted, and what to do."""


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a chimney and its faces as folded up in its own space (`cutpath.values.proof`)."""

    detail: Detail
    piece: Piece
    faces: Sequence[Folded]


@dataclass(frozen=True, slots=True)
class _Placed:
    detail: Detail
    piece: Piece
    face: Folded
    copy: int

    @property
    def is_gusset(self) -> bool:
        return self.piece.pattern.part is PartKind.GUSSET


@dataclass(frozen=True, slots=True)
class _Side:
    """A side of the stack, seen in its own plane: x level up the slope from the front arris, y plumb.

    ``arris`` is its fold on parts that are seen from in front, ``behind`` on those seen from behind.
    """

    name: str
    x_mm: float
    hand: Hand
    arris: _Key
    behind: _Key


def prove_together(name: str, chimney: Chimney, parts: Sequence[Part]) -> tuple[Proof, list[Finding]]:
    """Bring the parts of a chimney together and see whether they meet.

    Returns
    -------
    proof, findings
        The proof bears ``name`` and holds the faces of all parts in the frame of the stack, each with the number of its
        piece for a name.
    """
    stack = _Stack(chimney, tuple(_placed(chimney, parts)))
    compared = [*stack.gaps(), *stack.past()]
    worst = max(compared, key=lambda gap: gap.mm, default=Gap(0.0, ""))
    bossed = [part.piece.id for part in parts if claims_of(part.detail).worked_down(part.detail)]
    proof = Proof(
        piece=name,
        deviation_mm=worst.mm,
        worst=worst.what,
        faces=tuple(FoldedFace(p.piece.id, tuple(map(tuple, p.face.corners.tolist()))) for p in stack.placed),
        unproved=tuple(f"worked lead down the sides from piece {piece}" for piece in bossed),
    )
    where = chimney.origin.key("")
    findings = misses(where, "brought together", compared)
    findings += [
        Finding(
            "CP412",
            where,
            f"brought together, piece {one} passes through piece {other}",
            "parts that keep clear of each other",
            AT_FAULT,
        )
        for one, other in stack.through()
    ]
    findings += [Finding("CP415", *bare) for bare in stack.bare()]
    for detail in dict.fromkeys(part.detail for part in parts):
        findings += claims_of(detail).beside_joint(detail, chimney)
    return proof, findings


def _placed(chimney: Chimney, parts: Sequence[Part]) -> Iterator[_Placed]:
    for part in parts:
        for copy, move in enumerate(claims_of(part.detail).places(part.detail, chimney, part.piece)):
            for face in part.faces:
                yield _Placed(part.detail, part.piece, carried(face, move), copy)


@dataclass(frozen=True, slots=True)
class _Stack:
    chimney: Chimney
    placed: tuple[_Placed, ...]

    def _faces(self, kind: type[Detail], *keys: _Key, hand: Hand | None = None) -> list[Folded]:
        return [
            placed.face
            for placed in self.placed
            if isinstance(placed.detail, kind)
            and (placed.face.use, placed.face.side) in keys
            and not placed.is_gusset
            and (hand is None or placed.piece.hand is hand)
        ]

    def _survey(self, kind: type[T]) -> T | None:
        return next((placed.detail for placed in self.placed if isinstance(placed.detail, kind)), None)

    def _on_side(self, kind: type[Detail], key: _Key, hand: Hand | None = None) -> BaseGeometry:
        return _union(_on_side(face) for face in self._faces(kind, key, hand=hand))

    def _on_face(self, kind: type[Detail], key: _Key, hand: Hand | None = None) -> BaseGeometry:
        """Return the lead on the front or the back of the stack, as seen from in front."""
        return _union(Polygon(face.corners[:, :2]) for face in self._faces(kind, key, hand=hand))

    @property
    def _sides(self) -> tuple[_Side, _Side]:
        return (
            _Side("right", self.chimney.width_mm, Hand.RIGHT, _RIGHT_ARRIS, _LEFT_ARRIS),
            _Side("left", 0.0, Hand.LEFT, _LEFT_ARRIS, _RIGHT_ARRIS),
        )

    def gaps(self) -> Iterator[Gap]:
        """Hold the parts to the faces of the stack, to its arrises, its roof and its joints."""
        c, s = cos_sin(self.chimney.pitch_deg)
        width, depth, front = self.chimney.width_mm, self.chimney.depth_mm, self.chimney.front
        roofs = [
            ("the apron's cover", self._faces(Apron, (FoldUse.FRONT, None))),
            ("the gutter's part up the roof", self._faces(BackGutter, (FoldUse.SOLE, None))),
            ("the cover of a side flashing", self._faces(StepFlashing, (FoldUse.ROOF_LINE, None))),
            ("a soaker", self._faces(Soakers, _STILL)),
            ("a gusset's foot", [p.face for p in self.placed if p.is_gusset and not p.face.is_still]),
        ]
        for what, faces in roofs:
            for face in faces:
                yield on(face.corners[:, 1] * c + face.corners[:, 2] * s, f"{what} stands off the roof of the stack")
        faces_of = [
            ("the apron", "front", self._faces(Apron, _STILL), 0.0),
            ("a return of the side flashings", "front", self._faces(StepFlashing, _ARRIS), 0.0),
            ("the back gutter", "back", self._faces(BackGutter, _STILL), -depth),
            ("the cover flashing", "back", self._faces(CoverFlashing, _STILL), -depth),
        ]
        for what, where, faces, z in faces_of:
            for face in faces:
                yield on(face.corners[:, 2], f"{what} stands off the {where} of the stack", z)
            if faces and "return" not in what:
                x = np.concatenate([face.corners[:, 0] for face in faces])
                yield from_to(x, 0.0, width, f"{what} does not reach from arris to arris of the stack")
        for side in self._sides:
            for what, faces in (
                ("the apron's side", self._faces(Apron, side.arris)),
                ("the side flashing", self._faces(StepFlashing, _STILL, hand=side.hand)),
                ("a soaker's upstand", self._faces(Soakers, _UPSTAND, hand=side.hand)),
                ("the back gutter's side", self._faces(BackGutter, side.behind)),
                ("the cover flashing's return", self._faces(CoverFlashing, side.behind)),
            ):
                for face in faces:
                    yield on(face.corners[:, 0], f"{what} stands off the {side.name} side of the stack", side.x_mm)
        apron = self._survey(Apron)
        tucked = self._faces(StepFlashing, _RETURN)
        if apron is not None and abs(apron.upstand_mm - front.y_mm) <= FOLD_DEVIATION_MM:
            tucked += self._faces(Apron, (FoldUse.TURN_IN, None), _RETURN)
        for face in tucked:
            yield on(face.corners[:, 1], f"a turn-in of apron or returns lies off joint {front.number}", front.y_mm)

    def past(self) -> Iterator[Gap]:
        """Hold what goes round an arris to end before the next one; soakers past the back are cut on the roof."""
        for face in self._faces(StepFlashing, _ARRIS):
            what = "a return of the side flashings goes past the front of the stack"
            yield within(face.corners[:, 0], 0.0, self.chimney.width_mm, what)
        for side in self._sides:
            for what, faces in (
                ("the apron's side", self._faces(Apron, side.arris)),
                ("the back gutter's side", self._faces(BackGutter, side.behind)),
                ("the cover flashing's return", self._faces(CoverFlashing, side.behind)),
            ):
                for face in faces:
                    words = f"{what} goes past the {side.name} side of the stack"
                    yield within(face.corners[:, 2], -self.chimney.depth_mm, 0.0, words)

    def bare(self) -> Iterator[_Bare]:
        """See that parts lie under and over each other as they must."""
        for side in self._sides:
            yield from self._at_the_front(side)
            yield from self._up_the_side(side)
        yield from self._at_the_back()

    def _at_the_front(self, side: _Side) -> Iterator[_Bare]:
        """See that the apron's side lies under the side flashing, whose return lies over the apron's upstand."""
        apron, steps = self._survey(Apron), self._survey(StepFlashing)
        if apron is None or steps is None or not apron.side_mm:
            return
        flashing = self._on_side(StepFlashing, _STILL, hand=side.hand)
        under = self._on_side(Apron, side.arris)
        # The side is cut level: where the joint falls away from the arris, that much of its edge lies in the joint.
        fall = max(0.0, -self.chimney.front.slope) * apron.side_mm
        shows = _beyond(under, flashing.union(translate(flashing, yoff=fall)))
        if not shows.is_empty:
            yield (
                apron.head.origin.key("upstand"),
                f"{_size(shows)} of the apron's {side.name} side show beyond the side flashing",
                "all of it under the side flashing",
                "let the apron turn into the joint of the returns, or into a lower one",
            )
        wanted = min(apron.side_mm, apron.upstand_mm / sure.tan(math.radians(self.chimney.pitch_deg)))
        lapped = _level_reach(under.intersection(flashing))
        if lapped < wanted - FOLD_DEVIATION_MM:
            yield (
                apron.head.origin.key("side"),
                f"the apron's {side.name} side lies {lapped:.1f} mm past the arris under the side flashing",
                f"{wanted:.1f} mm, to where the roof meets its joint or its side ends",
                AT_FAULT,
            )
        over = self._on_face(StepFlashing, _ARRIS, hand=side.hand).intersection(self._on_face(Apron, _STILL))
        reach = _level_reach(over)
        if steps.corner.kind is not CornerKind.NONE and reach < self.chimney.lap_mm - FOLD_DEVIATION_MM:
            yield (
                steps.head.origin.key("return.length"),
                f"the return of the {side.name} side flashing lies {reach:.1f} mm over the apron",
                f"at least {self.chimney.lap_mm:g} mm",
                "give the side flashings a longer return",
            )

    def _up_the_side(self, side: _Side) -> Iterator[_Bare]:
        """See that no wall shows, that soakers stand behind their flashing, and that the gutter laps over its end."""
        steps, gutter = self._survey(StepFlashing), self._survey(BackGutter)
        depth = self.chimney.depth_mm
        slope = sure.tan(math.radians(self.chimney.pitch_deg))
        flashing = self._on_side(StepFlashing, _STILL, hand=side.hand)
        behind = self._on_side(BackGutter, side.behind)
        if gutter is not None and gutter.side_mm:
            start, level = depth - gutter.side_mm, level_mm(gutter, self.chimney)
            if gutter.corners is CornerWork.WELDED:
                filler = [placed.face for placed in self.placed if placed.is_gusset and placed.face.is_still]
                worked = _union(_on_side(f) for f in filler if abs(f.corners[0, 0] - side.x_mm) <= FOLD_DEVIATION_MM)
            else:
                worked = Polygon([(start, start * slope), (depth, depth * slope), (depth, level), (start, level)])
            behind = behind.union(worked)
        if steps is not None:
            rise = steps.water_line_mm * math.hypot(1.0, slope)
            wall = Polygon([(0, 0), (depth, depth * slope), (depth, depth * slope + rise), (0, rise)])
            shows = _beyond(wall, flashing.union(behind))
            if not shows.is_empty:
                yield (
                    steps.head.origin.key(""),
                    f"{_size(shows)} of the {side.name} side of the stack lie bare below the water line",
                    "lead from the roof up to the water line, from arris to arris",
                    "end the side flashings plumb at the back arris, and begin them at the front one",
                )
            soakers = self._on_side(Soakers, _UPSTAND, hand=side.hand)
            within = soakers.intersection(shapely.box(0.0, -depth, depth, 3 * depth * (1 + slope)))
            shows = _beyond(within, flashing.union(behind))
            if not shows.is_empty:
                yield (
                    steps.head.origin.key("soakers.upstand"),
                    f"{_size(shows)} of the soakers' upstands on the {side.name} side show above the side flashing",
                    "all of them behind it",
                    "raise the water line, or take soakers with a lower upstand",
                )
        if steps is not None and gutter is not None and gutter.side_mm:
            lapped = _level_reach(flashing.intersection(behind))
            if lapped < self.chimney.back_lap_mm - FOLD_DEVIATION_MM:
                yield (
                    gutter.head.origin.key("side"),
                    f"the back gutter's {side.name} side lies {lapped:.1f} mm over the side flashing",
                    f"at least {self.chimney.back_lap_mm:g} mm",
                    "take the gutter farther past the arris, and the side flashing up to the back of the stack",
                )

    def _at_the_back(self) -> Iterator[_Bare]:
        """See that the cover flashing hangs over the top of the gutter, behind and on the sides, clear of the sole."""
        gutter, cover = self._survey(BackGutter), self._survey(CoverFlashing)
        if gutter is None or cover is None:
            return
        least = self.chimney.cover_mm
        level = level_mm(gutter, self.chimney)
        top, depth = level + gutter.upstand_mm, self.chimney.depth_mm
        places = [("behind the stack", "cover", self._on_face(CoverFlashing, _STILL), 0.0, self.chimney.width_mm)]
        places += [
            (
                f"on the {side.name} side",
                "returns",
                self._on_side(CoverFlashing, side.behind),
                depth - gutter.side_mm,
                depth,
            )
            for side in self._sides
            if gutter.side_mm
        ]
        for where, key, over, start, end in places:
            shows = _beyond(shapely.box(start, top - least, end, top), over)
            if not shows.is_empty:
                yield (
                    cover.head.origin.key(key),
                    f"{_size(shows)} of the top of the back gutter's upstand {where} lie bare",
                    f"the cover flashing over all of it by {round(least, 1):g} mm",
                    "let the cover flashing hang lower, and reach as far round the arrises as the gutter's sides",
                )
            foot = over.bounds[1] if not over.is_empty else math.inf
            if foot <= level:
                yield (
                    cover.head.origin.key("cover"),
                    f"the cover flashing hangs {level - foot:.1f} mm below the gutter's sole {where}",
                    "a free edge clear of the sole",
                    "let it hang down less, or take a lower upstand so that it turns into another joint",
                )

    def through(self) -> Iterator[tuple[str, str]]:
        """Find pieces that pass through one another; soakers past the back of the stack are cut on the roof."""
        end = -self.chimney.depth_mm - FOLD_DEVIATION_MM
        there = [p for p in self.placed if not claims_of(p.detail).goes_past or p.face.corners[:, 2].min() >= end]
        low = np.array([p.face.corners.min(axis=0) for p in there]) - FOLD_DEVIATION_MM
        high = np.array([p.face.corners.max(axis=0) for p in there])
        near = np.all(low[:, None] <= high[None], axis=2)
        found = {
            (there[i].piece.id, there[j].piece.id)
            for i, j in zip(*np.nonzero(np.triu(near & near.T, 1)), strict=True)
            if (there[i].piece, there[i].copy) != (there[j].piece, there[j].copy)
            and crosses(there[i].face, there[j].face)
            and not (self._leans(there[i], there[j]) or self._leans(there[j], there[i]))
        }
        yield from sorted(found)

    def _leans(self, one: _Placed, other: _Placed) -> bool:
        """Tell whether a step's turn-in comes through a part by no more than its end leans: in a joint out of level."""
        steps = self._survey(StepFlashing)
        if steps is None or one.face.use is not FoldUse.STEP_TURN_IN:
            return False
        lean = steps.turn_in_mm * max(abs(joint.slope) for joint in steps.joints)
        heights = heights_above(one.face, other.face)
        return bool(min(heights.max(), -heights.min()) <= lean + FOLD_DEVIATION_MM)


def _on_side(face: Folded) -> Polygon:
    """Return a face on a side of the stack as that is seen in its own plane: x level up the slope, y plumb."""
    return Polygon(np.column_stack([-face.corners[:, 2], face.corners[:, 1]]))


def _union(shapes: Iterable[Polygon]) -> BaseGeometry:
    return shapely.union_all(list(shapes))


def _beyond(lead: BaseGeometry, cover: BaseGeometry) -> BaseGeometry:
    """Return what of a shape is not covered by another, beyond the deviation that arithmetic may leave."""
    return lead.difference(with_leeway(cover))


def _size(shape: BaseGeometry) -> str:
    x0, y0, x1, y1 = shape.bounds
    return f"{x1 - x0:.1f} x {y1 - y0:.1f} mm"


def _level_reach(shape: BaseGeometry) -> float:
    """Return how far a shape reaches from end to end, level; 0 where it is empty."""
    return 0.0 if shape.is_empty else float(shape.bounds[2] - shape.bounds[0])
