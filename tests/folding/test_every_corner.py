"""Every corner of every folded part is held: moved by a hundredth of a millimetre, it is out by about that."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath import folding
from cutpath.folding.claim import InSpace, claims_of
from cutpath.jobs import load_job
from cutpath.pieces import pieces_of
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import CornerWork
from cutpath.values.pattern import FoldUse
from tests.faulty.jobs import JOBS, job_text
from tests.gate import gate

BY_MM = 0.01
MOST = 40
"""Corners that are moved of one piece."""

SOUND = sorted(JOBS.keys() - {"outline"})  # of a shape of the user's own every corner is given
FREE = {
    "apron, welded": 1,
    "back gutter": 4,
    "back gutter, two": 3,
    "back gutter, welded": 3,
    "change of pitch": 5,
    "chimney": 11,
    "chimney, severe": 9,
    "cover flashing": 3,
    "cover flashing, returns": 2,
    "lead slate": 13,
    "ridge saddle": 7,
    "ridge saddle, welded": 8,
    "soakers": 1,
    "soakers, slates": 11,
    "step and cover": 9,
    "step and cover on tiles": 12,
    "steps": 8,
    "steps, along the water line": 7,
    "steps, along two lines": 7,
    "steps, heights": 7,
    "steps, own": 3,
    "steps, read twice": 7,
    "steps, separate corner": 9,
    "top-edge abutment": 8,
    "steps, set back": 5,
    "two changes of pitch": 12,
}
"""Corners that may go where they went: along an edge whose end is the run's, another part's or nobody's."""


def folded(job, monkeypatch):
    """Each piece of a job, folded up, and its survey; of pieces that hold the same of a run one."""
    found, details = {}, []

    def in_space(*given):
        piece = InSpace(*given)
        found.setdefault((details[-1].folder, piece.part, piece.ends, len(piece.faces)), (details[-1], piece))
        return piece

    monkeypatch.setattr(folding, "claims_of", lambda detail: (details.append(detail), claims_of(detail))[1])
    monkeypatch.setattr(folding, "InSpace", in_space)
    pieces, _ = pieces_of([job])
    folding.prove(job, pieces)
    return found.values()


def out_by_mm(detail, piece):
    return max((gap.mm for gap in claims_of(detail).gaps(detail, piece)), default=0.0)


def moved(piece):
    """The piece with one corner moved along an axis of space, each along another than the one before it."""
    corners = [(at, k) for at, face in enumerate(piece.faces) for k in range(len(face.corners))]
    for number, (at, k) in enumerate(corners[:: -(-len(corners) // MOST)]):
        place = piece.faces[at].corners.copy()
        place[k, number % 3] += BY_MM if number % 2 else -BY_MM
        faces = [*piece.faces]
        faces[at] = replace(faces[at], corners=place)
        yield replace(piece, faces=faces)


MORE = {
    "steps, set back": (
        'name = "J"\npitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 1500\nwater_line = 80\nset_back = 30\n'
        'coursing = { gauge = 75, first_joint = 90 }\nupper_end = "square"\n'
    ),
    "two changes of pitch": (
        'name = "J"\npitch = 30\n[[detail]]\nkind = "step and cover"\nlength = 900\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 40 }\n"
        "above = [{ length = 800, pitch = 40 }, { length = 700, pitch = 50 }]\n"
    ),
}


ALIKE = {"steps, along two lines", "steps, heights", "steps, read twice"}
"""Folded like "steps, along the water line": they differ in how joints were measured."""


@pytest.mark.parametrize("name", gate([*SOUND, *MORE], *({*SOUND, *MORE} - ALIKE)))
def test_a_corner_out_of_its_place_is_out_by_so_much(name, tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    path.write_text(MORE.get(name) or job_text(name), encoding="utf-8")
    free = 0
    for detail, piece in folded(load_job(path)[0], monkeypatch):
        assert out_by_mm(detail, piece) < 1e-6
        for gone in piece.faces:
            rest = [face for face in piece.faces if face is not gone]
            bossed = gone.use is FoldUse.STOP_END and detail.corners is CornerWork.BOSSED  # held as an uncut sheet
            assert bossed or gone.is_still or out_by_mm(detail, replace(piece, faces=rest)) > 1.0, gone.name
        for wrong in moved(piece):
            out = out_by_mm(detail, wrong)
            free += out <= FOLD_DEVIATION_MM
            assert out <= FOLD_DEVIATION_MM or 0.15 * BY_MM < out < 1.01 * BY_MM or out > 10.0, "or a part is no more"
    assert free == FREE.get(name, 0)
