"""The yield account: what was bought, drawn, cut into pieces, kept and scrapped, in mm2 and kg.

Terminology
-----------
Bought: whole rolls, for which money was paid; an offcut already owned is not bought.
Drawn: roll width x length drawn off the roll up to its square cross-cut.
Kept offcuts: rectangles out of what was drawn that are worth keeping.
Scrap: drawn less pieces less kept offcuts, for the recycling pile.
Rest: what stays on the roll beyond the cross-cut. Ends: that of it which is too small to keep, scrap once it is cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import fsum, isclose
from typing import TypedDict

from cutpath.errors import CutpathError
from cutpath.plane import bounds_mm, mirrored, turned
from cutpath.reports.account.shape import area_mm2, mass_kg
from cutpath.reports.account.square_cuts import square_cuts
from cutpath.tolerances import CLOSE_RATIO
from cutpath.values.batch import Batch, MaterialNest, Sheet
from cutpath.values.nest import Blank, Nest, NestProblem, Objective, Roll, mean_price
from cutpath.values.survey import Lead

DRAWN, BOUGHT, PRICE = "drawn", "bought", "price"
"""What was to be least."""

_Yield = TypedDict("_Yield", {"yield": float})  # a word of the language, so not a class body


class Practice(_Yield):
    """What common practice would have drawn and bought for the same pieces, and how much less it is now.

    Common practice: one piece after another from the narrowest roll that holds it. What is saved is lead drawn, or lead
    bought where least bought was asked for. ``saved_price`` is None where one of the two prices is.
    """

    drawn_mm2: float
    drawn_kg: float
    scrap_mm2: float
    scrap_kg: float
    rolls_bought: int
    bought_mm2: float
    bought_kg: float
    price: float | None
    saved_mm2: float
    saved_kg: float
    saved_price: float | None


class Tally(_Yield):
    """Areas in mm2 and masses in kg of one roll, one material or the whole batch.

    ``yield`` is pieces / drawn; ``yield_bought`` pieces cut from what was bought / bought, None when nothing was;
    ``price`` what is paid for that, None when nothing is or a price is not known; ``bound_mm2`` says that no
    arrangement draws less.
    """

    drawn_mm2: float
    pieces_mm2: float
    offcuts_mm2: float
    scrap_mm2: float
    drawn_kg: float
    pieces_kg: float
    offcuts_kg: float
    scrap_kg: float
    bound_mm2: float
    bought_mm2: float
    bought_kg: float
    rest_mm2: float
    rest_kg: float
    ends_kg: float
    yield_bought: float | None
    price: float | None


class GroupTally(Tally):
    """`Tally` of several rolls; ``common_practice`` is None where common practice cannot cut the pieces.

    ``least`` says what was to be least: ``drawn``, ``bought``, or ``price`` of what is bought.
    """

    least: str
    rolls: int
    rolls_bought: int
    pieces: int
    common_practice: Practice | None


class RollTally(Tally):
    """`Tally` of one roll; ``offcut`` tells that it was owned already.

    ``square_cuts`` counts the straight cuts across the whole roll that part no piece, the cross-cut among them.
    """

    id: str
    material: str
    width_mm: float
    length_mm: float
    drawn_mm: float
    pieces: int
    square_cuts: int
    offcut: bool


class JobShare(TypedDict):
    """One job's pieces, and its share of what was drawn less kept offcuts; scrap is share less pieces."""

    pieces: int
    pieces_mm2: float
    pieces_kg: float
    share_mm2: float
    share_kg: float
    scrap_mm2: float
    scrap_kg: float


class JobTally(JobShare):
    """`JobShare` over all materials, and material by material."""

    materials: dict[str, JobShare]


class Account(TypedDict):
    """The whole account, the content of ``yield.json``."""

    totals: GroupTally
    materials: dict[str, GroupTally]
    rolls: list[RollTally]
    jobs: dict[str, JobTally]


