"""What features are said to be, held against what they are called, over every sound job there is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

from cutpath.jobs import read_jobs
from cutpath.pieces import pieces_of
from cutpath.profiles import practice
from cutpath.profiles.rolls import rolls_list
from cutpath.values.pattern import EdgeUse, FlatPattern, PartKind, Side, SnipUse

JOBS = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"


@cache
def patterns() -> tuple[FlatPattern, ...]:
    jobs, _ = read_jobs(sorted(JOBS.glob("*.toml")), rolls_list(None), practice())
    return tuple(piece.pattern for piece in pieces_of(jobs)[0])


def one_to_one(pairs: Iterable[tuple[object, object]]) -> bool:
    known = set(pairs)
    return len({a for a, _ in known}) == len({b for _, b in known}) == len(known)


def features(pattern: FlatPattern) -> Iterator[tuple[str, list[tuple[str, object]]]]:
    yield "folds", [(f.name, (f.use, f.joint, f.side)) for f in pattern.folds]
    yield "points", [(s.name, s.what) for s in pattern.stations]
    yield "marks", [(m.name, (m.kind, m.use, m.side)) for m in pattern.marks if m.side or m.use]


def test_names_and_uses_go_with_each_other_within_every_pattern() -> None:
    """Two features are called alike if they are said to be the same, and only then."""
    for pattern in patterns():
        for what, pairs in features(pattern):
            if pattern.part is not PartKind.PLAIN:
                assert one_to_one(pairs), (pattern.family, what, pairs)


def test_an_edge_of_one_name_is_the_same_on_every_pattern_of_its_family() -> None:
    uses: dict[tuple[str, str], set[EdgeUse]] = {}
    for pattern in patterns():
        for edge in pattern.edges:
            uses.setdefault((pattern.family, edge.name), set()).add(edge.use)
    # The end of a back gutter lies open beside an arris, and is held where it meets its other length at a roll.
    either = {("back gutter", "left end"), ("back gutter", "right end")}
    assert {key for key, found in uses.items() if len(found) > 1} <= either


def test_what_a_name_tells_its_use_tells_too() -> None:
    """Numbers of joints, sides, welds and seams in names stand in the values."""
    for pattern in patterns():
        if pattern.part is PartKind.PLAIN:
            continue
        for feature in (*pattern.folds, *pattern.edges):
            digits = "".join(c for c in feature.name if c.isdigit())
            assert digits == ("" if feature.joint is None else str(feature.joint)), feature
        for fold in pattern.folds:
            sides = [side for side in Side if side.value in fold.name]
            assert sides == ([fold.side] if fold.side else []), fold
        for snip in pattern.snips:
            assert snip.name.startswith("snip") == (snip.use is SnipUse.FREES), snip
        for edge in pattern.edges:
            assert edge.name.startswith("weld") == (edge.use in {EdgeUse.WELD, EdgeUse.WELD_BESIDE}), edge
            assert ("seam" in edge.name) == (edge.use in {EdgeUse.SEAM_OVER, EdgeUse.SEAM_UNDER}), edge


def test_edges_come_with_their_ends() -> None:
    pattern = next(p for p in patterns() if p.part is PartKind.SOAKER)
    found = list(pattern.sides())
    assert [edge for edge, _, _ in found] == list(pattern.edges)
    assert [start for _, start, _ in found] == list(pattern.outline)
    assert [end for _, _, end in found] == [*pattern.outline[1:], pattern.outline[0]]


@pytest.mark.parametrize("part", list(PartKind))
def test_every_kind_of_part_is_made_by_some_job(part: PartKind) -> None:
    assert any(pattern.part is part for pattern in patterns())
