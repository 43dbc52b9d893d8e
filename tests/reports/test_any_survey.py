"""Pictures of random surveys: nothing that can be made may stop its picture, and what is drawn is what was measured."""

import math
import re
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from hypothesis import strategies as st

from cutpath.folding import prove
from cutpath.paper.wall_sheet import TALL, WIDEST
from cutpath.pieces import pieces_of as split
from cutpath.reports.pictures.isometric import folded_up
from cutpath.reports.pictures.pattern_picture import pattern_picture
from cutpath.reports.pictures.walls import elevations
from cutpath.values.leadwork import (
    Apron,
    BackGutter,
    CornerWork,
    PipeSlate,
    RidgeSaddle,
    StepFlashing,
    TiltingFillet,
    TopAbutment,
)
from tests.families.abutment_gutter import abutment_gutters
from tests.families.back_gutter import back_gutters
from tests.families.cover_flashing import returned_covers
from tests.families.pipe_slate import pipe_slates
from tests.families.ridge_saddle import saddles
from tests.families.specimens import head
from tests.families.step_flashing import step_and_covers
from tests.families.test_step_views import NEAR_MM, Sheet
from tests.families.test_uneven_walls import own_steps, upper_reaches
from tests.families.top_abutment import top_abutments
from tests.families.valley_gutter import valleys
from tests.properties.surveys import (
    aprons,
    cover_flashings,
    for_all,
    job_of,
    outlines,
    pieces_of,
    soakers,
    step_flashings,
)

WALLS = st.one_of(
    step_flashings(), step_and_covers(), upper_reaches(), own_steps(), cover_flashings(), returned_covers(), aprons(),
    top_abutments(),
)  # fmt: skip
OTHERS = st.one_of(soakers(), outlines(), back_gutters(), saddles(), valleys(), abutment_gutters(), pipe_slates())


def inside(svg):
    root = ET.fromstring(svg)  # noqa: S314 - our own text
    _, _, width, height = map(float, root.get("viewBox").split())
    pairs = [p for n in root.iter() if n.get("d") for p in re.findall(r"(-?[\d.]+) (-?[\d.]+)", n.get("d"))]
    assert pairs
    assert all(0 <= float(x) <= width and 0 <= float(y) <= height for x, y in pairs)
    return root


@for_all(WALLS)
def test_every_wall_is_drawn_with_all_its_lengths(detail):
    pieces, job = pieces_of(detail), job_of(detail)
    found = elevations(job, pieces)
    sections = [elevation for elevation in found if "section" in elevation.title]
    assert len(sections) == isinstance(detail, Apron | TopAbutment)
    assert len(found) - len(sections) == len({piece.hand for piece in pieces})
    drawn = "".join(elevation.picture for elevation in found)
    for piece in pieces:
        if piece.pattern.family != "gusset":
            assert drawn.count(f'data-piece="{piece.id}"') == 1
    for elevation in found:
        inside(elevation.picture)
        page = Sheet(elevation.picture)
        _, _, width, height = map(float, page.root.get("viewBox").split())
        assert page.scale == 100.0 or (width <= WIDEST + 4 and height <= TALL + 4)
        if isinstance(detail, StepFlashing):
            p = math.radians(detail.pitch_deg)
            ((_, (ends,)),) = page.lines("mark water-line")
            for x, y in ends:
                assert y * math.cos(p) - x * math.sin(p) == pytest.approx(
                    detail.water_line_mm, abs=max(NEAR_MM, 0.002 * page.scale)
                )


@for_all(st.one_of(back_gutters(), saddles(), valleys(), abutment_gutters(), pipe_slates()))
def test_every_gutter_and_saddle_is_drawn_in_its_place(detail):
    pieces, job = pieces_of(detail), job_of(detail)
    found = elevations(job, pieces)
    drawn = [Sheet(elevation.picture) for elevation in found]
    words = [word for page in drawn for word in page.words]
    for piece in pieces:
        if piece.pattern.family != "gusset":
            assert piece.id in words
    for elevation in found:
        inside(elevation.picture)
    if not isinstance(detail, RidgeSaddle | PipeSlate):
        (section,) = [e for e in found if "section" in e.title]
        ((_, (lead,)),) = Sheet(section.picture).lines("section-lead")
        girth = sum(math.dist(a, b) for a, b in pairwise(lead))
        pattern = next(p.pattern for p in pieces if p.pattern.family != "gusset")
        width = max(y for _, y in pattern.outline)
        assert girth == pytest.approx(width, rel=1e-3, abs=2.0)


@for_all(st.one_of(WALLS, OTHERS))
def test_every_piece_has_its_flat_and_its_folded_picture(detail):
    pieces, job = pieces_of(detail), job_of(detail)
    proofs, _ = prove(job, pieces)
    by_piece = {proof.piece: proof for proof in proofs}
    for piece in pieces[:3]:
        proof = by_piece[piece.id]
        inside(pattern_picture(piece.pattern, piece.id)[0])
        folded = folded_up(piece, proof)
        assert (folded is None) == (len(proof.faces) < 2)
        if folded is not None:
            assert f"{piece.id}, folded" in inside(folded.picture(piece.id)).itertext()


def test_worked_lead_seen_all_but_edge_on_is_drawn():
    """Found by chance: its faces share edges in space, and the overlay of their pictures broke down."""
    own = head(label="D1", longest_mm=900.0, lap_mm=100.0)
    fillet = TiltingFillet(50.0, 60.0, 15.0, 40.0)
    gutter = BackGutter(
        own, 17.5, 578.0, 163.5, 77.5, 176.0, 209.0, fillet, 25.0, CornerWork.BOSSED, 43.0, 120.0, 184.5
    )
    job = job_of(gutter)
    pieces, _ = split([job])
    proofs = {proof.piece: proof for proof in prove(job, pieces)[0]}
    assert len(pieces) == 2
    for piece in pieces:
        inside(folded_up(piece, proofs[piece.id]).picture(piece.id))
