"""A run, or a piece of it, once more from what its manifest keeps: the same, whatever became of its files meanwhile."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from openpyxl import Workbook

from cutpath import again, pipeline, recutting
from cutpath.errors import Refused, Severity
from cutpath.nesting import one_after_another
from cutpath.output import MANIFEST, made_from, read_manifest
from cutpath.output.manifest import sealed
from cutpath.plain import in_words
from cutpath.reports.words import tickets
from cutpath.values.batch import Made
from tests.cli.running import Done, run
from tests.output.made import held
from tests.reports.pages import tickets_html

pytestmark = pytest.mark.nests

JOB = """
name = "Long wall"
pitch = 40
covering = "plain tile 265"

[[detail]]
kind = "step flashing"
length = 1700
hands = "right"
coursing = { gauge = 75, first_joint = 120 }

[[detail]]
kind = "soakers"
count = 3
upstand = 75
hands = "left"

[[detail]]
kind = "outline"
code = 4
dxf = "plate.dxf"
quantity = 3
"""
OWN_RULES = """
[[fact]]
name = "turn_in"
value = 30
unit = "mm"
source = "as this invented shop does it"
"""
ROLLS = 'rolls = [{ width_mm = 390, length_mm = "3.2 m" }, { width_mm = 600, length_mm = 6000, code = 3 }]\n'


def drawing(path: Path) -> None:
    document = ezdxf.new(units=4)
    document.modelspace().add_lwpolyline(
        [(0, 0), (300, 0), (340, 90), (0, 120)], close=True, dxfattribs={"layer": "OUTER"}
    )
    document.saveas(path)


def command(folder: Path, *arguments: object) -> Done:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        return run(*arguments)


ALL = ("--all", "--machine", "drawing-table", "--labels", "3x8", "--template", "LW-S1-R1")


def made(folder: Path, *more: str) -> Path:
    """A folder with a run, its job and everything else that it was made from."""
    (folder / "wall.toml").write_text("\ufeff" + JOB.replace("\n", "\r\n"))
    (folder / "rules.toml").write_text(OWN_RULES)
    (folder / "rolls.toml").write_text(ROLLS)
    drawing(folder / "plate.dxf")
    done = command(
        folder,
        *("make", "wall.toml", "--rolls", "rolls.toml", "--practice", "rules.toml", "--work", 20_000, "--seed", 3),
        *("--gap", 2, *more),
    )
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory) -> Path:
    return made(tmp_path_factory.mktemp("whole"), *ALL)


@pytest.fixture(scope="module")
def short(tmp_path_factory) -> Path:
    return made(tmp_path_factory.mktemp("short"))


@pytest.fixture
def folder(whole, tmp_path) -> Path:
    """A run with every file there is."""
    shutil.copytree(whole, tmp_path / "copy")
    return tmp_path / "copy"


@pytest.fixture
def few(short, tmp_path) -> Path:
    """The same run, of which only report and tickets were asked for."""
    shutil.copytree(short, tmp_path / "copy")
    return tmp_path / "copy"


def test_a_run_made_once_more_is_the_same_in_every_byte(folder):
    done = command(folder, "run", "repeat", "cut", "--out", "second")
    assert done.returncode == 0, done.stderr
    assert "are the same" in done.stdout
    assert "[CP707]" not in done.stderr
    assert held(folder / "second") == held(folder / "cut")
    assert len(held(folder / "cut")) > 20


def test_it_needs_nothing_but_its_manifest(few, tmp_path):
    alone = tmp_path / "alone"
    alone.mkdir()
    shutil.copy(few / "cut" / MANIFEST, alone / MANIFEST)
    for file in few.glob("*.*"):
        file.unlink()
    done = command(few, "run", "repeat", alone, "--out", "second")
    assert done.returncode == 0, done.stderr
    assert held(few / "second") == held(few / "cut")
    (said,) = (line for line in done.stderr.splitlines() if "it cannot be found from this folder" in line)
    for name in ("wall.toml", "rules.toml", "rolls.toml", "plate.dxf"):
        assert name in said


def test_it_says_what_has_changed_since_and_is_the_same_all_the_same(few):
    names = ["plate.dxf", "rolls.toml", "rules.toml", "wall.toml"]
    for name in names:
        (few / name).write_bytes((few / name).read_bytes() + b"\n")
    done = command(few, "run", "repeat", "cut")
    assert done.returncode == 0, done.stderr
    assert [line for line in done.stderr.splitlines() if "CP707" in line] == [
        f"note: {in_words(names)}: it has changed since the run was made; the file as it was. [CP707]"
    ]


def test_it_says_what_comes_out_otherwise(few):
    manifest = read_manifest((few / "cut" / MANIFEST).read_bytes())
    other = replace(
        manifest,
        entries=tuple(replace(e, sha256="0" * 64) if e.path == "tickets.html" else e for e in manifest.entries),
    )
    (few / "cut" / MANIFEST).write_text(other.text())
    done = command(few, "run", "repeat", "cut")
    assert done.returncode == 1
    assert "tickets.html differently" in done.stderr
    assert "[CP708]" in done.stderr
    assert "are the same" not in done.stdout


def test_files_that_were_changed_or_taken_away_are_told(few):
    run_ = again.earlier(few / "cut")
    assert again.touched(run_) == []
    (few / "cut" / "report.html").write_text("other")
    (few / "cut" / "tickets.html").unlink()
    assert [(f.code, f.severity, f.found) for f in again.touched(run_)] == [
        ("CP708", Severity.WARNING, "gone: tickets.html"),
        ("CP708", Severity.WARNING, "changed since it was written: report.html"),
    ]
    for entry in run_.manifest.entries:
        (few / "cut" / entry.path).unlink(missing_ok=True)
    assert again.touched(run_) == []


def test_a_manifest_that_tells_what_this_version_does_not_is_not_called_the_same(few):
    file = few / "cut" / MANIFEST
    written = file.read_bytes()
    once_more = Made({MANIFEST: written}, None, (), "")
    assert again.differences(again.earlier(few / "cut"), once_more) == ()
    told = {key: value for key, value in json.loads(written).items() if key != "seal"}
    file.write_text(sealed({**told, "blessed_by": "nobody"}))
    assert again.differences(again.earlier(few / "cut"), once_more) == (MANIFEST,)


def test_a_run_is_not_replaced_by_what_is_made_from_it(folder):
    before = held(folder / "cut")
    for asked in (("run", "repeat", "cut"), ("recut", "cut", "LW-S1-R2", "--work", 0)):
        over = command(folder, *asked, "--out", "cut", "--replace")
        assert (over.returncode, "[CP703]" in over.stderr) == (1, True), asked
        assert held(folder / "cut") == before


def test_a_nest_that_was_meddled_with_does_not_pass_the_judge(few):
    run_ = again.earlier(few / "cut")
    laid = run_.made_from.laid[0]
    first = laid.nest.rolls[0]
    moved = replace(first.placements[0], x_mm=first.placements[0].x_mm + 40.0)
    rolls = (replace(first, placements=(moved, *first.placements[1:])), *laid.nest.rolls[1:])
    other = replace(laid, nest=replace(laid.nest, rolls=rolls))
    meddled = replace(run_, made_from=replace(run_.made_from, laid=(other, *run_.made_from.laid[1:])))
    with pytest.raises(Refused) as refused:
        again.repeat(meddled)
    assert {f.code for f in refused.value.findings} == {"CP503"}


def test_what_is_kept_is_read_back_as_it_was(folder):
    kept = again.earlier(folder / "cut").made_from
    assert kept.divisions, "the wall was to be divided as suits the rolls"
    assert kept.files["plate.dxf"] == (folder / "plate.dxf").read_bytes()
    strange = replace(kept, files={**kept.files, "scan.dxf": bytes(range(256))})
    assert made_from.made_from(json.loads(json.dumps(made_from.plain(strange)))) == strange


@pytest.mark.parametrize(
    "broken",
    [
        lambda folder: (folder / MANIFEST).unlink(),
        lambda folder: (folder / MANIFEST).write_text("{}"),
        lambda folder: (folder / MANIFEST).write_text((folder / MANIFEST).read_text().replace("Long wall", "Log wall")),
        lambda folder: (folder / MANIFEST).write_text(
            replace(read_manifest((folder / MANIFEST).read_bytes()), made_from={}).text()
        ),
        lambda folder: (folder / MANIFEST).write_text(
            replace(read_manifest((folder / MANIFEST).read_bytes()), made_from={"asked": {"jobs": 5}}).text()
        ),
    ],
    ids=["none", "another", "changed", "of an earlier version", "of a later version"],
)
def test_what_is_no_run_is_refused(folder, broken):
    broken(folder / "cut")
    done = command(folder, "run", "repeat", "cut", "--out", "second")
    assert (done.returncode, "[CP706]" in done.stderr) == (1, True), done.stderr
    assert not (folder / "second").exists()


def test_a_run_of_an_order_sheet_is_made_once_more_without_it(tmp_path):
    book = Workbook()
    for row in (["customer", "kind", "quantity", "length", "width"], ["J Example", "rectangle", 2, 325, "175 mm"]):
        book.active.append(row)
    book.save(tmp_path / "orders.xlsx")
    assert command(tmp_path, "make", "orders.xlsx", "--work", 0).returncode == 0
    (tmp_path / "orders.xlsx").unlink()
    done = command(tmp_path, "run", "repeat", "cut", "--out", "second")
    assert (done.returncode, "are the same" in done.stdout) == (0, True), done.stderr
    assert held(tmp_path / "second") == held(tmp_path / "cut")


def ticket(folder: Path, piece: str) -> str:
    """The ticket of a piece, less the square with its run's name and the line with its rolls."""
    text = (folder / "tickets.html").read_text()
    own = next(
        article for article in re.findall(r"<article.*?</article>", text, re.DOTALL) if f"<h1>{piece}<" in article
    )
    own = re.sub(r'<div class="square">.*?</div>', "", own, flags=re.DOTALL)
    return re.sub(r'<p class="facts">.*?</p>', "", own, flags=re.DOTALL)


