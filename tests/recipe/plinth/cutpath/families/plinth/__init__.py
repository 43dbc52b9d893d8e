"""Plates of lead under the posts of a porch: square, from above, with the post in the middle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cutpath.errors import Finding
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.frame import Shape, to_pattern
from cutpath.families.laid import Laid
from cutpath.families.runs import SinglePattern
from cutpath.families.site import Site, head_of
from cutpath.families.tables import DetailTable, Length, Means
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import between
from cutpath.paper.ink import Ink, line
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.trade.rules import Practice, held
from cutpath.values.pattern import Edge, EdgeUse, LabelBox, PartKind, Stance
from cutpath.values.survey import Detail, Job


@dataclass(frozen=True, slots=True)
class Plinth(Detail):
    """A plate under a post: ``side_mm`` each way."""

    folder: ClassVar[str] = "plinth"

    side_mm: float


class PlinthTable(DetailTable):
    """A plate under a post."""

    kind: Literal["plinth"] = Field(description="plinth")
    side: Annotated[Length, Means("plinth")] | None = Field(default=None, description="each side, mm; 300")


def _survey(site: Site, table: PlinthTable) -> Plinth:
    head = head_of(site, table, "plinth", quantity=table.quantity, hands=())
    return Plinth(head, table.side or site.desk.fact("plinth_side"))


def _develop(plinth: Plinth) -> Developed:
    """Develop a square with its lower left corner at the origin."""
    a = plinth.side_mm
    corners = (("lower edge", (0.0, 0.0)), ("right edge", (a, 0.0)), ("upper edge", (a, a)), ("left edge", (0.0, a)))
    sides = tuple((at, Edge(name, EdgeUse.FREE)) for name, at in corners)
    label = LabelBox((8.0, 8.0), 0.0, max(a - 16.0, 1.0), max(a - 16.0, 1.0))
    return SinglePattern(to_pattern(Shape("plinth", PartKind.BASE, sides, (), label, a, stance=Stance.LYING)), 1), ()


def _check(plinth: Plinth, _: Job, practice: Practice) -> Iterator[Finding]:
    yield from held(practice["plinth_side"], plinth.head.origin.key("side"), plinth.side_mm)


def _views(laid: Laid[Plinth]) -> Iterable[Elevation]:
    """Draw the plate from above, with the post that stands on it."""
    a, piece = laid.survey.side_mm, laid.lengths[0]

    def square(view: View, low: float, high: float, look: str) -> Ink:
        return line(look, *view.all(((low, low), (high, low), (high, high), (low, high))), closed=True, piece=piece.id)

    def draw(view: View) -> list[Ink]:
        size = between(view.at((0.0, 0.0)), view.at((a, 0.0)), (0.0, 6.0), millimetres(a))
        return [square(view, 0.0, a, "lead"), square(view, a / 3, 2 * a / 3, "wall-edge"), *size]

    yield fitted(
        draw,
        mirrored=False,
        title=f"{laid.label}: the plate under its post",
        words="from above",
        notes=(f"the plate is {millimetres(a)} mm each way",),
    )


FAMILY = Family(
    kind="plinth",
    letter="Z",
    use=Use("plinth", 5, "plinths"),
    table=PlinthTable,
    value=Plinth,
    survey=one(_survey),
    develop=_develop,
    check=_check,
    views=_views,
)
