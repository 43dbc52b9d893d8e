"""Shop-like batches for the nesting benchmark: invented jobs, developed and split like any other.

Pitches 20 to 50 degrees, courses of 75 to 86 mm (one wall in three measured joint by joint), both hands, corner
returns, front aprons, back gutters, cover flashings and soakers. Everything comes from one seed. `OWN` is the shop that
the search was tuned on; `another` makes shops with habits of their own, which it was not.
"""

# ruff: noqa: S311 - chance here makes cases, not secrets

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from pathlib import Path

from cutpath.jobs.blanks import parse_blanks
from cutpath.pieces import length_ids, pieces_of, run_choices
from cutpath.profiles.rolls import rolls_list
from cutpath.values.leadwork import (
    Apron,
    CornerKind,
    CornerReturn,
    CornerWork,
    CoverFlashing,
    EndCut,
    PlainOutline,
    Soakers,
    StepFlashing,
)
from cutpath.values.nest import QUARTER_TURNS, Blank, NestProblem, Roll
from cutpath.values.piece import Piece
from cutpath.values.settings import Settings
from cutpath.values.survey import BedJoint, Detail, DetailHead, Hand, Job, Lead, Origin

CODE_3 = Lead(3, 1.32, 14.97, "green")
CODE_4 = Lead(4, 1.80, 20.41, "blue")
KINDS = ("stack", "stack", "abutment", "abutment", "order")
WIDTHS_MM = tuple(float(w) for w in range(150, 601, 30))
RAKED = Path(__file__).parent / "raked"
RAKED_SIZES = (68, 193, 646)
ROLLS = tuple(Roll(w, length) for w in WIDTHS_MM for length in (3000.0, 6000.0))


@dataclass(frozen=True)
class Shop:
    """What differs from shop to shop: each habit is a choice by chance among what stands here.

    Soakers are cut from the main code where ``soakers`` says so. ``measured`` is the share of walls whose courses were
    measured joint by joint.
    """

    kinds: tuple[str, ...] = KINDS
    rolls: tuple[Roll, ...] = ROLLS
    pitches_deg: tuple[float, ...] = (22.5, 25.0, 30.0, 35.0, 40.0, 45.0, 47.5)
    steepest_deg: float = 50.0
    courses_mm: tuple[float, ...] = (75.0, 75.0)
    waters_mm: tuple[float, ...] = (65.0, 65.0)
    turns_in_mm: tuple[float, ...] = (25.0, 25.0, 20.0, 30.0)
    risers_deg: tuple[float, ...] = (90.0,)
    lengths_mm: tuple[float, ...] = (1200.0, 1500.0)
    sides_mm: tuple[float, ...] = (0.0, 100.0, 150.0)
    soakers: bool = False
    measured: float = 1 / 3


OWN = Shop()


def another(seed: int) -> Shop:
    """A shop with other habits: 5 to 16 widths of roll, raked risers, short lengths of thick lead, many soakers."""
    rng = random.Random(f"shop {seed}")
    count = rng.randint(5, len(WIDTHS_MM))
    widths = sorted({*rng.sample(WIDTHS_MM[:-1], count - 1), WIDTHS_MM[-1]})
    lengths = rng.choice(((3000.0, 6000.0), (3000.0,), (6000.0,)))
    course = rng.choice((75.0, 83.0, 86.0, 100.0))
    return Shop(
        kinds=rng.choice((KINDS, ("stack",), ("abutment", "order"), ("stack", "order"))),
        rolls=tuple(Roll(width, length) for width in widths for length in lengths),
        pitches_deg=tuple(rng.sample((17.5, 22.5, 27.5, 30.0, 35.0, 40.0, 42.5, 45.0, 50.0), rng.randint(1, 5))),
        steepest_deg=rng.choice((30.0, 40.0, 50.0, 60.0)),
        courses_mm=(course, course),
        waters_mm=(rng.choice((65.0, 75.0, 90.0)),),
        turns_in_mm=(rng.choice((25.0, 30.0)),),
        risers_deg=rng.choice(((90.0,), (75.0,), (60.0, 90.0), (70.0, 80.0))),
        lengths_mm=rng.choice(((1500.0,), (1000.0,), (900.0, 1200.0))),
        sides_mm=rng.choice(((150.0,), (100.0, 200.0), (0.0, 150.0))),
        soakers=rng.random() < 1 / 3,
        measured=rng.choice((0.0, 1 / 3, 1.0)),
    )


@dataclass(frozen=True)
class Made:
    """A batch: its jobs, the pieces of the main code, and the soakers in their own."""

    jobs: tuple[Job, ...]
    pieces: tuple[Piece, ...]
    soakers: tuple[Piece, ...]


def blank_of(piece: Piece) -> Blank:
    pattern = piece.pattern
    return Blank(piece.id, piece.quantity, pattern.outline, pattern.holes, QUARTER_TURNS, piece.may_flip)


