"""Every size of a job file is held against what it can be: slips are found, guessed, and can be confirmed."""

from __future__ import annotations

import json
import time
import types
from pathlib import Path
from typing import Annotated, Any, Union, get_args, get_origin

import pytest
from pydantic import BaseModel

from cutpath import pipeline
from cutpath.errors import Finding, Refused, Severity, faults
from cutpath.families.tables import Counts, Means
from cutpath.jobs import read_jobs
from cutpath.jobs.schema import JobFile
from cutpath.jobs.sizes import marks_of
from cutpath.pipeline import Settings, nest_outlines, plan
from cutpath.profiles import plausible
from cutpath.profiles.shop import shop_figures
from cutpath.values.nest import Budget, OffcutRule

TOP = 'name = "J"\npitch = 40\ncovering = "plain tile 265"\n'
TOTALS = {
    "pieces of a job",
    "mass of a job",
    "pieces of a batch",
    "mass of a batch",
    "joints of a run",
    "tilt",
    "shape width",
}
"""Ranges of what is worked out, for which no key stands in a job file."""

LISTS = {"roll width", "roll length", "whole roll length", "plain shape", "gap", "edge trim"}
"""Ranges of other files than job files, and of what is settled for the nest."""


def models() -> list[type[BaseModel]]:
    """Every table of a job file."""
    found: list[type[BaseModel]] = []
    waiting: list[type[BaseModel]] = [JobFile]
    while waiting:
        model = waiting.pop()
        if model not in found:
            found.append(model)
            waiting += [inner for field in model.model_fields.values() for inner in inner_models(field.annotation)]
    return found


def inner_models(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in inner_models(part)]


def holds_numbers(annotation: Any) -> bool:
    if get_origin(annotation) in (Annotated, Union, types.UnionType, list, tuple, dict):
        return any(holds_numbers(part) for part in get_args(annotation))
    return annotation in (int, float)


def test_every_number_of_a_job_file_has_a_range() -> None:
    ranges, used = plausible(), set()
    for model in models():
        for name, field in model.model_fields.items():
            marks = marks_of(field)
            assert marks or not holds_numbers(field.annotation), f"{model.__name__}.{name}"
            assert len(set(marks)) <= 1, f"{model.__name__}.{name}"
            used |= {mark.size for mark in marks if isinstance(mark, Means)}
            assert all(mark.held for mark in marks if isinstance(mark, Counts))
    assert used | TOTALS | LISTS == set(ranges)


def test_every_table_with_a_size_that_can_be_confirmed_takes_the_confirmation() -> None:
    for model in models():
        sizes = [m for field in model.model_fields.values() for m in marks_of(field) if isinstance(m, Means)]
        assert "confirmed" in model.model_fields or not sizes, model.__name__


def test_every_range_says_why() -> None:
    for size in plausible().values():
        assert size.possible[0] <= size.usual[0] < size.usual[1] <= size.possible[1], size.name
        assert len(size.source) > len("common practice, no source: "), size.name


@pytest.fixture
def findings_of(tmp_path: Path):
    """Read a job and give its findings."""

    def read(text: str) -> tuple[Finding, ...]:
        path = tmp_path / "job.toml"
        path.write_text(TOP + text, encoding="utf-8")
        return read_jobs([path])[1]

    return read


DEEP = "back_gutter = { fillet = { foot = 1 } }\n"
WALL = "coursing = { gauge = 75, first_joint = 110 }\n"


