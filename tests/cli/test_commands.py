"""The commands as a user runs them: what they print, where, how they exit, and what they leave behind."""

import csv
import hashlib
import io
import json
from pathlib import Path

import pytest

from tests.cli.running import Done, run
from tests.output.made import held
from tests.tiny import JOB

pytestmark = pytest.mark.nests

ROOT = Path(__file__).parents[2]
CHIMNEY = ROOT / "fixtures" / "jobs" / "chimney.toml"
WORK = 20_000  # steps of a nest that need not be a good one

FAULTY = """
name = "All at once"
pitch = 40
covering = "plain tile 265"
coller = "red"

[coursing.up]
gauge = 75
first_joint = 118

[coursing.down]
joints = [120, 195, 180, 345, 420, 495, 570, 645, 720, 795, 870]

[[detail]]
kind = "step flashing"
hands = "pair"
soakers = false
length = 700
coursing = "up"
riser = 30

[[detail]]
kind = "step flashing"
hands = "pair"
soakers = false
length = 700
coursing = "up"
strip_width = 120

[[detail]]
kind = "step flashing"
hands = "pair"
soakers = false
length = 700
coursing = "down"

[[detail]]
kind = "apron"
width = 900
upstand = 500
cover = 300

[[detail]]
kind = "cover flashing"
length = "1.2"
"""


@pytest.fixture
def tiny(tmp_path_factory) -> Path:
    job = tmp_path_factory.mktemp("tiny") / "tiny.toml"
    job.write_text(JOB)
    return job


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Done]:
    """The example that comes with the program, cut from nothing, with all that is made where nothing is left out."""
    out = tmp_path_factory.mktemp("made") / "try"
    return out / "cut", run("demo", "--out", out, "--work", 100)


def test_the_example_is_cut_from_nothing_and_never_over_anything(made, tmp_path):
    out, done = made
    assert done.returncode == 0, done.stderr
    assert {file.name for file in out.parent.iterdir()} == {
        "chimney.toml", "abutment.toml", "counter-order.toml", "cut",
    }  # fmt: skip
    assert "lead drawn" in done.stdout
    again = run("demo", "--out", out.parent)
    assert (again.returncode, "CP701" in again.stderr) == (1, True)
    (tmp_path / "own").mkdir()
    taken = run("demo", "--out", tmp_path / "own")
    assert (taken.returncode, "CP701" in taken.stderr) == (1, True)
    assert not list((tmp_path / "own").iterdir())


def test_make_fills_the_folder_that_its_manifest_lists(made):
    out, done = made
    assert done.returncode == 0, done.stderr
    manifest = json.loads((out / "manifest.json").read_text())
    listed = {entry["path"] for entry in manifest["files"]}
    there = {str(p.relative_to(out)) for p in out.rglob("*") if p.is_file()}
    assert there == listed | {"manifest.json"}
    assert {"yield.json", "yield.csv", "cutting-list.csv", "setting-out.csv", "report.html"} <= listed
    assert manifest["units"] == "mm"
    assert manifest["seed"] == 1
    for entry in manifest["files"]:
        assert entry["sha256"] == hashlib.sha256((out / entry["path"]).read_bytes()).hexdigest()


def test_a_newcomer_gets_report_and_tickets_and_the_rest_by_asking(tiny, tmp_path):
    done = run("make", tiny, "--out", tmp_path / "few", "--work", 0)
    assert done.returncode == 0, done.stderr
    listed = [entry["path"] for entry in json.loads((tmp_path / "few" / "manifest.json").read_text())["files"]]
    assert listed == ["report.html", "tickets.html"]
    assert "--all" in done.stderr
    asked = run("make", tiny, "--out", tmp_path / "some", "--work", 0, "--format", "json,svg", "--format", "svg")
    there = sorted(p.name for p in (tmp_path / "some").iterdir())
    assert there == ["index.txt", "manifest.json", "report.html", "rolls", "tickets.html", "yield.json"]
    assert {p.suffix for p in (tmp_path / "some" / "rolls").iterdir()} == {".svg"}
    assert "--all" not in asked.stderr
    names = [json.loads((tmp_path / way / "manifest.json").read_text())["run"] for way in ("few", "some")]
    assert names[0] == names[1], "what is cut is the same"
    on_table = run("make", tiny, "--out", tmp_path / "table", "--work", 0, "--machine", "pen-marker")
    assert on_table.returncode == 0, on_table.stderr
    assert all("_pen-marker" in p.name for p in (tmp_path / "table" / "rolls").iterdir())


