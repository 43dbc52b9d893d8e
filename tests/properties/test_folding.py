"""Every pattern of every random survey folds up on the wall and the roof it was measured from."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from cutpath.errors import Severity
from cutpath.folding import prove
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import CornerWork, PlainOutline
from tests.families.abutment_gutter import abutment_gutters
from tests.families.back_gutter import back_gutters
from tests.families.cover_flashing import returned_covers
from tests.families.families import families
from tests.families.pipe_slate import pipe_slates
from tests.families.ridge_saddle import saddles
from tests.families.step_flashing import step_and_covers
from tests.families.top_abutment import top_abutments
from tests.families.valley_gutter import valleys
from tests.properties.surveys import aprons, details, for_all, job_of, pieces_of, step_flashings


def proven(detail):
    pieces = pieces_of(detail)
    proofs, findings = prove(job_of(detail), pieces)
    assert [p.piece for p in proofs] == [p.id for p in pieces]
    return pieces, proofs, findings


@for_all(details | families)
def test_every_piece_meets_brickwork_and_roof(detail):
    _, proofs, findings = proven(detail)
    assert [str(f) for f in findings if f.severity is Severity.FAULT] == []
    assert max(p.deviation_mm for p in proofs) <= FOLD_DEVIATION_MM
    assert all(p.worst for p in proofs) or isinstance(detail, PlainOutline)


@for_all(step_flashings())
def test_step_flashings_fold_up_whole(survey):
    pieces, proofs, findings = proven(survey)
    assert not findings
    for piece, proof in zip(pieces, proofs, strict=True):
        assert not proof.unproved
        assert sorted(f.name for f in proof.faces) == sorted(["sheet", *(f.name for f in piece.pattern.folds)])
        assert proof.deviation_mm <= 1e-6


@for_all(step_flashings())
def test_folding_stretches_nothing(survey):
    """The faces in space hold as much lead as the sheet: area by the shoelace in each face's own plane."""
    pieces, proofs, _ = proven(survey)
    for piece, proof in zip(pieces, proofs, strict=True):
        flat = ring_area([(x, y, 0.0) for x, y in piece.pattern.outline])
        assert sum(ring_area(f.corners) for f in proof.faces) == pytest.approx(flat, rel=1e-9)


def ring_area(corners):
    total = [0.0, 0.0, 0.0]
    for a, b in pairwise((*corners, corners[0])):
        total[0] += a[1] * b[2] - a[2] * b[1]
        total[1] += a[2] * b[0] - a[0] * b[2]
        total[2] += a[0] * b[1] - a[1] * b[0]
    return math.hypot(*total) / 2


@for_all(step_flashings() | step_and_covers() | valleys() | pipe_slates() | abutment_gutters() | returned_covers())
def test_where_no_lead_is_worked_everything_is_proved(detail):
    pieces, proofs, _ = proven(detail)
    for piece, proof in zip(pieces, proofs, strict=True):
        assert not proof.unproved
        flat = ring_area([(x, y, 0.0) for x, y in piece.pattern.outline])
        assert sum(ring_area(f.corners) for f in proof.faces) == pytest.approx(flat, rel=1e-9)


@for_all(aprons() | back_gutters() | saddles() | top_abutments())
def test_bossed_corners_are_named_as_not_proved(survey):
    pieces, proofs, findings = proven(survey)
    assert not findings
    for piece, proof in zip(pieces, proofs, strict=True):
        corner = any(f.name.endswith(("arris", "stop end", "ridge")) for f in piece.pattern.folds)
        assert bool(proof.unproved) == (survey.corners is CornerWork.BOSSED and corner)
        assert {f.name for f in proof.faces} >= {"sheet", *(f.name for f in piece.pattern.folds)} - {"wall, right"}