@pytest.mark.parametrize(
    ("text", "key", "guess"),
    [
        ('[[detail]]\nkind = "cover flashing"\nlength = 4.2\n', "detail[1].length", '"4.2 m"'),
        ('[[detail]]\nkind = "valley gutter"\nlength = 3.1\n', "detail[1].length", '"3.1 m"'),
        ('[[detail]]\nkind = "back gutter"\nwidth = 0.9\n', "detail[1].width", '"0.9 m"'),
        ('[[detail]]\nkind = "lead slate"\npipe = 0.11\n', "detail[1].pipe", '"0.11 m"'),
        ('[[detail]]\nkind = "lead slate"\npipe = 11\n', "detail[1].pipe", '"11 cm"'),
        ('[[detail]]\nkind = "lead slate"\npipe = 1100\n', "detail[1].pipe", "110"),
        ('[[detail]]\nkind = "lead slate"\npipe = "110 cm"\n', "detail[1].pipe", '"110 mm"'),
        ('[[detail]]\nkind = "ridge saddle"\nwidth = 0.45\nlength = 450\n', "detail[1].width", '"0.45 m"'),
        ('[[detail]]\nkind = "top-edge abutment"\nlength = 4.65\n', "detail[1].length", '"4.65 m"'),
        ('[[detail]]\nkind = "secret gutter"\nlength = 2.7\n', "detail[1].length", '"2.7 m"'),
        (f'[[detail]]\nkind = "step flashing"\nlength = 2.86\n{WALL}', "detail[1].length", '"2.86 m"'),
        (f'[[detail]]\nkind = "step and cover"\nlength = "286 m"\n{WALL}', "detail[1].length", "286"),
        (f'[[detail]]\nkind = "step flashing"\nlength = 2860\nlap = 10\n{WALL}', "detail[1].lap", '"10 cm"'),
        (
            f'[[detail]]\nkind = "step flashing"\nlength = 2860\nsoakers = {{ roof = 1 }}\n{WALL}',
            "detail[1].soakers.roof",
            "100",
        ),
        (
            '[[detail]]\nkind = "step flashing"\nlength = 2860\ncoursing = { gauge = 7.5, first_joint = 110 }\n',
            "detail[1].coursing.gauge",
            '"7.5 cm"',
        ),
        (
            '[[detail]]\nkind = "step flashing"\nlength = 2860\ncoursing = { gauge = 30, first_joint = 110 }\n',
            "detail[1].coursing.gauge",
            "",
        ),
        (
            f'[[detail]]\nkind = "step flashing"\nlength = 900\n{WALL}above = [{{ length = 1.35, pitch = 45 }}]\n',
            "detail[1].above[1].length",
            '"1.35 m"',
        ),
        (f'[[detail]]\nkind = "chimney"\nwidth = 0.6\ndepth = 600\n{WALL}', "detail[1].width", '"0.6 m"'),
        (f'[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 0.6\n{WALL}', "detail[1].depth", '"0.6 m"'),
        (
            f'[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 600\n{WALL}apron = {{ cover = 15 }}\n',
            "detail[1].apron.cover",
            '"15 cm"',
        ),
        (
            f'[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 600\n{WALL}{DEEP}',
            "detail[1].back_gutter.fillet.foot",
            "100",
        ),
        ('longest = 1.2\n[[detail]]\nkind = "cover flashing"\nlength = 900\n', "longest", '"1.2 m"'),
        ('[[detail]]\nkind = "outline"\npoints = [[0, 0], [0.45, 0], [0, 0.4]]\n', "detail[1].points", '"0.45 m"'),
        ('[[detail]]\nkind = "outline"\nsize = "325 x 0.175"\n', "detail[1].size[2]", '"0.175 m"'),
        ('[[detail]]\nkind = "outline"\nsize = "0.325 x 175"\n', "detail[1].size[1]", '"0.325 m"'),
        ('[[detail]]\nkind = "outline"\nsize = "325 x 4.9"\n', "detail[1].size[2]", '"4.9 m"'),
    ],
)
def test_a_slip_is_a_fault_that_guesses_what_was_meant(findings_of, text: str, key: str, guess: str) -> None:
    (fault,) = faults(findings_of(text))
    assert fault.code == "CP112"
    assert fault.where.endswith(f"job.toml: {key}")
    assert guess in fault.remedy
    assert ("Did you mean" in fault.remedy) == bool(guess)
    assert "possible: " in fault.accepted


