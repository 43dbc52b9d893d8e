"""A family that the package does not know, made by the recipe of DEVELOPERS.md: a plain plate under a post.

Run by itself, it joins the registry and takes a job of it from words to pieces, rules, its proof, its picture and a
DXF file.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cutpath.errors import Finding
from cutpath.families import registry
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.frame import Shape, to_pattern
from cutpath.families.laid import Laid
from cutpath.families.runs import SinglePattern
from cutpath.families.site import Site, head_of
from cutpath.families.tables import DetailTable, Length, Means
from cutpath.folding import claim
from cutpath.folding.claim import Claims, InSpace
from cutpath.folding.gap import Gap, corners_at
from cutpath.paper.brickwork import View
from cutpath.paper.ink import Ink, line
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.recheck import second
from cutpath.recheck.second import Second
from cutpath.trade.rules import Practice, held
from cutpath.values.pattern import Edge, EdgeUse, LabelBox, PartKind
from cutpath.values.survey import Detail, Job


@dataclass(frozen=True, slots=True)
class Plinth(Detail):
    """Its survey: ``side_mm`` each way."""

    folder: ClassVar[str] = "plinth"

    side_mm: float


class PlinthTable(DetailTable):
    """A plate under a post."""

    kind: Literal["plinth"] = Field(description="plinth")
    side: Annotated[Length, Means("shape")] = Field(description="each side, mm")


def survey(site: Site, table: PlinthTable) -> Plinth:
    """Survey one from its table."""
    return Plinth(head_of(site, table, "plinth", quantity=table.quantity, hands=()), table.side)


def develop(plinth: Plinth) -> Developed:
    """Develop a square with its lower left corner at the origin."""
    a = plinth.side_mm
    corners = (("lower", (0.0, 0.0)), ("right", (a, 0.0)), ("upper", (a, a)), ("left", (0.0, a)))
    sides = tuple((at, Edge(name, EdgeUse.END)) for name, at in corners)
    shape = Shape("plinth", PartKind.BASE, sides, (), LabelBox((8.0, 8.0), 0.0, a - 16.0, a - 16.0), a)
    return SinglePattern(to_pattern(shape), 1), ()


def check(plinth: Plinth, _: Job, limits: Practice) -> Iterator[Finding]:
    """Hold its side to a rule of the trade."""
    yield from held(limits["saddle_size"], plinth.head.origin.key("side"), plinth.side_mm)


def views(laid: Laid[Plinth]) -> Iterable[Elevation]:
    """Draw the plate from above, with the post that stands on it."""
    a, piece = laid.survey.side_mm, laid.lengths[0]

    def square(view: View, low: float, high: float, look: str) -> Ink:
        return line(look, *view.all(((low, low), (high, low), (high, high), (low, high))), closed=True, piece=piece.id)

    yield fitted(
        lambda view: [square(view, 0.0, a, "lead"), square(view, a / 3, 2 * a / 3, "wall-edge")],
        mirrored=False,
        title=f"{laid.label}: the plate under its post",
        words="from above",
        notes=(f"the plate is {a:g} mm each way",),
    )


FAMILY = Family(
    kind="plinth",
    letter="Z",
    use=Use("plinth", 5, "plinths"),
    table=PlinthTable,
    value=Plinth,
    survey=one(survey),
    develop=develop,
    check=check,
    views=views,
    least_code="least_code_apron",
)


def proved(plinth: Plinth, piece: InSpace) -> list[Gap]:
    """Hold its one face to the square that was ordered."""
    a = plinth.side_mm
    square = [(0.0, 0.0), (a, 0.0), (a, a), (0.0, a)]
    return [corners_at(face, square, "the plate misses its size") for face in piece.faces]


def main() -> None:
    """Take a job with two plinths all the way, and print what came of it."""
    registry.FAMILIES += (FAMILY,)
    claim.known()["plinth"] = Claims(gaps=proved)
    second.known()["plinth"] = Second("plinth", sizes=(("side", "side_mm", ""),))
    import cutpath
    from cutpath.families.checking import check_rules
    from cutpath.folding import prove
    from cutpath.jobs import job_schema
    from cutpath.pieces import pieces_of
    from cutpath.profiles import practice
    from cutpath.recheck import recheck
    from cutpath.reports.pictures.figures import wall_figures
    from cutpath.reports.words.page import drawings
    from cutpath.values.drawing import Drawing, Role, Stroke

    job = cutpath.job(name="Porch", lead={"plinth": 4}, detail=[{"kind": "plinth", "side": 300, "quantity": 2}])
    pieces, _ = pieces_of([job])
    shape = cutpath.polygon(pieces[0])
    stroke = Stroke(Role.OUTER, pieces[0].pattern.outline, True, pieces[0].id, "outline")
    smaller = replace(job, details=(replace(job.details[0], side_mm=299.0),))
    figure, caption = wall_figures(job, pieces), "".join(drawings(pieces, {}))
    found = {
        "id": pieces[0].id,
        "quantity": pieces[0].quantity,
        "code": pieces[0].lead.code,
        "area": shape.area,
        "findings": [f.code for f in check_rules(job, practice())],
        "proof": [[f.code for f in prove(one_job, pieces)[1]] for one_job in (job, smaller)],
        "recheck": [[f.code for f in recheck(one_job, pieces, practice())] for one_job in (job, smaller)],
        "picture": f'class="lead" data-piece="{pieces[0].id}"' in figure,
        "words": [
            words in figure + caption
            for words in ("Z1: the plate under its post", "the plate is 300 mm each way", "plinth, lead code 4, 300")
        ],
        "schema": "plinth" in json.dumps(job_schema()),
        "dxf": b"LWPOLYLINE" in cutpath.dxf(Drawing("plinth", 300.0, 300.0, (stroke,))),
    }
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main()