def account(batch: Batch) -> Account:
    """Draw up the account of a batch, closed roll by roll, by material, in total and job by job.

    A roll's drawn lead less its kept offcuts is shared among jobs by the area of their pieces on that roll.
    ``bound_mm2`` of a material is the nest's own, of the total the sum of those; of a roll it is the least
    that a roll of that width can be drawn for the pieces it carries: their area over the usable width, or the
    longest of them if that is more, with the trims. So the rolls' bounds need not add up to the material's.

    Raises
    ------
    CutpathError
        When the figures of a nest and the shapes on its rolls disagree, so that the account cannot close.
    """
    blanks = {m.lead.material: {b.id: b for b in m.problem.blanks} for m in batch.materials}
    trims = {m.lead.material: m.problem.edge_trim_mm for m in batch.materials}
    rolls = [_roll_tally(s, blanks[s.lead.material], trims[s.lead.material]) for s in batch.sheets]
    materials = {m.lead.material: _material_tally(m, rolls) for m in batch.materials}
    return {
        "totals": _totals(tuple(materials.values()), rolls),
        "materials": materials,
        "rolls": rolls,
        "jobs": _job_tallies(batch, blanks, rolls),
    }


def ratio(part: float, whole: float) -> float:
    """Return a part of a whole, between 0 and 1; 1 of nothing, of which nothing is lost."""
    return part / whole if whole else 1.0


def _roll_tally(sheet: Sheet, blanks: dict[str, Blank], edge_trim_mm: float) -> RollTally:
    nested, roll = sheet.nested, sheet.nested.roll
    carried = [blanks[p.id] for p in nested.placements]
    drawn = roll.width_mm * nested.drawn_mm
    pieces = fsum(area_mm2(b) for b in carried)
    offcuts = fsum(o.area_mm2 for o in nested.offcuts)
    scrap = drawn - pieces - offcuts
    if scrap < -CLOSE_RATIO * drawn:
        raise CutpathError(
            f"{sheet.id}: pieces of {pieces:.1f} mm2 and offcuts of {offcuts:.1f} mm2 are more than the "
            f"{drawn:.1f} mm2 drawn; the account cannot close"
        )
    whole = roll.width_mm * roll.length_mm
    bought = 0.0 if roll.in_stock else whole
    return {
        "id": sheet.id,
        "material": sheet.lead.material,
        "width_mm": roll.width_mm,
        "length_mm": roll.length_mm,
        "drawn_mm": nested.drawn_mm,
        "offcut": roll.offcut,
        "pieces": len(carried),
        "square_cuts": len(square_cuts(nested, blanks)),
        "drawn_mm2": drawn,
        "pieces_mm2": pieces,
        "offcuts_mm2": offcuts,
        "scrap_mm2": scrap,
        "drawn_kg": mass_kg(drawn, sheet.lead),
        "pieces_kg": mass_kg(pieces, sheet.lead),
        "offcuts_kg": mass_kg(offcuts, sheet.lead),
        "scrap_kg": mass_kg(scrap, sheet.lead),
        "yield": ratio(pieces, drawn),
        "bound_mm2": _roll_bound_mm2(carried, roll.width_mm, edge_trim_mm),
        "bought_mm2": bought,
        "bought_kg": mass_kg(bought, sheet.lead),
        "rest_mm2": whole - drawn,
        "rest_kg": mass_kg(whole - drawn, sheet.lead),
        "ends_kg": 0.0 if sheet.rest_kept else mass_kg(whole - drawn, sheet.lead),
        "yield_bought": pieces / bought if bought else None,
        "price": roll.price if bought else None,
    }


def _roll_bound_mm2(carried: Sequence[Blank], width_mm: float, edge_trim_mm: float) -> float:
    if not carried:
        return 0.0
    by_area = fsum(area_mm2(b) for b in carried) / (width_mm - 2 * edge_trim_mm)
    by_length = max(_least_extent_mm(b) for b in set(carried))
    return width_mm * (max(by_area, by_length) + 2 * edge_trim_mm)


def _least_extent_mm(blank: Blank) -> float:
    """Return the shortest extent along the roll over the turns that a blank may take."""
    shapes = (blank.outline, mirrored(blank.outline)) if blank.may_flip else (blank.outline,)
    extents = []
    for shape in shapes:
        for turn_deg in blank.turns_deg:
            x0, _, x1, _ = bounds_mm(turned(shape, turn_deg))
            extents.append(x1 - x0)
    return min(extents)


def _least(problem: NestProblem) -> str:
    if problem.objective is Objective.DRAWN:
        return DRAWN
    return BOUGHT if mean_price(problem.rolls) is None else PRICE