@pytest.mark.parametrize("gauge", ["0.2", "1e-5", "1e-300", "'0.2 mm'"])
def test_a_gauge_that_cannot_be_is_refused_before_anything_is_made(tmp_path: Path, gauge: str) -> None:
    path = tmp_path / "job.toml"
    text = f'name = "J"\npitch = 40\ncovering = {{ length = 500, gauge = {gauge}, confirmed = ["gauge"] }}\n'
    path.write_text(text + '[[detail]]\nkind = "soakers"\nlength = "2.4 m"\n', encoding="utf-8")
    began = time.process_time()
    with pytest.raises(Refused) as refused:
        plan([path])
    assert time.process_time() - began < 5
    (fault,) = faults(refused.value.findings)
    assert (fault.code, fault.where) == ("CP112", f"{path}: covering.gauge")


@pytest.mark.parametrize("headlap", [499, 495])
def test_a_gauge_that_follows_from_the_headlap_is_held_to_the_same(tmp_path: Path, headlap: int) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        f'name = "J"\npitch = 40\ncovering = {{ length = 500, headlap = 90 }}\n'
        f'[[detail]]\nkind = "soakers"\nlength = "2.4 m"\nheadlap = {headlap}\n',
        encoding="utf-8",
    )
    assert "CP112" in {f.code for f in faults(read_jobs([path])[1])}


@pytest.mark.parametrize(
    ("covering", "soakers", "key", "says"),
    [
        ("{ length = 400, gauge = 201 }", "", "covering.gauge", "a gauge of 201 mm on 400 mm"),
        ("{ length = 400, gauge = 450 }", "", "covering.gauge", "a gauge of 450 mm on 400 mm"),
        ('{ name = "slate 500", gauge = 450 }', "", "covering.gauge", "a gauge of 450 mm on 500 mm"),
        ("{ length = 200, headlap = 200 }", "", "covering.headlap", "a headlap of 200 mm on 200 mm"),
        ("{ length = 200, headlap = 250 }", "", "covering.headlap", "a headlap of 250 mm on 200 mm"),
        ('"plain tile 265"', "headlap = 300", "detail[1].soakers.headlap", "a headlap of 300 mm on 265 mm"),
        ('"interlocking tile"', "headlap = 65", "detail[1].soakers", "soakers under interlocking tile"),
    ],
)
def test_a_covering_that_does_not_lap_double_is_told_by_what_was_written(
    tmp_path: Path, covering: str, soakers: str, key: str, says: str
) -> None:
    path = tmp_path / "job.toml"
    step = f'[[detail]]\nkind = "step flashing"\nlength = 1200\n{WALL}soakers = {{ {soakers} }}\n'
    path.write_text(f'name = "J"\npitch = 40\ncovering = {covering}\n{step}', encoding="utf-8")
    (found,) = faults(read_jobs([path])[1])
    assert (found.where.rpartition(": ")[2], found.found) == (key, says)


def test_what_is_confirmed_passes_with_a_note(findings_of) -> None:
    text = '[[detail]]\nkind = "lead slate"\npipe = 11\nconfirmed = ["pipe"]\n'
    (note,) = findings_of(text)
    assert (note.code, note.severity) == ("CP112", Severity.NOTE)
    assert "confirmed" in note.found


@pytest.mark.parametrize(
    ("pitch", "guess"), [("0.7", '"0.7:1"'), ("0.18", '"0.18:1"'), ("1.2", '"1.2:1"'), ("2.7", '"2.7:1"')]
)
def test_a_pitch_that_looks_like_rise_by_run_is_guessed(tmp_path: Path, pitch: str, guess: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f'name = "J"\n[[detail]]\nkind = "ridge saddle"\npitch = {pitch}\n', encoding="utf-8")
    (found,) = read_jobs([path])[1]
    assert found.where.endswith("detail[1].pitch")
    assert f"Did you mean {guess}?" in found.remedy


