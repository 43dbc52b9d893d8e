"""Which way a fold goes reaches the lead: a letter beside it, and strokes that one pen draws differently."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from cutpath.drawing.dashes import DASHES_MM, dashed
from cutpath.drawing.fold_letters import lettered_folds, way_letter
from cutpath.drawing.lettering import letter
from cutpath.drawing.preflight import preflight
from cutpath.drawing.sheet import draw
from cutpath.values.drawing import LETTERING, Role
from cutpath.values.pattern import FoldWay, MarkKind
from tests.drawing.machines import made, paths_of
from tests.drawing.specimens import full, piece, place, sheet, soaker, stepped

FULL = full()


def letters_of(drawing, name):
    return [s for s in drawing.strokes if s.piece == name and s.name == LETTERING]


def alike(strokes, text, height):
    """The strokes are those of ``text``, moved and turned, not mirrored."""
    wanted = letter(text, height)
    return len(strokes) == len(wanted) and all(
        math.dist(a, b) == pytest.approx(math.dist(c, d), abs=1e-4)
        for s, w in zip(strokes, wanted, strict=True)
        for (a, b), (c, d) in zip(pairwise(s), pairwise(w), strict=True)
    )


def test_every_fold_of_the_specimens_has_its_letter() -> None:
    for part in (piece(soaker()), piece(stepped())):
        found = lettered_folds(part.pattern, way_letter, [])
        assert found
        for fold, letters in found:
            text = "F" if fold.way is FoldWay.FORWARD else "B"
            assert any(alike(letters, text, h) for h in (5.0, 3.5)), fold.name
            line = shapely.LineString((fold.start, fold.end))
            far = shapely.MultiLineString(letters).distance(line)
            assert 1.5 < far < 4.0


def test_letters_keep_off_every_line_and_stay_on_the_piece() -> None:
    part = piece(stepped())
    pattern = part.pattern
    lines = [s.points for s in pattern.snips] + [m.points for m in pattern.marks] + [
        (f.start, f.end) for f in pattern.folds
    ]  # fmt: skip
    for _, letters in lettered_folds(pattern, way_letter, []):
        drawn = shapely.MultiLineString(letters)
        assert shapely.Polygon(pattern.outline).contains(drawn)
        assert all(shapely.LineString(line).distance(drawn) > 0.5 for line in lines)


def test_another_angle_than_a_right_one_is_said() -> None:
    fold = replace(soaker().folds[0], angle_deg=135.0)
    assert way_letter(fold) == "F 135"
    assert way_letter(fold, flipped=True) == "B 135"
    assert way_letter(replace(fold, angle_deg=90.0)) == "F"


@pytest.mark.parametrize("flipped", [False, True])
def test_on_a_piece_that_lies_face_down_folds_go_the_other_way_and_letters_read_right(flipped) -> None:
    pieces = {"K": piece(replace(soaker(), folds=soaker().folds[:1]), "K", may_flip=True)}
    drawing = draw(sheet([replace(place("A-K1-1", 1, flipped=flipped), id="K")]), pieces)
    (fold,) = [s for s in drawing.strokes if s.role is Role.FOLD]
    assert fold.tells is (FoldWay.BACK if flipped else FoldWay.FORWARD)
    text = "B" if flipped else "F"
    strokes = [s.points for s in letters_of(drawing, "K")]
    wanted = letter(text, 5.0)
    own = strokes[: len(wanted)]
    # The turn of the first corner has the sign that it has in the letter: a mirrored one would have the other.
    assert len(own) == len(wanted)
    assert turn(own) * turn(wanted) > 0


def turn(strokes):
    (a, b, c) = next(s[:3] for s in strokes if len(s) > 2)
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def test_drawings_with_letters_pass_their_preflight() -> None:
    assert preflight(FULL) == ()
    assert len([s for s in FULL.strokes if s.role is Role.FOLD and s.tells is None]) == 0
    assert {s.tells for s in FULL.strokes if s.role is Role.MARK and s.name != LETTERING} == {
        MarkKind.WATER_LINE, MarkKind.LAP, MarkKind.BOSSING,
    }  # fmt: skip


# Dashes


@pytest.mark.parametrize("tells", DASHES_MM)
@pytest.mark.parametrize("long", [3.0, 31.0, 100.0, 987.6])
def test_dashes_begin_and_end_at_the_ends_and_keep_their_pattern(tells, long) -> None:
    line = ((0.0, 0.0), (0.6 * long, 0.0), (long, 0.0))
    parts = dashed(line, tells)
    assert parts[0][0] == (0.0, 0.0)
    assert parts[-1][-1] == pytest.approx((long, 0.0))
    spans = [(p[0][0], p[-1][0]) for p in parts]
    assert all(b[0] > a[1] + 0.5 for a, b in pairwise(spans))
    if len(parts) > 1:
        pattern = DASHES_MM[tells]
        sizes = [b - a for a, b in spans]
        scale = sizes[0] / pattern[0]
        assert 0.5 < scale < 1.7
        drawn = pattern[::2]
        assert all(s == pytest.approx(drawn[k % len(drawn)] * scale) for k, s in enumerate(sizes))


def test_folds_and_marks_are_told_apart_in_one_pen() -> None:
    patterns = {tells: DASHES_MM[tells] for tells in (FoldWay.BACK, FoldWay.FORWARD, MarkKind.WATER_LINE, MarkKind.LAP)}
    assert len(set(patterns.values())) == 4


def test_a_pen_draws_dashes_where_the_profile_says_so_and_letters_stay_whole() -> None:
    plain = paths_of(FULL, made("pen-marker"))
    broken = paths_of(FULL, made("pen-marker", dashes=True))

    def lines(paths, role):
        return [p for f in paths.frames for p in f.passes if p.role is role and p.name != LETTERING and p.piece]

    for role in (Role.FOLD, Role.MARK):
        whole = shapely.union_all([shapely.LineString(p.line) for p in lines(plain, role)])
        parts = shapely.union_all([shapely.LineString(p.line) for p in lines(broken, role)])
        assert whole.buffer(0.01).covers(parts)
        assert 0.2 * whole.length < parts.length < 0.9 * whole.length
    for role in (Role.INNER, Role.OUTER):
        assert [p.line for p in lines(plain, role)] == [p.line for p in lines(broken, role)]


def test_a_knife_never_dashes() -> None:
    card = paths_of(FULL, made("roll-plotter", dashes=True, perforation=None))
    folds = [p for f in card.frames for p in f.passes if p.role is Role.FOLD]
    assert {p.head for p in folds} == {"knife"}
    assert max(math.dist(*p.line) for p in folds) > 100