def _price(prices: Sequence[float | None]) -> float | None:
    """Return the sum of prices; None where there are none or one is not known."""
    known = [price for price in prices if price is not None]
    return fsum(known) if known and len(known) == len(prices) else None


def _group(
    parts: Sequence[Tally], bound_mm2: float, least: str, *, rolls: int, rolls_bought: int, pieces: int
) -> GroupTally:
    pieces_mm2, drawn_mm2 = fsum(p["pieces_mm2"] for p in parts), fsum(p["drawn_mm2"] for p in parts)
    bought_mm2 = fsum(p["bought_mm2"] for p in parts)
    return {
        "drawn_mm2": drawn_mm2,
        "pieces_mm2": pieces_mm2,
        "offcuts_mm2": fsum(p["offcuts_mm2"] for p in parts),
        "scrap_mm2": fsum(p["scrap_mm2"] for p in parts),
        "drawn_kg": fsum(p["drawn_kg"] for p in parts),
        "pieces_kg": fsum(p["pieces_kg"] for p in parts),
        "offcuts_kg": fsum(p["offcuts_kg"] for p in parts),
        "scrap_kg": fsum(p["scrap_kg"] for p in parts),
        "yield": ratio(pieces_mm2, drawn_mm2),
        "bound_mm2": bound_mm2,
        "bought_mm2": bought_mm2,
        "bought_kg": fsum(p["bought_kg"] for p in parts),
        "rest_mm2": fsum(p["rest_mm2"] for p in parts),
        "rest_kg": fsum(p["rest_kg"] for p in parts),
        "ends_kg": fsum(p["ends_kg"] for p in parts),
        "yield_bought": (
            fsum((p["yield_bought"] or 0.0) * p["bought_mm2"] for p in parts) / bought_mm2 if bought_mm2 else None
        ),
        "price": _price([p["price"] for p in parts if p["bought_mm2"]]),
        "least": least,
        "rolls": rolls,
        "rolls_bought": rolls_bought,
        "pieces": pieces,
        "common_practice": None,
    }


def _material_tally(material: MaterialNest, rolls: Sequence[RollTally]) -> GroupTally:
    nest, lead = material.nest, material.lead
    own = [r for r in rolls if r["material"] == lead.material]
    group = _group(
        own,
        nest.bound_mm2,
        _least(material.problem),
        rolls=len(own),
        rolls_bought=sum(bool(r["bought_mm2"]) for r in own),
        pieces=sum(r["pieces"] for r in own),
    )
    for name, counted, stated in (
        ("drawn", group["drawn_mm2"], nest.drawn_mm2),
        ("pieces", group["pieces_mm2"], nest.pieces_mm2),
        ("kept offcuts", group["offcuts_mm2"], nest.offcuts_mm2),
    ):
        if not isclose(counted, stated, rel_tol=CLOSE_RATIO, abs_tol=CLOSE_RATIO * group["drawn_mm2"]):
            raise CutpathError(
                f"{lead.material}: {name} comes to {counted:.3f} mm2 over the rolls, but the nest states "
                f"{stated:.3f} mm2; the account cannot close"
            )
    if material.common_practice is not None:
        group["common_practice"] = _practice(material.common_practice, group, lead)
    return group


def _practice(practice: Nest, now: GroupTally, lead: Lead) -> Practice:
    drawn = practice.drawn_mm2
    scrap = drawn - practice.pieces_mm2 - practice.offcuts_mm2
    new: list[Roll] = [nested.roll for nested in practice.rolls if not nested.roll.in_stock]
    bought = fsum(roll.width_mm * roll.length_mm for roll in new)
    saved = drawn - now["drawn_mm2"] if now["least"] == DRAWN else bought - now["bought_mm2"]
    price = _price([roll.price for roll in new])
    return {
        "drawn_mm2": drawn,
        "drawn_kg": mass_kg(drawn, lead),
        "scrap_mm2": scrap,
        "scrap_kg": mass_kg(scrap, lead),
        "yield": practice.yield_ratio,
        "rolls_bought": len(new),
        "bought_mm2": bought,
        "bought_kg": mass_kg(bought, lead),
        "price": price,
        "saved_mm2": saved,
        "saved_kg": mass_kg(saved, lead),
        "saved_price": _less(price, len(new), now),
    }