@pytest.mark.parametrize("pitch", ["0.1", "3", "86", "-0.7"])
def test_other_pitches_are_not_guessed(tmp_path: Path, pitch: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f'name = "J"\n[[detail]]\nkind = "ridge saddle"\npitch = {pitch}\n', encoding="utf-8")
    assert not [found for found in read_jobs([path])[1] if "Did you mean" in found.remedy]


def test_what_cannot_be_true_cannot_be_confirmed(findings_of) -> None:
    text = '[[detail]]\nkind = "lead slate"\npipe = 0.11\nconfirmed = ["pipe"]\n'
    (fault,) = faults(findings_of(text))
    assert "confirmed" not in fault.remedy


def test_the_edge_of_a_range_is_a_warning_that_can_be_confirmed(findings_of) -> None:
    text = '[[detail]]\nkind = "cover flashing"\nlength = "21 m"\n'
    (warning,) = findings_of(text)
    assert (warning.code, warning.severity) == ("CP112", Severity.WARNING)
    assert 'confirmed = ["length"]' in warning.remedy
    (note,) = findings_of(text + 'confirmed = ["length"]\n')
    assert note.severity is Severity.NOTE


def test_only_sizes_of_the_table_can_be_confirmed(findings_of) -> None:
    (fault,) = faults(findings_of('[[detail]]\nkind = "cover flashing"\nlength = 900\nconfirmed = ["lenght"]\n'))
    assert (fault.code, fault.where.rpartition(": ")[2]) == ("CP108", "detail[1].confirmed[1]")
    assert '"length"' in fault.remedy


def test_the_other_details_are_still_looked_at(findings_of) -> None:
    text = '[[detail]]\nkind = "cover flashing"\nlength = 4.2\n[[detail]]\nkind = "apron"\nwidth = 900\nupstand = 1\n'
    found = faults(findings_of(f'[[detail]]\nkind = "apron"\nwidth = "x"\n{text}'))
    assert {f.where.rpartition(": ")[2] for f in found} == {"detail[1].width", "detail[2].length", "detail[3].upstand"}


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ('[[detail]]\nkind = "soakers"\nlength = "36 m"\nquantity = 100\n', "pieces"),
        ('[[detail]]\nkind = "soakers"\ncount = 2000\nquantity = 1000\n', "pieces"),
        ('[[detail]]\nkind = "ridge saddle"\nwidth = 2000\nlength = 2000\nquantity = 500\nlongest = 1500\n', "kg"),
    ],
)
def test_what_a_job_comes_to_is_held_to_a_range(tmp_path: Path, text: str, unit: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(TOP + text, encoding="utf-8")
    with pytest.raises(Refused) as refused:
        plan([path])
    totals = [f for f in faults(refused.value.findings) if f.where == str(path)]
    assert any(f" {unit} " in f.found for f in totals)
    assert all("detail[1]" in f.found and f.remedy for f in totals)


def test_what_all_jobs_together_come_to_is_held_to_a_range(tmp_path: Path) -> None:
    paths = [tmp_path / f"{name}.toml" for name in "abcdefghijkl"]
    for path in paths:
        path.write_text(
            f'name = "{path.stem}"\npitch = 40\ncovering = "plain tile 265"\n'
            '[[detail]]\nkind = "soakers"\ncount = 900\nquantity = 5\nhands = "left"\n',
            encoding="utf-8",
        )
    with pytest.raises(Refused) as refused:
        plan(paths)
    found = faults(refused.value.findings)
    assert {(fault.code, fault.where) for fault in found} == {("CP112", "all jobs together")}
    assert found[0].found.startswith("54,000 cannot be the number of pieces")


@pytest.mark.parametrize(
    ("keys", "wanted"),
    [
        ("count = 40\n", {"": 40}),
        ("count = 40\nlength = 4000\n", {"": 40}),
        ("count = 40\nquantity = 2\n", {"": 80}),
        ('count = 40\nhands = "left"\n', {"L": 40}),
        ('count = 40\nhands = "pair"\n', {"L": 40, "R": 40}),
        ("length = 4000\n", {"L": 40, "R": 40}),
        ("length = 4000\nquantity = 2\n", {"L": 80, "R": 80}),
    ],
)
def test_a_count_of_soakers_is_what_is_cut(tmp_path: Path, keys: str, wanted: dict[str, int]) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f'{TOP}[[detail]]\nkind = "soakers"\n{keys}', encoding="utf-8")
    planned = plan([path])
    assert {p.hand.letter if p.hand else "": p.quantity for p in planned.pieces} == wanted
    assert [f.code for f in planned.findings] == ["CP113"] * ("hands" not in keys)