def problem_of(pieces: tuple[Piece, ...], rolls: tuple[Roll, ...] = ROLLS, gap_mm: float = 0.0) -> NestProblem:
    return NestProblem(tuple(blank_of(p) for p in pieces), rolls, gap_mm)


def undivided(made: Made) -> NestProblem:
    """The same pieces with their runs left whole, for the nest to divide; runs that were shortened stay as they are."""
    mine = {p.id for p in made.pieces}
    runs = []
    for lead, choice in run_choices(made.jobs):
        if lead == CODE_4 and any(name.startswith(choice.id) for name in mine):
            names = length_ids(choice, made.pieces)
            if len(names) == len(choice.even) - 1:
                runs.append(choice)
                mine -= set(names)
    return replace(problem_of(tuple(p for p in made.pieces if p.id in mine)), runs=tuple(runs))


def either_face(problem: NestProblem) -> NestProblem:
    """The same pieces, which may lie face down as well."""
    return replace(
        problem,
        blanks=tuple(replace(blank, may_flip=True) for blank in problem.blanks),
        runs=tuple(
            replace(run, lengths=tuple(replace(s, blank=replace(s.blank, may_flip=True)) for s in run.lengths))
            for run in problem.runs
        ),
    )


def raked(size: int, seed: int) -> NestProblem:
    """Another shop's pieces, none of them made here: step flashings with raked and plumb risers, aprons, back gutters.

    Lists of 68, 193 and 646 stand in files; any other size is a stretch of the 646, which begins where the seed says.
    """
    file = RAKED / f"pieces-{size if size in RAKED_SIZES else max(RAKED_SIZES)}.json"
    asked = parse_blanks(file.read_text(encoding="utf-8"), file.name)
    first = random.Random(f"stretch {size}/{seed}").randrange(max(1, len(asked.blanks) - size + 1))
    return Settings().asking(asked.blanks[first : first + size], rolls_list(RAKED / "rolls.json"), asked.gap_mm)


def batch(size: int, seed: int, shop: Shop = OWN, *, whole: bool = False) -> Made:
    """Jobs until at least ``size`` pieces of the main code are reached.

    The last job is shortened to meet the size, or kept ``whole``, so that each of its runs can be divided anew.
    """
    rng = random.Random(f"{size}/{seed}")
    jobs: list[Job] = []
    pieces: list[Piece] = []
    soakers: list[Piece] = []
    while sum(p.quantity for p in pieces) < size:
        job = _job(rng, len(jobs) + 1, shop)
        made, _ = pieces_of([job])
        jobs.append(job)
        pieces += [p for p in made if p.lead == CODE_4]
        soakers += [p for p in made if p.lead == CODE_3]
    while not whole and sum(p.quantity for p in pieces) > size and sum(p.quantity for p in pieces[:-1]) >= size:
        pieces.pop()
    return Made(tuple(jobs), tuple(pieces), tuple(soakers))


def _job(rng: random.Random, number: int, shop: Shop) -> Job:
    pitch = rng.choice((rng.uniform(20.0, shop.steepest_deg), rng.choice(shop.pitches_deg)))
    course = rng.choice((*shop.courses_mm, rng.uniform(75.0, 86.0)))
    water = rng.choice((*shop.waters_mm, rng.uniform(60.0, 80.0)))
    turn_in = rng.choice(shop.turns_in_mm)
    kind = rng.choice(shop.kinds)
    details: list[Detail] = []

    def head(label: str, lead: Lead = CODE_4, hands: tuple[Hand, ...] = (), quantity: int = 1) -> DetailHead:
        limit = rng.choice(shop.lengths_mm) if lead is CODE_4 else 1000.0
        return DetailHead(label, Origin("made.toml", label), lead, quantity, hands, limit, rng.choice((100.0, 150.0)))

    def steps(label: str, slope: float, hands: tuple[Hand, ...], corner: CornerReturn) -> StepFlashing:
        return StepFlashing(
            head(label, hands=hands),
            pitch,
            slope,
            _joints(rng, course, slope * math.sin(math.radians(pitch)) + 2 * water + 200.0, shop.measured),
            water,
            turn_in,
            shop.risers_deg[0] if len(shop.risers_deg) == 1 else rng.choice(shop.risers_deg),
            None,
            (150.0, 180.0, 210.0, 240.0),
            0.0,
            EndCut.PLUMB,
            corner,
            30.0,
        )

    plain = CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    both = (Hand.RIGHT, Hand.LEFT)
    if kind == "stack":
        width, depth = rng.uniform(450.0, 1100.0), rng.uniform(500.0, 1300.0)
        corner = rng.choice((plain, CornerReturn(rng.choice((CornerKind.INTEGRAL, CornerKind.SEPARATE)),
                                                 rng.uniform(80.0, 200.0), None, 0.0)))  # fmt: skip
        details.append(steps("S", depth / math.cos(math.radians(pitch)), both, corner))
        details.append(
            Apron(head("A"), pitch, width, rng.choice(shop.sides_mm), rng.uniform(75.0, 120.0),
                  rng.choice((150.0, 200.0)), turn_in, CornerWork.BOSSED)
        )  # fmt: skip
        details.append(_gutter(head("G"), width, rng))
        details.append(CoverFlashing(head("C"), width + 2 * rng.choice((0.0, 75.0)), 0.0, 75.0, turn_in))
        soft = CODE_4 if shop.soakers else CODE_3
        details.append(Soakers(head("K", soft, both), math.ceil(depth / math.cos(math.radians(pitch)) / 200.0),
                               rng.choice((190.0, 315.0, 265.0)), 75.0, 100.0, 25.0))  # fmt: skip
    elif kind == "abutment":
        details.append(steps("S", rng.uniform(2000.0, 7000.0), (rng.choice(both),), plain))
        if rng.random() < 0.3:
            details.append(
                CoverFlashing(head("C"), rng.uniform(1000.0, 3000.0), 0.0, rng.choice((75.0, 125.0)), turn_in)
            )
    else:
        details.append(CoverFlashing(head("C", quantity=rng.randint(1, 2)), rng.uniform(600.0, 1500.0), 0.0,
                                     rng.choice((75.0, 100.0, 150.0)), turn_in))  # fmt: skip
        if rng.random() < 0.5:
            details.append(steps("S", rng.uniform(700.0, 2500.0), both, plain))
    return Job(f"Made {number}", f"J{number}", "made.toml", "", "normal", tuple(details))


