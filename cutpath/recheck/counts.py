"""Pieces against the survey by number: hands, sets, lead, lengths to a run, and what each of them measures."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from cutpath import sure
from cutpath.errors import Finding
from cutpath.recheck.second import Second, nothing
from cutpath.recheck.written import AT_FAULT, NEAR, Asked
from cutpath.values.fact import Confidence
from cutpath.values.leadwork import PLUMB_DEG, Apron, BackGutter, CornerKind, CornerWork, StepFlashing
from cutpath.values.pattern import PartKind, Point
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail, Hand

_HANDS = {"left": {Hand.LEFT}, "right": {Hand.RIGHT}, "pair": {Hand.LEFT, Hand.RIGHT}}


def check_orders(asked: Asked, second: Second) -> Iterator[Finding]:
    """Hold lead, sets and hands of a detail, and its longest length, to what was written."""
    head, table = asked.detail.head, asked.step_table()
    own = asked.own.get("code") if asked.own.get("code") is not None else None
    if own is None and asked.own is not table and not second.own_lead:
        own = table.get("code")
    uses = asked.job.get("lead") or {}
    code = uses.get(second.use) if own is None else own
    if code is not None and head.lead.code != code:
        yield asked.wrong("code", f"lead code {head.lead.code}", f"lead code {code}, as written")
    quantity = asked.entry.get("quantity") or 1
    if head.quantity != quantity:
        yield asked.wrong("quantity", f"{head.quantity} sets", f"{quantity}, as written")
    wanted = _hands(asked) if second.handed(asked, asked.detail) else set()
    if set(head.hands) != wanted:
        found = ", ".join(hand.value for hand in head.hands) or "none"
        yield asked.wrong("hands", f"hands: {found}", ", ".join(sorted(wanted)) or "none")
    if second.longest:
        yield from _longest(asked, second.longest, table.get("longest"))


def _hands(asked: Asked) -> set[Hand]:
    """Return the hands that are wanted: as written, else a pair."""
    return _HANDS["pair" if asked.of_chimney else asked.step_table().get("hands", "pair")]


def _longest(asked: Asked, usual: str, own: float | None) -> Iterator[Finding]:
    """Hold the limit of a length to the rule, or to the user's own that is less, or past a rule that only warns."""
    head = asked.detail.head
    thick = asked.practice[usual]
    rule = asked.practice["longest_code_3"] if head.lead.code <= 3 else thick
    warns = rule.confidence in {Confidence.PRACTICE, Confidence.MEMORY}
    wanted = [rule.value]
    if own is not None:
        wanted = [float(own)] if warns else [rule.value, float(own)]
    elif asked.job.get("longest") is not None:
        wanted.append(float(asked.job["longest"]))
    if own is None or own <= thick.value or thick.confidence in {Confidence.PRACTICE, Confidence.MEMORY}:
        yield from asked.differs("longest", head.longest_mm, min(wanted))


def check_pieces(detail: Detail, second: Second, pieces: Sequence[Piece], *, complete: bool) -> Iterator[Finding]:
    """Hold the pieces of a detail to its survey by number.

    ``complete`` tells that nothing refused the detail, so that it must have pieces.
    """
    if not pieces and not complete:
        return
    for hand in detail.head.hands or (None,):
        mine = [piece for piece in pieces if piece.hand is hand]
        words = f"{hand.value} hand, " if hand else ""
        if not mine:
            yield _wrong(detail, f"{words}no pieces", "pieces for every hand that was ordered")
            continue
        if [piece.number for piece in mine] != list(range(1, len(mine) + 1)) or {p.of for p in mine} != {len(mine)}:
            yield _wrong(detail, f"{words}pieces with other numbers", f"numbers from 1 to {len(mine)}")
        run = second.run_mm(detail)
        yield from _parts(detail, second.parts(detail), mine, words)
        yield from second.lengths(detail, mine)
        yield from _measures(detail, run, mine)
        yield from _sides(detail, mine if run is None and second.lengths is nothing else _gussets(mine))
    if strange := [piece for piece in pieces if piece.hand not in (detail.head.hands or (None,))]:
        yield _wrong(detail, f"piece {strange[0].id} of a hand that was not ordered", "pieces of the hands ordered")


