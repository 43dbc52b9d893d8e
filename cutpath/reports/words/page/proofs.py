"""What folding up the pieces of a job has shown, in a sentence or two for its page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.values.proof import Proof
from cutpath.values.survey import Job


def proof_words(job: Job, pieces: Sequence[Piece], proofs: Iterable[Proof]) -> str:
    """Say how many pieces were folded up, by how much the worst corner misses, and what could not be proved.

    Parameters
    ----------
    pieces : sequence of Piece
        Those of the job.
    proofs : iterable of Proof
        Of all jobs; empty words where none is of this one.
    """
    mine = {piece.id for piece in pieces}
    stacks = chimney_names(job)
    kept = list(proofs)
    folded = [proof for proof in kept if proof.piece in mine]
    together = [proof for proof in kept if proof.piece in stacks]
    if not folded:
        return ""
    plain = all(piece.pattern.part is PartKind.PLAIN for piece in pieces)
    with_what = "the shapes that were ordered" if plain else "wall, joints and roof"
    count = _count(len(folded), "pattern")
    words = [f"{count} folded by calculation and compared with {with_what}: worst error {_miss(folded)}."]
    if together:
        words.append(
            f"{_count(len(together), 'chimney')} put together from parts: worst error {_miss(together)}; every part "
            "laps its neighbour and none runs through another."
        )
    words.append("Marks, setting-out points and lettering are in their places.")
    if job.written:
        what = "Sizes" if plain else "Sizes, pitches, laps, joints"
        words.append(f"{what} and numbers of pieces, worked out a second time from the job file, come out the same.")
    worked = [proof.piece for proof in folded if proof.unproved]
    if worked:
        words.append(f"Bossed corners cannot be checked this way: those of {', '.join(worked)}.")
    return " ".join(words)


def chimney_names(job: Job) -> list[str]:
    """Return by which names the proofs of a job's chimneys go, put together from their parts."""
    return [f"{job.name}, chimney {number}" for number in range(1, len(job.chimneys) + 1)]


def _miss(proofs: Sequence[Proof]) -> str:
    worst = max(proof.deviation_mm for proof in proofs)
    return f"{worst:.3f} mm" if worst >= FOLD_DEVIATION_MM else f"under {FOLD_DEVIATION_MM:g} mm"


def _count(number: int, name: str) -> str:
    return f"1 {name} was" if number == 1 else f"{number} {name}s were"