def test_a_piece_cut_once_more_has_the_ticket_of_the_first_and_comes_from_what_is_left(folder):
    done = command(folder, "recut", "cut", "LW-S1-R2", "--work", 20_000)
    assert done.returncode == 0, done.stderr
    assert "LW-S1-R2 from code4-01: " in done.stdout
    assert re.search(r"(rest|offcut) of code4-\d\d of run R", done.stdout)
    first, second = again.earlier(folder / "cut"), again.earlier(folder / "recut")
    assert first.run != second.run
    assert f"for run {first.run}" in done.stderr
    assert ticket(folder / "recut", "LW-S1-R2") == ticket(folder / "cut", "LW-S1-R2")
    (laid,) = second.made_from.laid
    assert [p.id for roll in laid.nest.rolls for p in roll.placements] == ["LW-S1-R2"]
    suffixes = {path.split("-01", 1)[-1] for path in held(folder / "cut") if "code4-01" in path}
    assert {path.split("-01", 1)[-1] for path in held(folder / "recut") if "code4-01" in path} == suffixes, (
        "as the first"
    )
    repeated = command(folder, "run", "repeat", "recut", "--out", "second")
    assert repeated.returncode == 0, repeated.stderr
    assert held(folder / "second") == held(folder / "recut")


def test_a_re_cut_is_searched_by_the_seed_of_its_run_unless_another_is_asked_for(few):
    first = again.earlier(few / "cut")
    own = first.made_from.asked.settings.seed
    seeds = [
        recutting.recut(first, ["LW-P1-1"], 1, work=0, seed=seed).planned.settings.seed for seed in (None, own + 6)
    ]
    assert seeds == [own, own + 6]