def _joints(rng: random.Random, course: float, top: float, share: float) -> tuple[BedJoint, ...]:
    measured = rng.random() < share
    out: list[BedJoint] = []
    height = rng.uniform(60.0, 140.0)
    while not out or out[-1].y_mm < top:
        out.append(BedJoint(len(out) + 1, height))
        height += course + (rng.gauss(0.0, 2.5) if measured else 0.0)
    return tuple(out)


def _gutter(head: DetailHead, width: float, rng: random.Random) -> PlainOutline:
    """A back gutter with welded ends: sheet across the roof, upstand no wider than the stack."""
    up, side = rng.choice((100.0, 125.0)), 150.0
    deep = 150.0 + 225.0
    points = (
        (0.0, 0.0), (width + 2 * side, 0.0), (width + 2 * side, deep), (width + side, deep),
        (width + side, deep + up), (side, deep + up), (side, deep), (0.0, deep),
    )  # fmt: skip
    return PlainOutline(head, points, (), (), (), False)


def arbitrary(size: int, seed: int) -> tuple[Blank, ...]:
    """Plain shapes of every kind: plates, wedges, stars, rings, brackets; any quarter turn allowed."""
    rng = random.Random(f"shapes {size}/{seed}")
    blanks: list[Blank] = []
    count = 0
    while count < size:
        quantity = min(rng.choice((1, 1, 2, 3, 5)), size - count)
        kind = rng.choice(("convex", "wedge", "star", "ring", "bracket", "cross"))
        scale = rng.uniform(60.0, 260.0)
        holes: tuple[tuple[tuple[float, float], ...], ...] = ()
        if kind == "wedge":
            points = ((0.0, 0.0), (scale * rng.uniform(1.0, 2.5), 0.0), (scale * rng.uniform(0.2, 0.8), scale))
        elif kind == "bracket":
            a, b = scale * 0.3, scale
            points = ((0.0, 0.0), (b, 0.0), (b, a), (a, a), (a, b), (0.0, b))
        elif kind == "cross":
            a, b = scale / 3, scale
            points = ((a, 0.0), (b - a, 0.0), (b - a, a), (b, a), (b, b - a), (b - a, b - a), (b - a, b), (a, b),
                      (a, b - a), (0.0, b - a), (0.0, a), (a, a))  # fmt: skip
        else:
            corners = rng.randint(5, 9)
            rough = 0.45 if kind == "star" else 0.0
            points = tuple(
                (scale * r * math.cos(2 * math.pi * i / corners), scale * r * math.sin(2 * math.pi * i / corners))
                for i in range(corners)
                for r in (0.5 * (1 - rng.uniform(0, 0.2) - (rough if i % 2 else 0.0)),)
            )
            if kind == "ring":
                holes = (tuple((0.5 * x, 0.5 * y) for x, y in reversed(points)),)
        x0, y0 = min(x for x, _ in points), min(y for _, y in points)
        points = tuple((x - x0, y - y0) for x, y in points)
        holes = tuple(tuple((x - x0, y - y0) for x, y in hole) for hole in holes)
        blanks.append(Blank(f"P{len(blanks) + 1}", quantity, points, holes, (0.0, 90.0, 180.0, 270.0), True))
        count += quantity
    return tuple(blanks)
