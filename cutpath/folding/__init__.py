"""The proof that flat patterns fit: each is folded up in space and compared with what was surveyed.

A flat pattern is taken apart into faces along its cuts and folds (`sheet`), the faces are turned about their folds
to the stated angle and way as rigid parts (`space`), and every corner is held to the wall, the joints and the roof
as they were measured, by what is asked of its family (`claims`); consecutive lengths are held to their lap (`laps`).
What is drawn besides is held to its place in the flat: marks (`marks`), setting-out points (`points`), lettering and
hands (`hands`). Nothing of the code that made the pattern is used. Thickness is neglected, as in the development.

What is not proved: the form of lead that is worked. Where folds end inside the sheet, as at bossed corners, no flat
part can follow; only the sizes of the uncut sheet there are held (`worked`). The parts beyond are named in
`Proof.unproved`, and all others are proved. Weld laps, sealant and the dressing of lead over a wood-cored roll or round
a pipe's bead are beyond it too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby, pairwise

import numpy as np
from shapely import Polygon

from cutpath.errors import Finding, Severity, faults
from cutpath.folding.claim import InSpace, claims_of, known
from cutpath.folding.flat import Flat, lay_flat, ring, to_run
from cutpath.folding.gap import AT_FAULT, Ends, Gap, cos_sin, misses
from cutpath.folding.hands import hand_gaps, mirror_gaps
from cutpath.folding.laps import Lap, Length, bare_at_change, lap
from cutpath.folding.marks import mark_gaps
from cutpath.folding.points import point_gaps
from cutpath.folding.sheet import HingedSheet, open_sheet
from cutpath.folding.space import Array, Folded, clashes, fold_up, still_face
from cutpath.folding.stack import Part, prove_together
from cutpath.folding.tongue import TongueEnd
from cutpath.folding.worked import worked_gaps
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import CornerWork
from cutpath.values.pattern import RUN_PARTS, FlatPattern, FoldUse, PartKind
from cutpath.values.piece import Piece
from cutpath.values.proof import FoldedFace, Proof
from cutpath.values.survey import Chimney, Detail, Hand, Job

__all__ = ["prove"]


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
    details = {(d.head.label, d.head.origin.key("")): d for d in job.details if d.folder in known()}
    mine = [piece for piece in pieces if piece.job == job.name and (piece.detail, piece.where) in details]
    proofs: list[Proof] = []
    findings = [_unknown(detail) for detail in job.details if detail.folder not in known()]
    parts: list[Part] = []
    runs: list[tuple[Detail, list[Flat]]] = []
    sound: list[tuple[Detail, list[Flat]]] = []
    for (label, where, _), group in groupby(mine, key=lambda piece: (piece.detail, piece.where, piece.hand)):
        detail, whole = details[label, where], list(group)
        run = [piece for piece in whole if Polygon(piece.pattern.outline, piece.pattern.holes).is_valid]
        for piece in whole:
            if piece not in run:
                proofs.append(Proof(piece.id, piece.pattern.length_mm, "the outline crosses itself", (), ()))
                findings.append(_finding(piece, "CP409", "the outline crosses itself", "a simple outline"))
        proved, flats, found = _run_proved(detail, run)
        proofs += proved
        parts += [Part(detail, flat.piece, flat.faces) for flat in flats]
        runs.append((detail, flats))
        if run == whole and not faults(found):
            sound.append((detail, flats))
        findings += found
    for detail, flats in sound:  # what is drawn is held to folds and edges, so these have to be right
        findings += _drawn(detail, flats, _over_a_change(detail, flats, runs))
    findings += _mirror_images([flat.piece for _, flats in sound for flat in flats])
    findings += _changes_of_pitch(parts)
    stacks, found = _brought_together(job, parts)
    return (*proofs, *stacks), (*findings, *found)


def _unknown(detail: Detail) -> Finding:
    """Refuse a detail of a family that has no claims."""
    found = f"a detail of the family '{detail.folder}', of which the proof knows nothing"
    accepted = f"a family that it knows: {', '.join(known())}"
    return Finding("CP418", detail.head.origin.key(""), found, accepted, AT_FAULT)


def _brought_together(job: Job, parts: Sequence[Part]) -> tuple[list[Proof], list[Finding]]:
    """Prove that the parts of each chimney meet; one of which a part is missing is refused without that."""
    proofs: list[Proof] = []
    findings: list[Finding] = []
    for number, chimney in enumerate(job.chimneys, 1):
        round_it = [part for part in parts if part.detail.head.label in chimney.parts]
        if missing := set(chimney.parts) - {part.detail.head.label for part in round_it}:
            findings.append(_incomplete(chimney, sorted(missing)))
            continue
        proof, found = prove_together(f"{job.name}, chimney {number}", chimney, round_it)
        proofs.append(proof)
        findings += found
    return proofs, findings


def _run_proved(detail: Detail, run: Sequence[Piece]) -> tuple[list[Proof], list[Flat], list[Finding]]:
    """Fold up the pieces of one hand, and hold consecutive lengths to their laps."""
    lengths = [piece for piece in run if piece.pattern.part in RUN_PARTS]
    sheets = {piece.id: open_sheet(piece.pattern) for piece in run}
    proofs: list[Proof] = []
    flats: list[Flat] = []
    findings: list[Finding] = []
    for piece in run:
        ends = (piece is lengths[0], piece is lengths[-1]) if piece in lengths else (True, True)
        proof, faces, found = _proved(detail, piece, sheets[piece.id], ends)
        proofs.append(proof)
        flats.append(lay_flat(piece, sheets[piece.id], faces, ends))
        findings += found
    for low, high in pairwise(lengths):
        if claims_of(detail).over_a_roll:
            break  # a level sole is never lapped
        measured = lap(detail, *(_length(detail, piece, sheets[piece.id]) for piece in (low, high)))
        findings += _lap_findings(detail, low, high, measured)
    return proofs, flats, findings


def _incomplete(chimney: Chimney, missing: Sequence[str]) -> Finding:
    """Refuse a chimney of which a part has no piece: the others would be blamed for what is not there."""
    return Finding(
        "CP412",
        chimney.origin.key(""),
        f"no piece of {', '.join(missing)} to bring together with the other parts",
        "a piece of every part",
        "Mend what was found wrong with these parts first.",
    )


def _run_to_space(detail: Detail, part: PartKind) -> Array:
    """Return the 4 x 4 matrix that lays the still face on the wall or the roof; see `cutpath.values.proof`.

    Gussets keep the frame of their pattern.
    """
    tilt = claims_of(detail).tilt_deg
    if part is PartKind.GUSSET or tilt is None:
        return np.eye(4)
    c, s = cos_sin(tilt(detail))
    return np.array([[c, -s, 0, 0], [s, c, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])


def _proved(
    detail: Detail, piece: Piece, sheet: HingedSheet, ends: Ends
) -> tuple[Proof, Sequence[Folded], list[Finding]]:
    pattern, claims = piece.pattern, claims_of(detail)
    move = to_run(piece)
    at = _run_to_space(detail, pattern.part) @ move
    faces, rings = fold_up(sheet, still_face(sheet, move, claims.window(detail)), at)
    compared = [*claims.gaps(detail, InSpace(pattern.part, faces, _inner(pattern, at), ends))]
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
    if claims.own_shape:
        findings = [_own_shape(finding) for finding in findings]
    return proof, faces, findings


def _changes_of_pitch(parts: Sequence[Part]) -> Iterator[Finding]:
    """Find where a run above a change of pitch leaves a tooth of the run below, or a part of its lap, open."""
    for hand, upper in {(p.piece.hand, p.detail.head.label): p for p in reversed(parts)}.items():
        tongue = claims_of(upper.detail).tongue(upper.detail)
        if tongue is None:
            continue
        below = tongue.below
        under = [p for p in parts if p.detail.head.label == below.head.label and p.piece.hand is hand[0]]
        walls = [face.corners[:, :2] for part in (*under, upper) for face in part.faces if face.is_still]
        teeth = [f.axis[:, :2] for part in under for f in part.faces if f.use is FoldUse.STEP_TURN_IN]
        if not teeth:
            continue  # refused already, or not among the pieces
        *low, high = walls
        change = below.slope_mm * np.array(cos_sin(below.pitch_deg))
        width, height = bare_at_change(below, low, teeth, high + change)
        if max(width, height) > FOLD_DEVIATION_MM:
            found = (
                f"at the change of pitch {width:.0f} x {height:.0f} mm of {below.head.label}'s tooth and lap lie bare"
            )
            yield _finding(upper.piece, "CP415", found, f"its last tooth covered, and a lap of {below.lapped_mm:g} mm")


def _flat_part(face: Folded, sheet: HingedSheet) -> FoldedFace:
    holes = [np.array(ring.coords)[:-1] for ring in sheet.faces[face.index].interiors]
    carried = [hole @ face.place[:3, :2].T + face.place[:3, 3] for hole in holes]
    return FoldedFace(
        face.name,
        tuple(map(tuple, face.corners.tolist())),
        tuple(tuple(map(tuple, hole.tolist())) for hole in carried),
        face.fold,
    )


def _inner(pattern: FlatPattern, at: Array) -> Array:
    """Return the corners of snips and holes in the space of the still face."""
    cuts = (*(snip.points for snip in pattern.snips), *pattern.holes)
    flat = np.array([point for cut in cuts for point in cut]).reshape(-1, 2)
    placed: Array = flat @ at[:3, :2].T + at[:3, 3]
    return placed


def _length(detail: Detail, piece: Piece, sheet: HingedSheet) -> Length:
    window = claims_of(detail).window(detail)
    shown = sheet.faces[still_face(sheet, to_run(piece), window)].exterior.coords[:-1]
    return Length(ring(piece.pattern.outline, piece), ring(shown, piece))


def _drawn(detail: Detail, flats: Sequence[Flat], over: TongueEnd | None) -> list[Finding]:
    """Hold what is drawn on the pieces of one hand, and what folding says nothing of, to their places."""
    claims = claims_of(detail)
    lengths = [flat for flat in flats if flat.part in RUN_PARTS and not claims.over_a_roll]
    folded = {number for flat in flats for number in flat.steps}
    used = [joint for joint in claims.joints(detail) if joint.number in folded]
    found: list[Finding] = []
    for flat in flats:
        low, high = _neighbours(flat, lengths)
        other = claims.gussets_in_pairs and flat.part is PartKind.GUSSET and flat is flats[-1]
        compared = [
            *(claims.passed_over(detail, used) if flat is flats[0] else ()),
            *(claims.spare_lap(detail, used, low, flat) if low is not None else ()),
            *mark_gaps(detail, flat, low, high, over),
            *point_gaps(detail, flat, used),
            *worked_gaps(detail, flat),
            *hand_gaps(flat.piece, second_gusset=other),
        ]
        found += misses(_at(flat.piece), "laid out flat", compared, "CP418")
    return found


def _neighbours(flat: Flat, lengths: Sequence[Flat]) -> tuple[Flat | None, Flat | None]:
    at = next((place for place, other in enumerate(lengths) if other is flat), None)
    if at is None:
        return None, None
    return lengths[at - 1] if at else None, lengths[at + 1] if at + 1 < len(lengths) else None


def _over_a_change(
    detail: Detail, flats: Sequence[Flat], runs: Sequence[tuple[Detail, Sequence[Flat]]]
) -> TongueEnd | None:
    """Find where the tongue of the run above a change of pitch ends on this one, for the same hand."""
    for above, pieces in runs if flats else ():
        claims = claims_of(above)
        tongue = claims.tongue(above)
        if tongue is not None and tongue.below == detail:
            for flat in pieces:
                if flat.ends[0] and flat.piece.hand is flats[0].piece.hand:
                    return claims.tongue_end(above, flat)
    return None


def _mirror_images(pieces: Sequence[Piece]) -> Iterator[Finding]:
    """Hold the two hands of a length to each other, where both runs are divided there alike."""
    rights = {(piece.detail, piece.number): piece for piece in pieces if piece.hand is Hand.RIGHT}
    for left in pieces:
        right = rights.get((left.detail, left.number)) if left.hand is Hand.LEFT else None
        if right is None:
            continue
        one, other = right.pattern, left.pattern
        apart = math.dist((*one.run_offset, one.length_mm), (*other.run_offset, other.length_mm))
        if one.part is other.part and apart <= FOLD_DEVIATION_MM:
            yield from misses(_at(left), "beside the right hand", mirror_gaps(one, other), "CP418")


def _finding(piece: Piece, code: str, found: str, accepted: str) -> Finding:
    return Finding(code, _at(piece), found, accepted, AT_FAULT)


def _at(piece: Piece) -> str:
    return f"{piece.where} (piece {piece.id})"


def _collides(piece: Piece, a: Folded, b: Folded) -> Finding:
    names = [f"the part beyond '{face.name}'" if not face.is_still else "the main face" for face in (a, b)]
    return _finding(
        piece, "CP414", f"folded up, {names[0]} runs into {names[1]}", "parts that keep clear of each other"
    )


def _cannot_fold(piece: Piece, sheet: HingedSheet, faces: Sequence[Folded]) -> list[Finding]:
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