def test_a_piece_of_several_is_cut_once_more_as_often_as_asked_and_a_re_cut_too(few):
    done = command(few, "recut", "cut", "LW-P1-1", "--count", 2, "--work", 0, "--rolls", "rolls.toml", "--out", "two")
    assert done.returncode == 0, done.stderr
    assert "<strong>2 off:</strong>" in (few / "two" / "tickets.html").read_text()
    again_ = command(few, "recut", "two", "LW-P1-1", "--work", 0, "--rolls", "rolls.toml", "--out", "one")
    assert again_.returncode == 0, again_.stderr
    assert command(few, "run", "repeat", "one").returncode == 0
    for arguments, says in [
        (("cut", "LW-P1-1", "--count", 4), "LW-P1-1: 4 asked for of 3; it takes at most 3. [CP806]"),
        (("two", "LW-P1-1", "--count", 3), "[CP806]"),
        (("two", "LW-S1-R2"), "[CP802]"),
        (("cut", "LW-S1-R9"), "[CP802]"),
        (("nowhere", "LW-S1-R2"), "[CP802]"),
    ]:
        refused = command(few, "recut", *arguments, "--out", "no")
        assert (refused.returncode, says in refused.stderr) == (1, True), refused.stderr
        assert not (few / "no").exists()


def taken(folder: Path) -> list[str]:
    """Names of the rolls that a run was cut from."""
    return [roll.roll.name for laid in again.earlier(folder).made_from.laid for roll in laid.nest.rolls]


def test_what_a_re_cut_took_is_not_there_for_the_next(few):
    first = ("recut", "cut", "LW-P1-1", "--work", 0, "--out")
    assert command(few, *first, "one").returncode == 0
    (one,) = taken(few / "one")
    left, took = recutting.what_is_left(again.earlier(few / "cut"), recutting.recuts_in([few]))
    assert (one not in {roll.name for roll in left}, [run.folder.name for run in took]) == (True, ["one"])
    told = command(few, *first, "two")
    assert (told.returncode, "one took of it" in told.stderr) == (0, True), told.stderr
    (two,) = taken(few / "two")
    assert two != one
    both, took = recutting.what_is_left(again.earlier(few / "cut"), recutting.recuts_in([few]))
    assert len(took) == 2
    before, _ = recutting.what_is_left(again.earlier(few / "cut"))

    def area(rolls) -> float:
        return sum(roll.width_mm * roll.length_mm for roll in rolls)

    assert area(both) < area(left) < area(before)
    assert command(few, *first, "two", "--replace").returncode == 0
    assert taken(few / "two") == [two], "the one that it takes the place of took nothing"