def _wrong(detail: Detail, found: str, accepted: str) -> Finding:
    return Finding("CP419", detail.head.origin.key(""), found, accepted, AT_FAULT)


def _parts(detail: Detail, wanted: Mapping[PartKind, int], mine: Sequence[Piece], words: str) -> Iterator[Finding]:
    """See that each set has as many pieces of each sort as the detail asks for, in the lead ordered."""
    sets = detail.head.quantity
    there: dict[PartKind, int] = {}
    for piece in mine:
        there[piece.pattern.part] = there.get(piece.pattern.part, 0) + piece.quantity
    for part, count in wanted.items():
        if there.get(part, 0) != count * sets:
            yield _wrong(
                detail,
                f"{words}{there.get(part, 0)} of part '{part.value}'",
                f"{count * sets}: {count} to each of {sets} sets",
            )
    single = [p for p in mine if p.pattern.part not in wanted]
    if odd := [piece for piece in single if piece.quantity != sets]:
        yield _wrong(detail, f"{odd[0].quantity} of piece {odd[0].id}", f"{sets}, one to each set")
    if odd := [piece for piece in mine if piece.lead != detail.head.lead]:
        yield _wrong(detail, f"piece {odd[0].id} in {odd[0].lead.material}", detail.head.lead.material)


def _measures(detail: Detail, run: float | None, mine: Sequence[Piece]) -> Iterator[Finding]:
    """Hold lengths to the limit; those of a plain run to their outlines, their number, and the run less its laps."""
    longest = detail.head.longest_mm
    lap = min(detail.head.lap_mm, longest)  # where none may be made it is infinite, and one length has none
    lengths = [piece for piece in mine if piece.pattern.part is not PartKind.GUSSET]
    if run is None:
        return
    for piece in lengths:
        edge = _lower_edge_mm(piece)
        if abs(edge - piece.pattern.length_mm) > NEAR * run:
            found = f"piece {piece.id} said to be {piece.pattern.length_mm:.3f} mm long"
            yield _wrong(detail, found, f"its lower edge measures {edge:.3f} mm")
        if edge > longest + NEAR * run:
            yield _wrong(detail, f"piece {piece.id} is {edge:.3f} mm long", f"at most {longest:g} mm")
    covered = math.fsum(_lower_edge_mm(piece) for piece in lengths) - lap * (len(lengths) - 1)
    if covered < run - NEAR * run or (len(lengths) > 1 and covered > run + NEAR * run):
        yield _wrong(
            detail,
            f"{len(lengths)} lengths of {covered:.3f} mm together, less {len(lengths) - 1} laps of {lap:g} mm",
            f"the run of {run:g} mm",
        )
    fewest = 1
    while fewest * longest - (fewest - 1) * lap < run - NEAR and longest > lap:
        fewest += 1
    if len(lengths) != fewest:
        yield _wrong(detail, f"{len(lengths)} lengths", f"{fewest}: the fewest of at most {longest:g} mm")


def _gussets(mine: Sequence[Piece]) -> list[Piece]:
    return [piece for piece in mine if piece.pattern.part is PartKind.GUSSET]


def _sides(detail: Detail, whole: Sequence[Piece]) -> Iterator[Finding]:
    """Hold what pieces that are no lengths of a run are said to measure to a side of the rectangle about them."""
    longest = detail.head.longest_mm
    for piece in whole:
        told, corners = piece.pattern.length_mm, piece.pattern.outline
        if piece.pattern.part is PartKind.LENGTH and told > longest + NEAR * longest:
            yield _wrong(detail, f"piece {piece.id} is {told:.3f} mm long", f"at most {longest:g} mm")
        sides = [max(of_axis) - min(of_axis) for of_axis in zip(*corners, strict=True)]
        if min(abs(told - side) for side in sides) > NEAR * told:
            found = f"piece {piece.id} said to be {told:.3f} mm long"
            yield _wrong(detail, found, f"it measures {sides[0]:.3f} x {sides[1]:.3f} mm")


