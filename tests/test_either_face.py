"""Pieces that may lie face down: what the nest may do with them, and what paper and lead then say."""

import csv
import io
from dataclasses import replace
from functools import cache

import ezdxf
import pytest
import shapely
from click.testing import CliRunner

from cutpath import pipeline
from cutpath.cli import cutpath
from cutpath.drawing.fold_notes import fold_notes
from cutpath.reports.account.cutting_list import cutting_list, face_down
from cutpath.values.nest import Budget
from cutpath.values.piece import has_face
from tests.reports.pages import tickets_html

pytestmark = pytest.mark.nests

PAIR = """
name = "Ridge end"
pitch = "35 deg"
covering = "plain tile 265"

[[detail]]
kind = "step flashing"
length = "5.1 m"
hands = "pair"
coursing = { gauge = 75, first_joint = 120 }
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    path = tmp_path_factory.mktemp("either") / "pair.toml"
    path.write_text(PAIR, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def batches(job):
    out = {}
    for either in (False, True):
        settings = pipeline.Settings(budget=Budget(work=10_000), either_face=either)
        out[either] = pipeline.nest_batch(pipeline.plan([job], None, settings))
    return out


@pytest.fixture(scope="module")
def files(batches):
    return pipeline.files_of(batches[True]).files


def flipped(batch):
    return [(sheet, p) for sheet in batch.sheets for p in sheet.nested.placements if p.flipped]


def test_only_what_was_asked_for_lies_face_down(batches):
    assert not flipped(batches[False])
    assert flipped(batches[True])


def test_hands_of_a_pair_turned_over_face_each_other_with_less_lead(batches):
    drawn = {either: sum(m.nest.drawn_mm2 for m in batch.materials) for either, batch in batches.items()}
    assert drawn[True] < drawn[False]


def test_a_run_that_was_divided_for_the_rolls_may_lie_face_down_too(batches):
    lengths = {p.id for p in batches[True].pieces if p.pattern.family == "step flashing"}
    assert lengths & {p.id for _, p in flipped(batches[True])}
    assert all(p.may_flip for p in batches[True].pieces)
    assert not any(p.may_flip for p in batches[False].pieces)


def test_cut_out_and_turned_over_it_is_the_pattern(batches, files, tmp_path):
    """The drawing of a roll read back: the mirror image of each piece that lies face down is its own pattern."""
    batch = batches[True]
    patterns = {p.id: shapely.Polygon(p.pattern.outline) for p in batch.pieces}
    looked_at = 0

    @cache
    def cuts_of(roll: str) -> list[shapely.Polygon]:
        name = next(n for n in files if n.startswith(f"rolls/{roll}_") and n.endswith("_mm.dxf"))
        (tmp_path / "roll.dxf").write_bytes(files[name])
        model = ezdxf.readfile(tmp_path / "roll.dxf").modelspace()
        return [shapely.Polygon(e.vertices()) for e in model.query('LWPOLYLINE[layer=="OUTER"]')]

    for sheet, placement in flipped(batch):
        want = shapely.affinity.translate(
            shapely.affinity.rotate(
                shapely.affinity.scale(patterns[placement.id], -1, 1, origin=(0, 0)), placement.turn_deg, origin=(0, 0)
            ),
            placement.x_mm,
            placement.y_mm,
        )
        assert min(want.symmetric_difference(cut).area for cut in cuts_of(sheet.id)) < 0.5  # decimals along the outline
        looked_at += 1
    assert looked_at


def test_folds_of_a_piece_face_down_go_the_other_way(batches):
    batch = batches[True]
    pieces = {p.id: p for p in batch.pieces}
    sheet, placement = next((s, p) for s, p in flipped(batch) if pieces[p.id].pattern.folds)
    alone = replace(sheet, nested=replace(sheet.nested, placements=(placement,)))
    upright = replace(alone, nested=replace(sheet.nested, placements=(replace(placement, flipped=False),)))
    turned = {"back": "forward", "forward": "back"}

    def words(sheet):
        return [note.text.split() for note in fold_notes(sheet, pieces)]

    assert [[turned[way], angle] for way, angle in words(upright)] == words(alone)


def test_paper_says_which_lie_face_down(batches, files):
    batch = batches[True]
    faced = {p.id for p in batch.pieces if has_face(p)}
    down = face_down(batch)
    assert {p.id for _, p in flipped(batch)} & faced == set(down)
    rows = {row["id"]: row["face_down"] for row in cutting_list(batch)}
    assert rows == {p.id: len(down.get(p.id, ())) for p in batch.pieces}
    tickets = tickets_html(batch)
    for name, rolls in down.items():
        assert f"{name} on {rolls[0]}" in tickets
    assert "Face down on the roll" not in tickets_html(batches[False])
    listed = csv.DictReader(io.StringIO(files["cutting-list.csv"].decode()))
    assert {row["id"]: int(row["face_down"]) for row in listed} == rows
    report = files["report.html"].decode()
    assert (f"{next(iter(down))} face down" in report, "up, where they are not called face down." in report) == (
        True,
        True,
    )


def test_the_command_names_them(job, tmp_path):
    out = tmp_path / "cut"
    done = CliRunner().invoke(
        cutpath, ["make", str(job), "--out", str(out), "--either-face", "--work", "10000", "--format", "csv"]
    )
    assert done.exit_code == 0
    with (out / "cutting-list.csv").open(encoding="utf-8") as listed:
        down = [row["id"] for row in csv.DictReader(listed) if int(row["face_down"])]
    assert down
    assert f"Face down on the roll: {', '.join(down)}; " in done.stderr
