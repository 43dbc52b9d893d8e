"""A plain rectangle by its sides, as it is asked for over a counter."""

from __future__ import annotations

import pytest

from cutpath import pipeline
from cutpath.errors import Refused
from cutpath.families.registry import FAMILIES
from cutpath.jobs import read_jobs
from cutpath.plane import bounds_mm
from tests.cli.running import run


def job(tmp_path, detail: str):
    path = tmp_path / "counter.toml"
    path.write_text(f'name = "Counter"\n[[detail]]\nkind = "outline"\n{detail}\n')
    return path


@pytest.mark.parametrize(
    ("size", "sides"),
    [
        ('"325 x 175"', (325.0, 175.0)),
        ('"325x175"', (325.0, 175.0)),
        ('"325 x 175 mm"', (325.0, 175.0)),
        ('"325.5 mm × 17.5 cm"', (325.5, 175.0)),
        ('"23 5/8 in x 7 in"', (600.075, 177.8)),
        ("[325, 175]", (325.0, 175.0)),
    ],
)
def test_a_size_is_a_rectangle(size, sides, tmp_path):
    folds = "folds = [{ from = [0, 100], to = [300, 100] }]"
    planned = pipeline.plan([job(tmp_path, f"size = {size}\nquantity = 6\n{folds}")])
    (piece,) = planned.pieces
    xs, ys = zip(*piece.pattern.outline, strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx(sides)
    assert (piece.quantity, len(piece.pattern.outline), len(piece.pattern.folds)) == (6, 4, 1)


@pytest.mark.parametrize(
    ("detail", "code", "words"),
    [
        ('size = "325"', "CP107", 'two sides, such as "325 x 175"'),
        ('size = "325 x 175 x 3"', "CP107", "two sides"),
        ('size = "24 x 18 in"', "CP107", 'Write the unit of 24 too, such as "24 mm"'),
        ('size = "24 in x 18"', "CP107", "Write the unit of 18 too"),
        ('size = "30,5 x 20"', "CP105", "Write decimals with a point"),
        ('size = "325 x wide mm"', "CP105", "a length in mm"),
        ('size = "0 x 175"', "CP107", "more than 0 mm. ["),
        ("size = 325", "CP107", "two sides"),
        ('size = "325 x 175"\npoints = [[0, 0], [1, 0], [1, 1]]', "CP111", "points and size are both given"),
        ('size = "325 x 175"\nunit = "mm"', "CP111", "unit is given without dxf"),
        ("quantity = 2", "CP104", 'size = "325 x 175"'),
        ('size = "0.325 x 0.175"', "CP112", "size"),
    ],
)
def test_what_is_no_rectangle_is_told(detail, code, words, tmp_path):
    with pytest.raises(Refused) as refused:
        pipeline.plan([job(tmp_path, detail)])
    (finding,) = [f for f in refused.value.findings if f.code == code]
    assert words in str(finding)


def test_who_sells_rectangles_calls_them_so(tmp_path):
    path = job(tmp_path, 'size = "325 x 175"\nquantity = 2')
    outline = pipeline.plan([path])
    path.write_text(path.read_text().replace('"outline"', '"rectangle"'))
    called = pipeline.plan([path])
    assert called.findings == outline.findings
    assert called.pieces == outline.pieces


@pytest.mark.parametrize(
    "command", [["new", "rectangle", "--out", "-"], ["kinds", "rectangle"], ["explain", "rectangle"]]
)
def test_commands_know_a_rectangle_by_that_word(command):
    done = run(*command)
    assert done.returncode == 0, done.stderr
    assert "size" in done.stdout


def test_no_word_names_two_kinds():
    words = [word for family in FAMILIES for word in (family.kind, *family.also)]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("size", ["325 x 175", "325X175", "325 × 175 mm", "325*175", "325 by 175", "325 mm x 175 mm"])
def test_sides_are_parted_as_people_part_them(size: str) -> None:
    (job,), findings = read_jobs([{"name": "J", "detail": [{"kind": "outline", "size": size}]}])
    assert findings == ()
    assert bounds_mm(job.details[0].outline) == (0, 0, 325, 175)