def side_gussets(detail: Apron | BackGutter) -> dict[PartKind, int]:
    """Return how many gussets belong to a set: one to each side where corners are welded."""
    return {PartKind.GUSSET: 2 if detail.corners is CornerWork.WELDED and detail.side_mm else 0}


def step_lengths(detail: StepFlashing, mine: Sequence[Piece]) -> Iterator[Finding]:
    """Hold lengths of steps to the limit, and to what their lead reaches, round the arris and along a tongue too."""
    for piece in mine:
        told, longest = piece.pattern.length_mm, detail.head.longest_mm
        if told > longest + NEAR * longest:
            yield _wrong(detail, f"piece {piece.id} is {told:.3f} mm long", f"at most {longest:g} mm")
        ring = _in_strip(piece)
        reach = _reach_mm(ring)
        if piece.number == 1 and (detail.tongue or detail.corner.kind is not CornerKind.NONE):
            on_the_wall, beyond = _parted(ring, detail.pitch_deg, 0.0 if detail.cover_mm else -math.inf)
            further = beyond / sure.cos(math.radians(detail.tongue.pitch_deg)) if detail.tongue else beyond
            reach = _reach_mm(on_the_wall) + further
        # A riser that leans back over a change of pitch counts above it too: no less than the lead reaches, then.
        over = 0.0 if detail.tongue and detail.riser_deg > PLUMB_DEG else told - reach
        if max(reach - told, over) > NEAR * longest:
            yield _wrong(
                detail,
                f"piece {piece.id} said to be {told:.3f} mm long",
                f"its lead reaches {reach:.3f} mm along the roof",
            )


def _in_strip(piece: Piece) -> list[Point]:
    """Return a piece's outline in the strip frame."""
    pattern = piece.pattern
    width = max(x for x, _ in pattern.outline)
    at_x, at_y = pattern.run_offset
    return [((width - x if piece.hand is Hand.LEFT else x) + at_x, y + at_y) for x, y in pattern.outline]


def _parted(ring: Sequence[Point], pitch_deg: float, foot_mm: float) -> tuple[list[Point], float]:
    """Part a ring of the strip frame at the plumb line through its origin: the arris, or a change of pitch.

    Returns the part up the slope from there, and how far the rest reaches beyond, level. Below ``foot_mm``, where a
    cover lies on the roof, the line is square to that.
    """
    c, s = sure.cos(math.radians(pitch_deg)), sure.sin(math.radians(pitch_deg))
    kept, levels = [], [u * c - max(v, foot_mm) * s for u, v in ring]
    for (u0, v0), (u1, v1), x0, x1 in zip(ring, (*ring[1:], ring[0]), levels, (*levels[1:], levels[0]), strict=True):
        if x0 >= -NEAR:
            kept.append((u0, v0))
        if min(x0, x1) < -NEAR and max(x0, x1) > NEAR:
            share = x0 / (x0 - x1)
            kept.append((u0 + (u1 - u0) * share, v0 + (v1 - v0) * share))
    return kept, -min(levels)


def _reach_mm(ring: Sequence[Point]) -> float:
    """Measure the most that lead reaches along the roof at one height, at the heights of all its corners."""
    edges = list(zip(ring, (*ring[1:], ring[0]), strict=True))
    reaches = []
    for level in {y for _, y in ring}:
        met = [x for x, y in ring if abs(y - level) <= NEAR]
        for (x0, y0), (x1, y1) in edges:
            if min(y0, y1) + NEAR < level < max(y0, y1) - NEAR:
                met.append(x0 + (x1 - x0) * (level - y0) / (y1 - y0))
        reaches.append(max(met) - min(met))
    return max(reaches)


def _lower_edge_mm(piece: Piece) -> float:
    outline = piece.pattern.outline
    foot = min(y for _, y in outline)
    along = [x for x, y in outline if y <= foot + NEAR]
    return max(along) - min(along)
