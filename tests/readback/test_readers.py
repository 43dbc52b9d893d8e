"""Strict readers: sound files read as they were drawn, and every file with one thing wrong is seen."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from cutpath import readback
from cutpath.nesting import one_after_another
from cutpath.pipeline import batch_of, plan
from cutpath.values.drawing import Role
from cutpath.values.made_from import Asked
from cutpath.values.pattern import FoldWay
from cutpath.values.settings import Settings
from cutpath.writers.bare_dxf import to_bare_dxf
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from cutpath.writers.svg import ROLE_GROUPS, to_svg
from tests.golden.corpus import ROOT

FORMS = {
    "dxf-r2000": (ROLE_LAYERS, lambda d: to_dxf(d).encode()),
    "dxf-r12": (ROLE_LAYERS, lambda d: to_dxf(d, release="R12").encode()),
    "dxf-r12-bare": (ROLE_LAYERS, lambda d: to_bare_dxf(d, ROLE_LAYERS)),
    "svg": (ROLE_GROUPS, lambda d: to_svg(d).encode()),
}


@pytest.fixture(scope="module")
def chimney():
    """A batch with folds, snips and several copies, a sheet with step flashings and that sheet's drawing."""
    from cutpath.drawing.sheet import draw

    planned = plan([ROOT / "fixtures/jobs/chimney.toml"], settings=Settings(choose_lengths=False))
    batch = batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    pieces = {piece.id: piece for piece in batch.pieces}
    sheet = next(s for s in batch.sheets if any(len(pieces[p.id].pattern.folds) > 4 for p in s.nested.placements))
    return batch, pieces, sheet, draw(sheet, pieces)


@pytest.mark.parametrize("form", FORMS)
def test_a_sound_file_reads_as_it_was_drawn(form, chimney):
    places, write = FORMS[form]
    assert readback.drawing_faults(form, write(chimney[3]), chimney[3], places) == ()


@pytest.mark.parametrize("form", FORMS)
def test_a_figure_a_line_or_a_byte_that_is_wrong_is_seen(form, chimney):
    """Any digit of any coordinate changed by one, any line of the file lost, or written twice; 30 of each."""
    places, write = FORMS[form]
    drawing = chimney[3]
    sound, chance = write(drawing), random.Random(form)  # noqa: S311
    begins = sound.index(b"ENTITIES") if form != "svg" else sound.index(b"<path")
    ends = sound.index(b"ENDSEC", begins) if form != "svg" else sound.rindex(b"<path")
    unseen = []
    digits = [k for k in range(begins, ends) if sound[k : k + 1].isdigit() and b"." in sound[k - 9 : k]]
    for at in chance.sample(digits, 30):
        changed = bytes([(sound[at] - 48 + 1) % 10 + 48])
        spoilt = sound[:at] + changed + sound[at + 1 :]
        if not readback.drawing_faults(form, spoilt, drawing, places) and not _too_small(form, sound, at):
            unseen.append(sound[at - 20 : at + 20])
    parts = sound.split(b"<path" if form == "svg" else b"\n")
    first = sound[:begins].count(b"\n") + 2 if form != "svg" else 1
    last = sound[:ends].count(b"\n") if form != "svg" else len(parts) - 1
    for at in chance.sample(range(first, last), 30):
        for own in ([], [parts[at], parts[at]]):
            spoilt = (b"<path" if form == "svg" else b"\n").join([*parts[:at], *own, *parts[at + 1 :]])
            if not readback.drawing_faults(form, spoilt, drawing, places):
                unseen.append(parts[at])
    assert unseen == []


def _too_small(form, sound, at):
    """Whether a digit is too small to count: under 6e-5 mm in DXF; in SVG the last decimal, dashes, titles."""
    if form == "svg":
        if not sound[at + 1 : at + 2].isdigit() and at - sound.rindex(b".", 0, at) >= 7:
            return True
        return b'"' in sound[at - 12 : at] or b"<title>" in sound[at - 30 : at]
    line = sound[sound.rindex(b"\n", 0, at) + 1 : sound.index(b"\n", at)].strip()
    return at - sound.rindex(b".", 0, at) >= 5 or b"." not in line


@pytest.mark.parametrize("spoil", ["moved", "lost", "turned", "another way", "mirrored", "hole", "strange"])
def test_strokes_that_are_not_the_pieces_are_seen(spoil, chimney):
    _, pieces, sheet, drawing = chimney
    assert readback.sheet_faults(drawing, sheet, pieces) == ()
    strokes = list(drawing.strokes)
    outline = max((k for k, s in enumerate(strokes) if s.role is Role.OUTER), key=lambda k: len(strokes[k].points))
    fold = next(k for k, s in enumerate(strokes) if s.role is Role.FOLD)
    old = strokes[outline]
    match spoil:
        case "moved":
            strokes[outline] = replace(old, points=((old.points[0][0] + 1e-3, old.points[0][1]), *old.points[1:]))
        case "lost":
            del strokes[fold]
        case "turned":
            strokes[fold] = replace(strokes[fold], points=tuple((y, x) for x, y in strokes[fold].points))
        case "another way":
            other = FoldWay.BACK if strokes[fold].tells is FoldWay.FORWARD else FoldWay.FORWARD
            strokes[fold] = replace(strokes[fold], tells=other)
        case "mirrored":
            middle = max(x for x, _ in old.points) + min(x for x, _ in old.points)
            strokes[outline] = replace(old, points=tuple((middle - x, y) for x, y in old.points))
        case "hole":
            strokes.append(replace(old, role=Role.INNER))
        case "strange":
            strokes.append(replace(old, piece="nobody's"))
    assert readback.sheet_faults(replace(drawing, strokes=tuple(strokes)), sheet, pieces)


def test_asked_has_nothing_that_a_report_would_give_away():
    """Whoever adds to `Asked` looks at what `again.report_to_send` tells of it."""
    known = {"jobs", "rolls", "practice", "machines", "settings", "formats", "templates", "labels", "settled"}
    assert set(Asked.__dataclass_fields__) == known