def test_soakers_need_a_length_or_a_count(findings_of) -> None:
    (fault,) = faults(findings_of('[[detail]]\nkind = "soakers"\n'))
    assert (fault.code, fault.where.rpartition(": ")[2]) == ("CP104", "detail[1].length")


def test_a_count_far_from_the_courses_is_warned_of(findings_of) -> None:
    text = '[[detail]]\nkind = "soakers"\nlength = 4000\nhands = "left"\ncount = 4\n'
    (warning,) = findings_of(text)
    assert (warning.code, warning.severity) == ("CP112", Severity.WARNING)
    assert findings_of(text + 'confirmed = ["count"]\n') == ()


def shop(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_shop_may_set_ranges_of_its_own(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(TOP + '[[detail]]\nkind = "lead slate"\npipe = 11\n', encoding="utf-8")
    own = shop(tmp_path, '[[range]]\nname = "pipe"\nusual = [8, 300]\npossible = [6, 800]\nsource = "steel tube"\n')
    found = plan([job], shop_rules=own).findings
    assert [f.code for f in found if f.where.startswith(str(own))] == ["CP320"]
    assert not [f for f in found if f.code == "CP112"]


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ('name = "pipes"\nusual = [8, 300]\npossible = [6, 800]\nsource = "own"', "range[1].name"),
        ('name = "pipe"\nusual = [8, 900]\npossible = [6, 800]\nsource = "own"', "range[1].usual"),
        ('name = "pipe"\nusual = [8]\npossible = [6, 800]\nsource = "own"', "range[1].usual"),
        ('name = "pipes"\nusual = ["8 mm", "30 cm"]\npossible = [6, 800]\nsource = "own"', "range[1].usual[1]"),
        ('name = "pipe"\nusual = [8, 300]\npossible = [6, inf]\nsource = "own"', "range[1].possible[2]"),
        (f'name = "{"p" * 81}"\nusual = [8, 300]\npossible = [6, 800]\nsource = "own"', "range[1].name"),
    ],
)
def test_a_bad_range_of_a_shop_is_refused(tmp_path: Path, text: str, key: str) -> None:
    """The second of two likewise, by its own number."""
    sound = '[[range]]\nname = "sleeve"\nusual = [100, 100]\npossible = [100, 100]\nsource = "the one that is kept"\n'
    for before, own in (("", key), (sound, key.replace("[1]", "[2]", 1))):
        with pytest.raises(Refused) as refused:
            shop_figures(shop(tmp_path, f"{before}[[range]]\n{text}\n"))
        fault = refused.value.findings[0]
        assert (fault.code, fault.where.rpartition(": ")[2]) == ("CP204", own)


def test_what_is_wrong_with_a_range_of_a_shop_is_told_with_its_figures(tmp_path: Path) -> None:
    text = '[[range]]\nname = "pipe"\nusual = [8, 900]\npossible = [6, 800]\nsource = "own"\n'
    with pytest.raises(Refused) as refused:
        shop_figures(shop(tmp_path, text))
    assert refused.value.findings[0].found == "8 to 900 usual, 6 to 800 possible"
    with pytest.raises(Refused) as refused:
        shop_figures(shop(tmp_path, '[[range]]\nname = "pipe"\npossible = [6, 800]\nsource = "own"\n'))
    assert "from least to most, as [" in refused.value.findings[0].remedy