def test_rolls_that_are_settled_are_there_where_a_run_left_too_little(few):
    (few / "wide.toml").write_text("rolls = [{ width_mm = 600, length_mm = 6000 }]\n")
    (few / "cutpath.toml").write_text('rolls = "wide.toml"\n')
    small = command(few, "recut", "cut", "LW-P1-1", "--work", 0, "--out", "small")
    assert (small.returncode, "of run R" in small.stdout) == (0, True), small.stderr
    pieces = [p.id for laid in again.earlier(few / "cut").made_from.laid for r in laid.nest.rolls for p in r.placements]
    every = dict.fromkeys(name for name in pieces if name.startswith("LW-S"))
    assert command(few, "recut", "cut", *every, "--work", 0, "--out", "first").returncode == 0
    large = command(few, "recut", "cut", *every, "--work", 0, "--out", "large")
    assert (large.returncode, "600 x 6000" in large.stdout) == (0, True), large.stderr
    assert command(few, "run", "repeat", "large").returncode == 0


def test_a_reading_taken_anew_says_which_pieces_changed_and_they_are_cut_as_they_are_now(few):
    same = command(few, "run", "compare", "cut")
    assert same.returncode == 0, same.stderr
    assert "changed" not in same.stdout + same.stderr, "divided as it was"
    job = (few / "wall.toml").read_text(encoding="utf-8-sig")
    (few / "wall.toml").write_text(job.replace("quantity = 3", "quantity = 5"))
    (few / "longer.toml").write_text(job.replace("length = 1700", "length = 1703"))
    told = json.loads(command(few, "run", "compare", "cut", "--json").stdout)
    assert [(r["piece"], r["also"]) for r in told["pieces"] if r["state"] != "alike"] == [
        ("LW-P1-1", "5 off instead of 3")
    ]
    said = command(few, "run", "compare", "cut").stderr
    assert "more are wanted: 2 of LW-P1-1" in said
    assert "recut" not in said, "the three that are cut are right"
    told = json.loads(command(few, "run", "compare", "cut", "longer.toml", "--json").stdout)
    changed = {r["piece"]: r["moved_mm"] for r in told["pieces"] if r["moved_mm"]}
    assert {name[:5] for name in changed} == {"LW-S1"}
    assert "LW-S1-R1" not in changed, "the lower length is not touched by the upper end"
    assert max(changed.values()) == pytest.approx(3.0, abs=0.5)
    top = max(changed, key=lambda name: (changed[name], name))
    done = command(few, "recut", "cut", top, "--job", "longer.toml", "--work", 0, "--rolls", "rolls.toml")
    assert done.returncode == 0, done.stderr
    assert again.earlier(few / "recut").made_from.asked.jobs == ("longer.toml",)
    assert command(few, "run", "repeat", "recut").returncode == 0
    assert "alike" in command(few, "run", "compare", "recut").stdout
    (few / "longer.toml").write_text("name = 5")
    assert command(few, "run", "compare", "cut", "longer.toml").returncode == 1


JOBS = Path(__file__).parents[1] / "fixtures" / "jobs"
SOME = {"whole-chimney.toml", "counter-order.toml"}


@pytest.mark.parametrize(
    "name",
    [pytest.param(job.name, marks=() if job.name in SOME else pytest.mark.slow) for job in sorted(JOBS.glob("*.toml"))],
)
def test_any_piece_alone_has_its_report_and_the_ticket_that_it_has_among_the_others(name, monkeypatch):
    monkeypatch.chdir(JOBS)
    planned = pipeline.plan([name], settings=pipeline.Settings(choose_lengths=False))
    batch = pipeline.batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    whole_tickets = tickets_html(batch)
    pieces = {group[0].id: group[0] for group in tickets.alike(planned.pieces)}
    for piece in list(pieces.values())[:: 1 if name not in SOME else 6]:
        part = again.only(planned, {piece.id: 1}, "Rfirst")
        alone = pipeline.batch_of(part, [one_after_another(problem) for _, problem in part.problems])
        made = pipeline.files_of(alone, formats=())
        assert piece.id in made.files["report.html"].decode()
        footer = re.findall(r"<footer>.*?</footer>", made.files["tickets.html"].decode(), re.DOTALL)
        assert len(footer) == 1
        assert footer[0] in whole_tickets, f"{piece.id} is warned of otherwise alone"
