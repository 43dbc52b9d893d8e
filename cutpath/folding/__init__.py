"""The proof that flat patterns fit: each is folded up in space and compared with what was surveyed.

A flat pattern is taken apart into faces along its cuts and folds (`sheet`), the faces are turned about their folds
to the stated angle and way as rigid parts (`space`), and every corner is held to the wall, the joints and the roof
as they were measured (`fit`); consecutive lengths are held to their lap (`laps`). Nothing of the code that made the
pattern is used. Thickness is neglected, as in the development.

What is not proved: lead that is worked. Where folds end inside the sheet, as at bossed corners, no flat part can
follow; the parts beyond are named in `Proof.unproved`, and all others are proved. Weld laps, sealant and the dressing
of lead over a wood-cored roll or round a pipe's bead are beyond it too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby, pairwise

import numpy as np
from shapely import Polygon

from cutpath.errors import Finding, Severity
from cutpath.folding.fit import gaps, run_to_space, still_window
from cutpath.folding.gap import AT_FAULT, Ends, Gap, misses
from cutpath.folding.laps import Lap, Length, lap
from cutpath.folding.sheet import Sheet, open_sheet
from cutpath.folding.space import STILL, Array, Folded, clashes, fold_up, still_face
from cutpath.folding.stack import Part, prove_together
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import FlatPattern
from cutpath.values.piece import Piece
from cutpath.values.proof import FoldedFace, Proof
from cutpath.values.survey import BackGutter, CornerWork, Detail, Hand, Job, PlainOutline

__all__ = ["prove"]

LENGTHS = frozenset(
    {
        "step flashing",
        "step and cover flashing",
        "corner piece",
        "apron",
        "cover flashing",
        "abutment flashing",
        "valley gutter",
        "abutment gutter",
        "back gutter",
    }
)
"""Families that are lengths of a run, in fitting order."""


def prove(job: Job, pieces: Iterable[Piece]) -> tuple[tuple[Proof, ...], tuple[Finding, ...]]:
    """Fold up every piece of a job and compare it with the survey.

    Parameters
    ----------
    pieces : iterable of Piece
        Those of other jobs are passed over; the lengths of a run are expected together, in fitting order.

    Returns
    -------
    proofs, findings
        One proof for each piece, and after them one for each chimney. A deviation over `FOLD_DEVIATION_MM`, a bare cut
        edge or parts that collide are faults.
    """
    details = {(detail.head.label, detail.head.origin.key("")): detail for detail in job.details}
    mine = [piece for piece in pieces if piece.job == job.name and (piece.detail, piece.where) in details]
    proofs: list[Proof] = []
    findings: list[Finding] = []
    parts: list[Part] = []
    for (label, where, _), group in groupby(mine, key=lambda piece: (piece.detail, piece.where, piece.hand)):
        detail, whole = details[label, where], list(group)
        run = [piece for piece in whole if Polygon(piece.pattern.outline, piece.pattern.holes).is_valid]
        for piece in whole:
            if piece not in run:
                proofs.append(Proof(piece.id, piece.pattern.length_mm, "the outline crosses itself", (), ()))
                findings.append(_finding(piece, "CP409", "the outline crosses itself", "a simple outline"))
        lengths = [piece for piece in run if piece.pattern.family in LENGTHS]
        sheets = {piece.id: open_sheet(piece.pattern) for piece in run}
        for piece in run:
            ends = (piece is lengths[0], piece is lengths[-1]) if piece in lengths else (True, True)
            proof, faces, found = _proved(detail, piece, sheets[piece.id], ends)
            proofs.append(proof)
            parts.append(Part(detail, piece, faces))
            findings += found
        for low, high in pairwise(lengths):
            if isinstance(detail, BackGutter):
                break  # a level sole is never lapped; its halves meet over a wood-cored roll
            measured = lap(detail, *(_length(detail, piece, sheets[piece.id]) for piece in (low, high)))
            findings += _lap_findings(detail, low, high, measured)
    for number, chimney in enumerate(job.chimneys, 1):
        round_it = [part for part in parts if part.detail.head.label in chimney.parts]
        proof, found = prove_together(f"{job.name}, chimney {number}", chimney, round_it)
        proofs.append(proof)
        findings += found
    return tuple(proofs), tuple(findings)


def _proved(detail: Detail, piece: Piece, sheet: Sheet, ends: Ends) -> tuple[Proof, Sequence[Folded], list[Finding]]:
    pattern = piece.pattern
    to_run = _to_run(piece)
    at = run_to_space(detail, pattern.family) @ to_run
    faces, rings = fold_up(sheet, still_face(sheet, to_run, still_window(detail)), at)
    compared = [*gaps(detail, pattern.family, faces, _inner(pattern, at), ends=ends)]
    compared += [Gap(mm, f"the folds round '{name}' do not close") for name, mm in rings]
    worst = max(compared, key=lambda gap: gap.mm, default=Gap(0.0, ""))
    bossed = getattr(detail, "corners", None) is CornerWork.BOSSED
    proof = Proof(
        piece=piece.id,
        deviation_mm=worst.mm,
        worst=worst.what,
        faces=tuple(_flat_part(face, sheet) for face in faces),
        unproved=tuple(f"worked lead beyond the end of '{name}'" for name in sheet.loose),
    )
    findings = misses(_at(piece), "folded up", compared)
    findings += [_collides(piece, a, b) for a, b in clashes(faces, sheet)]
    if not bossed:
        findings += _cannot_fold(piece, sheet, faces)
    if isinstance(detail, PlainOutline):
        findings = [_own_shape(finding) for finding in findings]
    return proof, faces, findings


def _flat_part(face: Folded, sheet: Sheet) -> FoldedFace:
    holes = [np.array(ring.coords)[:-1] for ring in sheet.faces[face.index].interiors]
    carried = [hole @ face.place[:3, :2].T + face.place[:3, 3] for hole in holes]
    return FoldedFace(
        face.name,
        tuple(map(tuple, face.corners.tolist())),
        tuple(tuple(map(tuple, hole.tolist())) for hole in carried),
    )


def _to_run(piece: Piece) -> Array:
    """Carry the pattern frame into the right-handed run frame; a left-hand piece is seen in a mirror.

    Which hand it is, is what the piece was ordered as, not what the pattern says of itself; only the two gussets of
    a piece without a hand are told apart by their patterns.
    """
    pattern = piece.pattern
    move = np.eye(4)
    move[:2, 3] = pattern.run_offset
    if _left(piece):
        move[0, 0] = -1.0
        move[0, 3] += max(x for x, _ in pattern.outline)
    return move


def _left(piece: Piece) -> bool:
    return piece.pattern.mirrored if piece.hand is None else piece.hand is Hand.LEFT


def _inner(pattern: FlatPattern, at: Array) -> Array:
    """Corners of snips and holes in the space of the still face."""
    cuts = (*(snip.points for snip in pattern.snips), *pattern.holes)
    flat = np.array([point for cut in cuts for point in cut]).reshape(-1, 2)
    placed: Array = flat @ at[:3, :2].T + at[:3, 3]
    return placed


def _length(detail: Detail, piece: Piece, sheet: Sheet) -> Length:
    move = _to_run(piece)

    def carried(ring: Sequence[tuple[float, ...]]) -> Array:
        placed: Array = np.array(ring) @ move[:2, :2].T + move[:2, 3]
        return placed[::-1] if _left(piece) else placed

    shown = sheet.faces[still_face(sheet, move, still_window(detail))].exterior.coords[:-1]
    return Length(carried(piece.pattern.outline), carried(shown))


def _finding(piece: Piece, code: str, found: str, accepted: str) -> Finding:
    return Finding(code, _at(piece), found, accepted, AT_FAULT)


def _at(piece: Piece) -> str:
    return f"{piece.where} (piece {piece.id})"


def _collides(piece: Piece, a: Folded, b: Folded) -> Finding:
    names = [f"the part beyond '{face.name}'" if face.name != STILL else "the main face" for face in (a, b)]
    return _finding(
        piece, "CP414", f"folded up, {names[0]} runs into {names[1]}", "parts that keep clear of each other"
    )


def _cannot_fold(piece: Piece, sheet: Sheet, faces: Sequence[Folded]) -> list[Finding]:
    """Find folds that end inside the sheet, and parts that hang on nothing."""
    found = [f"the fold '{name}' ends inside the sheet" for name in sheet.loose]
    if not found and len(faces) < len(sheet.faces):
        found = [f"{len(sheet.faces) - len(faces)} part(s) of the sheet hang on no fold"]
    return [_finding(piece, "CP416", words, "folds that run from cut to cut") for words in found]


def _own_shape(finding: Finding) -> Finding:
    """Soften a finding about a shape of the user's own: what is folded there, and when, is for the user to know."""
    return replace(
        finding, severity=Severity.WARNING, remedy="look at the folds again, cut the sheet there, or boss the lead"
    )


def _lap_findings(detail: Detail, low: Piece, high: Piece, measured: Lap) -> Iterator[Finding]:
    wanted = detail.head.lap_mm
    if measured.least_mm < wanted - FOLD_DEVIATION_MM:
        found = f"it laps over piece {low.id} by {measured.least_mm:.1f} mm"
        yield _finding(high, "CP415", found, f"at least {wanted:g} mm")
    if measured.bare_mm > FOLD_DEVIATION_MM:
        found = f"{measured.bare_mm:.1f} mm of a cut edge at its lap with piece {low.id} lie bare"
        yield _finding(high, "CP415", found, "every cut edge covered by its neighbour")