def faults_and_more(refused: Refused) -> list[tuple[str, str, str]]:
    return [(f.code, f.where, f.remedy) for f in refused.findings if f.severity is not Severity.NOTE]


def test_metres_in_a_list_of_rolls_are_refused_and_guessed(tmp_path: Path) -> None:
    job, rolls = tmp_path / "job.toml", tmp_path / "rolls.toml"
    job.write_text(f'{TOP}[[detail]]\nkind = "apron"\nwidth = 700\n', encoding="utf-8")
    row = "[[rolls]]\nwidth_mm = {}\nlength_mm = {}\n"
    rolls.write_text(row.format(450, 6000) + row.format(0.45, 6) + row.format(60, 6000), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        plan([job], rolls)
    assert faults_and_more(refused.value) == [
        ("CP112", f"{rolls}: rolls[2].width_mm", 'Write 450 or "0.45 m"; bare numbers of this list are in mm.'),
        ("CP112", f"{rolls}: rolls[2].length_mm", 'Write 6000 or "6 m"; bare numbers of this list are in mm.'),
        (
            "CP112",
            f"{rolls}: rolls[3].width_mm",
            'Did you mean "60 cm" or "60 in"? Bare numbers of this list are in mm.',
        ),
    ]
    assert [f.severity for f in refused.value.findings] == [Severity.FAULT, Severity.FAULT, Severity.WARNING]


def test_metres_in_a_list_of_plain_shapes_are_refused_and_guessed(tmp_path: Path) -> None:
    pieces = tmp_path / "pieces.json"
    shapes = ([[0, 0], [3, 0], [3, 0.2], [0, 0.2]], [[0, 0], [300, 0], [300, 20], [0, 20]])
    rows = [{"id": f"A{n}", "outline": outline} for n, outline in enumerate(shapes)]
    pieces.write_text(json.dumps({"units": "mm", "pieces": rows}), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        nest_outlines(str(pieces), None, Settings(budget=Budget(work=1000)))
    assert faults_and_more(refused.value) == [
        ("CP112", f"{pieces}: pieces[1].outline", 'Write 200 or "0.2 m"; bare numbers of this list are in mm.')
    ]


SPACES = pytest.mark.parametrize(
    ("settings", "where", "severity", "remedy"),
    [
        ({"edge_trim_mm": 200.0}, "edge_trim", Severity.FAULT, "Did you mean 20 or 2?"),
        ({"edge_trim_mm": 31.0}, "edge_trim", Severity.WARNING, "Did you mean 3.1 or 0.31?"),
        ({"gap_mm": 250.0}, "gap", Severity.FAULT, "Did you mean 25 or 2.5?"),
        ({"gap_mm": 40.0}, "gap", Severity.WARNING, "Did you mean 4 or 0.4?"),
        ({"gap_mm": 0.003}, "gap", Severity.WARNING, 'Did you mean "0.003 m"?'),
        ({"edge_trim_mm": 0.01}, "edge_trim", Severity.WARNING, 'Did you mean "0.01 m"?'),
        ({"offcuts": OffcutRule(300.0, 0.15)}, "keep", Severity.WARNING, 'Did you mean "0.15 m"?'),
    ],
)


@SPACES
def test_a_gap_or_a_trim_that_looks_like_a_slip_is_told(settings, where, severity, remedy, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(f'{TOP}[[detail]]\nkind = "cover flashing"\nlength = 700\n', encoding="utf-8")
    asked = Settings(budget=Budget(work=0), **settings)
    findings = plan_findings(job, asked)
    assert [(f.where, f.severity, f.remedy) for f in findings if f.code == "CP112"] == [
        (f"settings: {where}", severity, remedy)
    ]


def plan_findings(job: Path, settings: Settings) -> tuple[Finding, ...]:
    try:
        return plan([job], settings=settings).findings
    except Refused as refused:
        return refused.findings


def test_plain_shapes_tell_doubts_and_a_gap_of_their_own_by_its_key(tmp_path: Path, monkeypatch) -> None:
    pieces, rolls = tmp_path / "pieces.json", tmp_path / "rolls.toml"
    rolls.write_text("[[rolls]]\nwidth_mm = 80\nlength_mm = 3000\n", encoding="utf-8")
    shape = {"id": "A", "outline": [[0, 0], [300, 0], [300, 20], [0, 20]]}
    told = {"units": "mm", "gap_mm": 250, "pieces": [shape]}
    pieces.write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        nest_outlines(str(pieces), None, Settings(budget=Budget(work=0)))
    assert faults_and_more(refused.value) == [("CP112", f"{pieces}: gap_mm", "Did you mean 25 or 2.5?")]
    pieces.write_text(json.dumps({**told, "gap_mm": 0}), encoding="utf-8")
    monkeypatch.setattr(pipeline, "nest_fed", lambda *_, **__: None)
    *_, doubts = nest_outlines(str(pieces), rolls, Settings(budget=Budget(work=0), edge_trim_mm=1.0))
    assert [(f.where, f.severity) for f in doubts] == [(f"{rolls}: rolls[1].width_mm", Severity.WARNING)]


@pytest.mark.parametrize(("turned", "refused"), [(165, True), (164, False)])
def test_a_head_that_is_turned_over_by_more_than_the_soaker_lies_up_the_roof_is_told_by_its_rule(
    turned, refused, tmp_path: Path
) -> None:
    """A plain tile's soaker lies 100 + 65 mm up the roof (derived)."""
    job, own = tmp_path / "job.toml", tmp_path / "own.toml"
    job.write_text(f'{TOP}[[detail]]\nkind = "soakers"\ncount = 4\nhands = "left"\n', encoding="utf-8")
    own.write_text(f'[[fact]]\nname = "soaker_turn_down"\nvalue = {turned}\nsource = "the van"\n', encoding="utf-8")
    _, findings = read_jobs([job], None, *shop_figures(own))
    assert [(f.code, f.where) for f in findings] == [("CP204", f"{job}: detail[1]")] * refused
    assert all(f"soaker_turn_down is {turned} mm" in f.found for f in findings)


@pytest.mark.parametrize(("length", "accepted"), [("1e12", "at most "), ("-5", "more than 0 mm")])
def test_a_size_without_end_is_told_by_the_side_on_which_it_lies(tmp_path, length, accepted) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f'name = "J"\n[[detail]]\nkind = "cover flashing"\nlength = {length}\n', encoding="utf-8")
    _, findings = read_jobs([path])
    assert [accepted in f.accepted for f in findings if f.where.endswith("detail[1].length")] == [True]


@pytest.mark.parametrize(
    ("slope", "severity", "guess"),
    [
        (0.7, Severity.FAULT, '"0.7:1"'),
        (1.43, Severity.WARNING, '"1.43:1"'),
        (8, Severity.WARNING, ""),
        (0, None, ""),
        (35, None, ""),
    ],
)
def test_the_slope_of_a_chase_is_none_or_that_of_a_roof(slope: float, severity: Severity | None, guess: str) -> None:
    """A ratio, or the rise in 12, as a bare number."""
    chase = {"kind": "cover flashing", "length": 1200, "slope": slope, **({"hands": "left"} if slope else {})}
    _, findings = read_jobs([{"name": "J", "detail": [chase]}])
    told = [f for f in findings if f.where == "job: detail[1].slope"]
    assert [f.severity for f in told] == [severity] * (severity is not None)
    assert all(guess in f.remedy for f in told)