def test_without_a_practice_file_nothing_is_said_of_the_shop(made):
    assert "own rule" not in (made[0] / "report.html").read_text()


def test_every_roll_of_the_account_has_its_drawings_with_named_roles(made):
    out, _ = made
    rolls = [r["id"] for r in json.loads((out / "yield.json").read_text())["rolls"]]
    files = json.loads((out / "manifest.json").read_text())["files"]
    for roll in rolls:
        forms = {f["format"]: f for f in files if f["roll"] == roll}
        assert {"dxf-r2000", "dxf-r12", "svg"} <= set(forms)
        assert set(forms["svg"]["roles"]) >= {"outer", "inner", "fold", "mark"}


def test_results_go_to_stdout_and_talk_to_stderr(made):
    _, done = made
    assert "Roll by roll" in done.stdout
    assert "Lead is poisonous" in done.stderr
    assert "Lead is poisonous" not in done.stdout
    assert "\r" not in done.stderr, "progress lines are for terminals"


def test_cautions_are_said_once(made):
    out, done = made
    assert done.stderr.count("Lead is poisonous") == 1
    page = (out / "report.html").read_text()
    assert page.count("Lead is poisonous") == 2  # short beside the rolls, and whole at the end
    assert page.count("keep it from children") == 1


def test_same_job_seed_and_work_give_the_same_bytes(tiny, tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    for out in (one, two):
        assert run("make", tiny, "--out", out, "--work", WORK, "--all").returncode == 0
    assert held(one) == held(two)
    assert len(held(one)) > 10


def test_a_filled_folder_is_not_touched_unless_asked(made, tmp_path):
    out, _ = made
    before = {p: p.read_bytes() for p in out.rglob("*") if p.is_file()}
    done = run("make", CHIMNEY, "--out", out, "--work", WORK)
    assert done.returncode == 1
    assert "CP701" in done.stderr
    assert {p: p.read_bytes() for p in out.rglob("*") if p.is_file()} == before
    strange = tmp_path / "strange"
    strange.mkdir()
    (strange / "letter.txt").write_text("mine")
    done = run("make", CHIMNEY, "--out", strange, "--work", WORK, "--replace")
    assert done.returncode == 1
    assert [p.name for p in strange.iterdir()] == ["letter.txt"]


def test_an_earlier_result_is_replaced_when_asked(tiny, tmp_path):
    out = tmp_path / "cut"
    assert run("make", tiny, "--out", out, "--work", 0, "--templates", "--all").returncode == 0
    done = run("make", tiny, "--out", out, "--work", 0, "--replace", "--format", "csv")
    assert done.returncode == 0, done.stderr
    assert not (out / "templates").exists()
    assert [p.name for p in tmp_path.iterdir()] == ["cut"]
    (out / "notes.txt").write_text("mine")
    (out / "yield.csv").write_text("my own figures")
    before = {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    done = run("make", tiny, "--out", out, "--work", 0, "--replace")
    assert done.returncode == 1
    assert "[CP703]" in done.stderr
    assert "notes.txt; changed since it was written: yield.csv" in done.stderr
    assert {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()} == before


def test_the_job_that_is_read_is_not_replaced(tmp_path):
    """A job file kept beside a manifest of some other program once went without a word."""
    out = tmp_path / "cut"
    out.mkdir()
    (out / "manifest.json").write_text('{"name": "a page of the web", "files": []}')
    job = out / "job.toml"
    job.write_text(CHIMNEY.read_text())
    done = run("make", job, "--out", out, "--work", WORK, "--replace")
    assert done.returncode == 1
    assert f"this run reads {job}" in done.stderr
    assert sorted(p.name for p in out.iterdir()) == ["job.toml", "manifest.json"]


def test_a_drawing_that_a_job_names_is_not_replaced(tmp_path):
    """A roll's drawing of an earlier result is such a drawing, too."""
    out, job = tmp_path / "cut", tmp_path / "plate.toml"
    plate = 'name = "Plate"\n[[detail]]\nkind = "outline"\n'
    job.write_text(f"{plate}points = [[0, 0], [300, 0], [300, 200], [0, 200]]\n")
    assert run("make", job, "--out", out, "--work", 0, "--format", "dxf").returncode == 0
    (drawing,) = out.glob("rolls/*_mm.dxf")
    job.write_text(f'{plate}dxf = "{drawing.relative_to(tmp_path)}"\nlayers = {{ outline = "OUTER" }}\n')
    assert run("check", job).returncode == 0
    before = {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    done = run("make", job, "--out", out, "--work", 0, "--replace")
    assert done.returncode == 1
    assert f"this run reads {drawing}" in done.stderr
    assert {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()} == before


def test_a_wrong_job_gives_every_finding_at_once_and_writes_nothing(tmp_path):
    job = tmp_path / "faulty.toml"
    job.write_text(FAULTY)
    out = tmp_path / "cut"
    done = run("make", job, "--out", out)
    assert done.returncode == 1
    for code, path in [
        ("CP103", "coller"),
        ("CP403", "detail[1].riser"),
        ("CP404", "detail[2].strip_width"),
        ("CP401", "coursing.down"),
        ("CP501", "detail[4]"),
        ("CP105", "detail[5].length"),
    ]:
        assert any(f"[{code}]" in line and path in line for line in done.stderr.splitlines()), (code, path, done.stderr)
    assert str(job) in done.stderr
    assert "Traceback" not in done.stderr
    assert not out.exists()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["faulty.toml"]


def test_check_says_the_same_as_make_and_nothing_else(tmp_path):
    job = tmp_path / "faulty.toml"
    job.write_text(FAULTY)
    done = run("check", job)
    assert done.returncode == 1
    codes = [f["code"] for f in json.loads(run("check", job, "--json").stdout)["findings"]]
    assert sorted(set(codes)) == sorted({"CP103", "CP403", "CP404", "CP401", "CP501", "CP105", "CP112"})
    for code in codes:
        assert f"[{code}]" in done.stdout


def test_check_of_a_good_job_exits_0():
    assert run("check", CHIMNEY).returncode == 0


def test_pieces_lists_what_is_cut_as_table_and_json():
    table, listed = run("pieces", CHIMNEY), run("pieces", CHIMNEY, "--json")
    rows = json.loads(listed.stdout)["pieces"]
    assert rows
    for row in rows:
        assert row["id"] in table.stdout


def test_outlines_go_through_a_pipe_into_the_nest():
    outlines = run("pieces", CHIMNEY, "--outlines", "--code", 4)
    pieces = json.loads(outlines.stdout)["pieces"]
    done = run("nest", "-", "--work", 2000, stdin=outlines.stdout)
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    placed = [(p["id"], p["copy"]) for roll in result["rolls"] for p in roll["placements"]]
    assert sorted(placed) == sorted((p["id"], c + 1) for p in pieces for c in range(p["quantity"]))
    drawn = sum(r["width_mm"] * r["drawn_mm"] for r in result["rolls"])
    assert result["bound_mm2"] <= drawn * (1 + 1e-9)


def test_pieces_of_a_code_that_there_is_none_of_are_not_passed_over():
    done = run("pieces", CHIMNEY, "--code", 44)
    assert done.returncode == 2
    assert "no piece is of code 44; there are pieces of code 3 and 4" in done.stderr
    assert done.stdout == ""


def test_nest_says_where_straight_cuts_part_the_pieces(tmp_path):
    pieces, rolls = tmp_path / "pieces.json", tmp_path / "rolls.json"
    plate = {"id": "a", "quantity": 3, "outline": [[0, 0], [280, 0], [280, 290], [0, 290]], "turns_deg": [0]}
    pieces.write_text(json.dumps({"units": "mm", "gap_mm": 0, "pieces": [plate]}))
    rolls.write_text(json.dumps({"rolls": [{"width": 300, "length": 3000}]}))
    done = run("nest", pieces, "--rolls", rolls, "--work", 2000)
    (roll,) = json.loads(done.stdout)["rolls"]
    assert roll["square_cuts_mm"] == pytest.approx([280, 560, 840])
    assert "1 roll, 0.252 m2 drawn, 3 straight cuts right across, yield 96.7%" in done.stderr


def test_nest_keeps_its_hands_off_an_existing_file(tmp_path):
    pieces = tmp_path / "pieces.json"
    square = {"id": "a", "quantity": 1, "outline": [[0, 0], [100, 0], [100, 100], [0, 100]]}
    pieces.write_text(json.dumps({"units": "mm", "gap_mm": 0, "pieces": [square]}))
    out = tmp_path / "nest.json"
    out.write_text("mine")
    done = run("nest", pieces, "--out", out, "--work", 10**11)
    assert (done.returncode, out.read_text()) == (1, "mine"), "it is seen before the search"
    done = run("nest", pieces, "--out", pieces, "--replace", "--work", 10**11)
    assert (done.returncode, "[CP703]" in done.stderr) == (1, True)
    assert run("nest", pieces, "--out", out, "--replace", "--work", 0).returncode == 0
    assert json.loads(out.read_text())["rolls"][0]["placements"][0]["id"] == "a"


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ('{"units":"cm","pieces":[{"id":"a","outline":[[0,0],[1,0],[1,1]]}]}', "units"),
        ('{"units":"mm","pieces":[{"id":"a","outline":[[0,0],[1,0]]}]}', "pieces[1].outline"),
        ('{"units":"mm","pieces":[{"id":"a","outline":[[0,0],[1,0],[1,"x"]]}]}', "pieces[1].outline[3][2]"),
        ('{"units":"mm","pieces":[{"id":"a","outline":[[0,0],[1,0],[1,1]],"quantity":0}]}', "pieces[1].quantity"),
        ('{"units":"mm","pieces":[]}', "pieces"),
        ('{"units":"mm"', "standard input"),
    ],
)
def test_bad_outlines_are_findings_with_key_paths(text, path):
    done = run("nest", "-", stdin=text)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert path in done.stderr.splitlines()[0]


def test_misuse_exits_2():
    assert run("make").returncode == 2
    assert run("polish").returncode == 2
    assert run("make", CHIMNEY, "--seconds", "soon").returncode == 2
    opening = run("make", CHIMNEY, "--opening", "2")
    assert (opening.returncode, "--least bought" in opening.stderr) == (2, True)
    assert run("make", CHIMNEY, "--work", "1.5").returncode == 2
    for alone, lacks in (("--one-label", "--labels"), ("--in-frames", "--machine")):
        done = run("make", CHIMNEY, alone)
        assert (done.returncode, f"{alone} needs" in done.stderr, lacks in done.stderr) == (2, True, True)
    both = run("make", CHIMNEY, "--work", 1, "--seconds", 1)
    assert (both.returncode, "give one of them" in both.stderr) == (2, True)


def test_schema_is_json_schema_that_knows_the_details():
    schema = json.loads(run("schema").stdout)
    assert schema["type"] == "object"
    assert "detail" in schema["properties"]


def test_explain_knows_every_code_and_refuses_others():
    assert "riser" in run("explain", "cp403").stdout
    assert run("explain", "CP999").returncode == 2


def test_cutting_list_csv_agrees_with_the_yield(made):
    out, _ = made
    rows = list(csv.DictReader(io.StringIO((out / "cutting-list.csv").read_text())))
    account = json.loads((out / "yield.json").read_text())
    assert sum(int(r["quantity"]) for r in rows) == sum(j["pieces"] for j in account["jobs"].values())


def test_patterns_of_single_pieces_are_made_when_asked(tiny, tmp_path):
    out = tmp_path / "cut"
    done = run("make", tiny, "--out", out, "--work", 0, "--template", "LT-A1-1")
    assert done.returncode == 0, done.stderr
    assert sorted(p.name for p in (out / "templates").iterdir()) == [f"LT-A1-1_mm.{f}" for f in ("dxf", "pdf", "svg")]
    done = run("make", tiny, "--out", tmp_path / "no", "--template", "LT-A1-7")
    assert done.returncode == 1
    assert "[CP108]" in done.stderr
    assert "LT-A1-1" in done.stderr
    assert not (tmp_path / "no").exists()


LONG = 300 * "a"


@pytest.mark.parametrize(
    "asked",
    [
        ("run", "repeat", LONG, "--stock", "s.sqlite3"),
        ("recut", LONG, "A-P1-1", "--stock=s.sqlite3"),
        ("quote", f"{LONG}.toml", "--date", "2026-11-29", "--prices", CHIMNEY),
        ("check", f"{LONG}/job.toml"),
        ("settings", f"{LONG}/job.toml"),
    ],
)
def test_a_name_too_long_for_a_file_makes_no_traceback(asked, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(*asked).returncode in (0, 1)
