"""Letters on the side that is hidden once a piece is fitted: everything lies face down, and says so."""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import pairwise

import pytest
import shapely
from click.testing import CliRunner

from cutpath import pipeline
from cutpath.cli import cutpath
from cutpath.cli.make import _how_pieces_lie
from cutpath.drawing.label import label_place, label_strokes
from cutpath.drawing.sheet import draw, placer
from cutpath.errors import Refused
from cutpath.nesting import judge
from cutpath.reports.account.shape import alike
from cutpath.reports.account.yields import account
from cutpath.reports.words.page.rolls import rolls_html
from cutpath.values.drawing import Role
from cutpath.values.nest import Budget
from cutpath.values.pattern import FoldWay
from cutpath.values.piece import has_face
from tests.reports.pages import tickets_html

pytestmark = pytest.mark.nests

JOB = {
    "name": "Ridge end",
    "pitch": 35,
    "covering": "plain tile 265",
    "detail": [
        {"kind": "step flashing", "length": 2400, "hands": "pair", "coursing": {"gauge": 75, "first_joint": 120}},
        {"kind": "apron", "width": 600, "upstand": 100},
        {"kind": "outline", "size": "300 x 120", "quantity": 3},
    ],
}


def nested(**settings):
    return pipeline.nest_batch(pipeline.plan([JOB], None, pipeline.Settings(budget=Budget(work=20_000), **settings)))


@pytest.fixture(scope="module")
def batches():
    return nested(), nested(hidden_side=True)


def test_the_same_lead_is_drawn_and_every_piece_lies_face_down(batches):
    plain, hidden = batches
    assert [s.nested.drawn_mm for s in plain.sheets] == [s.nested.drawn_mm for s in hidden.sheets]
    assert all(p.flipped for s in hidden.sheets for p in s.nested.placements)
    assert not any(p.flipped for s in plain.sheets for p in s.nested.placements)
    for material in hidden.materials:
        assert judge(material.problem, material.nest) == ()


def test_each_roll_is_the_mirror_image_across_its_width(batches):
    plain, hidden = batches
    pieces = {p.id: p for p in hidden.pieces}
    for one, other in zip(plain.sheets, hidden.sheets, strict=True):
        for p, q in zip(one.nested.placements, other.nested.placements, strict=True):
            a, b = (shapely.Polygon(list(map(placer(x), pieces[x.id].pattern.outline))) for x in (p, q))
            mirrored = shapely.affinity.affine_transform(a, [1, 0, 0, -1, 0, one.nested.roll.width_mm])
            assert mirrored.symmetric_difference(b).area < 1e-3
        for a, b in zip(one.nested.offcuts, other.nested.offcuts, strict=True):
            assert b.y_mm == pytest.approx(one.nested.roll.width_mm - a.y_mm - a.width_mm)


def test_letters_read_right_on_the_side_that_lies_up(batches):
    """A stroke of lettering keeps its hand: it is turned and moved, never mirrored, from how it is written."""
    _, hidden = batches
    sheet = hidden.sheets[0]
    pieces = {p.id: p for p in hidden.pieces}
    drawing = draw(sheet, pieces)
    for placement in sheet.nested.placements:
        piece = pieces[placement.id]
        place = label_place(piece)
        written = [s for s in label_strokes(piece, placement.copy, place, flipped=False) if len(s) > 2]
        name = f"{piece.id}/{placement.copy}" if piece.quantity > 1 else piece.id
        drawn = [s.points for s in drawing.strokes if s.piece == name and s.name == "lettering" and s.tells is None]
        assert {round(_area(s), 1) for s in written} <= {round(_area(s), 1) for s in drawn if len(s) > 2}


def _area(points):
    ring = [*points, points[0]]
    return math.fsum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(ring)) / 2


def test_folds_are_told_as_the_sheet_lies(batches):
    ways = [
        [s.tells for sheet in batch.sheets for s in draw(sheet, {p.id: p for p in batch.pieces}).strokes
         if s.role is Role.FOLD]
        for batch in batches
    ]  # fmt: skip
    turned = {FoldWay.BACK: FoldWay.FORWARD, FoldWay.FORWARD: FoldWay.BACK}
    assert sorted(turned[way] for way in ways[0]) == sorted(ways[1])


def test_tickets_say_on_which_side_letters_and_lines_are(batches):
    plain, hidden = (tickets_html(batch) for batch in batches)
    assert "hidden once it is fitted" not in plain
    assert list(_how_pieces_lie(batches[0])) == []
    (said,) = _how_pieces_lie(batches[1])
    assert said.startswith("Every piece lies face down")
    assert hidden.count("hidden once it is fitted") == sum(has_face(g[0]) for g in alike(batches[1].pieces))
    assert "turn it over, then mark" not in hidden, "it is marked already, as it lies"
    assert "turn the piece over" in hidden, "who marks out by hand does so from the weather side"


def test_the_report_shows_pieces_and_folds_as_they_lie(batches):
    plain, hidden = (rolls_html(batch, account(batch), cautioned=False) for batch in batches)
    assert ("weather face up." in plain, "weather face down." in hidden) == (True, True)
    assert "face down<" not in hidden
    turned = {"fold forward": "fold back", "fold back": "fold forward"}
    way = re.compile('class="(fold [a-z]+)"')
    assert Counter(way.findall(hidden)) == Counter(turned[way_] for way_ in way.findall(plain))


def test_both_ways_at_once_are_refused():
    with pytest.raises(Refused):
        pipeline.Settings(either_face=True, hidden_side=True)
    done = CliRunner().invoke(cutpath, ["make", "any.toml", "--either-face", "--hidden-side"])
    assert done.exit_code == 2