def _less(price: float | None, rolls: int, now: GroupTally) -> float | None:
    """Return how much less than ``price`` is paid now for what is bought, nothing for no rolls; None where unknown."""
    usual = price if rolls else 0.0
    paid = now["price"] if now["rolls_bought"] else 0.0
    return None if usual is None or paid is None else usual - paid


def _totals(materials: Sequence[GroupTally], rolls: Sequence[RollTally]) -> GroupTally:
    wanted = {m["least"] for m in materials}
    group = _group(
        materials,
        fsum(m["bound_mm2"] for m in materials),
        wanted.pop() if len(wanted) == 1 else BOUGHT if wanted else DRAWN,
        rolls=len(rolls),
        rolls_bought=sum(m["rolls_bought"] for m in materials),
        pieces=sum(m["pieces"] for m in materials),
    )
    practices = [m["common_practice"] for m in materials]
    known = [p for p in practices if p is not None]
    if known and len(known) == len(practices):
        drawn = fsum(p["drawn_mm2"] for p in known)
        new = sum(p["rolls_bought"] for p in known)
        price = _price([p["price"] for p in known if p["rolls_bought"]])
        group["common_practice"] = {
            "drawn_mm2": drawn,
            "drawn_kg": fsum(p["drawn_kg"] for p in known),
            "scrap_mm2": fsum(p["scrap_mm2"] for p in known),
            "scrap_kg": fsum(p["scrap_kg"] for p in known),
            "yield": ratio(group["pieces_mm2"], drawn),
            "rolls_bought": new,
            "bought_mm2": fsum(p["bought_mm2"] for p in known),
            "bought_kg": fsum(p["bought_kg"] for p in known),
            "price": price,
            "saved_mm2": fsum(p["saved_mm2"] for p in known),
            "saved_kg": fsum(p["saved_kg"] for p in known),
            "saved_price": _less(price, new, group),
        }
    return group


def _job_tallies(batch: Batch, blanks: dict[str, dict[str, Blank]], rolls: Sequence[RollTally]) -> dict[str, JobTally]:
    job_of = {p.id: p.job for p in batch.pieces}
    leads = {m.lead.material: m.lead for m in batch.materials}
    areas: dict[tuple[str, str], list[float]] = {}
    shares: dict[tuple[str, str], list[float]] = {}
    for sheet, tally in zip(batch.sheets, rolls, strict=True):
        own: dict[str, list[float]] = {}
        for placement in sheet.nested.placements:
            area = area_mm2(blanks[tally["material"]][placement.id])
            own.setdefault(job_of[placement.id], []).append(area)
        used_mm2 = tally["drawn_mm2"] - tally["offcuts_mm2"]
        for name, pieces in own.items():
            key = (name, tally["material"])
            areas.setdefault(key, []).extend(pieces)
            shares.setdefault(key, []).append(used_mm2 * fsum(pieces) / tally["pieces_mm2"])

    tallies: dict[str, JobTally] = {}
    for job in batch.jobs:
        by_material: dict[str, JobShare] = {
            material: _share(areas[job.name, material], shares[job.name, material], lead)
            for material, lead in leads.items()
            if (job.name, material) in areas
        }
        tallies[job.name] = {**_share_sum(by_material.values()), "materials": by_material}
    return tallies


def _share(areas_mm2: Sequence[float], shares_mm2: Sequence[float], lead: Lead) -> JobShare:
    pieces, share = fsum(areas_mm2), fsum(shares_mm2)
    return {
        "pieces": len(areas_mm2),
        "pieces_mm2": pieces,
        "pieces_kg": mass_kg(pieces, lead),
        "share_mm2": share,
        "share_kg": mass_kg(share, lead),
        "scrap_mm2": share - pieces,
        "scrap_kg": mass_kg(share - pieces, lead),
    }


def _share_sum(parts: Iterable[JobShare]) -> JobShare:
    shares = tuple(parts)
    return {
        "pieces": sum(s["pieces"] for s in shares),
        "pieces_mm2": fsum(s["pieces_mm2"] for s in shares),
        "pieces_kg": fsum(s["pieces_kg"] for s in shares),
        "share_mm2": fsum(s["share_mm2"] for s in shares),
        "share_kg": fsum(s["share_kg"] for s in shares),
        "scrap_mm2": fsum(s["scrap_mm2"] for s in shares),
        "scrap_kg": fsum(s["scrap_kg"] for s in shares),
    }
