"""Small signs for what holds a piece: in pictures of patterns, on tickets, on walls. They are in no cut file."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from cutpath.paper.ink import Contours
from cutpath.values.fixing import Fixing, FixingKind
from cutpath.values.pattern import Point, Polyline

_HALF = 0.7  # of a sign on paper, in mm

SIGNS = {FixingKind.WEDGE: "triangle", FixingKind.CLIP: "square", FixingKind.NAIL: "cross"}


def fixing_key(fixings: Iterable[Fixing]) -> str:
    """Say what the signs in a picture mean, those that are in it."""
    there = {fixing.kind for fixing in fixings}
    return "; ".join(f"{sign}: {kind.value}" for kind, sign in SIGNS.items() if kind in there)


def fixing_notes(fixings: Iterable[Fixing]) -> list[str]:
    """Return the notes of a wall's key that say what the signs are, one each, so that walls share what is alike."""
    key = fixing_key(fixings)
    return [*key.split("; "), "fixings by the rules that the ticket names"] if key else []


def fixing_signs(fixings: Iterable[Fixing], at: Callable[[Point], Point]) -> list[Contours]:
    """Draw the sign of each fixing where ``at`` puts its place on paper."""
    return [
        Contours(_sign(fixing.kind, at(fixing.at)), f"fixing {fixing.kind.value}", fixing.kind is not FixingKind.NAIL)
        for fixing in fixings
    ]


def _sign(kind: FixingKind, at: Point) -> tuple[Polyline, ...]:
    (x, y), h = at, _HALF

    def shape(*corners: Point) -> Polyline:
        return tuple((x + dx * h, y + dy * h) for dx, dy in corners)

    match kind:
        case FixingKind.WEDGE:  # its point towards the sheet, on paper with y downwards
            return (shape((-1.0, -1.0), (1.0, -1.0), (0.0, 1.0)),)
        case FixingKind.CLIP:
            return (shape((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)),)
        case FixingKind.NAIL:
            return shape((-1.0, -1.0), (1.0, 1.0)), shape((-1.0, 1.0), (1.0, -1.0))
