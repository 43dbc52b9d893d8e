"""The stock from the command line, from an empty shelf to a committed run."""

import csv
import json
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from cutpath import shop, stock
from cutpath.stock import StockFile, check
from tests.cli.running import Done, run
from tests.output.made import held

pytestmark = pytest.mark.nests

WORK = 20_000
SMALL = """
name = "Small order"

[[detail]]
kind = "outline"
code = 4
size = "250 x 150"

[[detail]]
kind = "outline"
code = 4
size = "1300 x 560"
quantity = 5

[[detail]]
kind = "outline"
code = 3
size = "200 x 150"
quantity = 3
"""
"""Two rolls of one code and one of another, and plain plates, which are soon made."""


@pytest.fixture(scope="module")
def order(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("order") / "small.toml"
    path.write_text(SMALL)
    return path


def shelf(path: Path, *arguments: object) -> Done:
    return run("stock", arguments[0], f"--stock={path}", *arguments[1:])


def listed(path: Path, *arguments: object) -> list[dict]:
    told = json.loads(shelf(path, *arguments, "--json").stdout)
    return next(rows for key, rows in told.items() if key != "findings")


def runs(path: Path) -> list[dict]:
    return json.loads(run("run", "list", f"--stock={path}", "--json").stdout)["runs"]


@pytest.fixture(scope="module")
def codes(order) -> list[int]:
    return sorted({row["code"] for row in json.loads(run("pieces", order, "--json").stdout)["pieces"]})


@pytest.fixture(scope="module")
def day(tmp_path_factory, codes, order):
    """Rolls put on a shelf, and a run made from it."""
    folder = tmp_path_factory.mktemp("day")
    path = folder / "stock.sqlite3"
    for code in codes:
        done = shelf(
            path, "add", "--code", code, "--width", "600 mm", "--length", "6 m", "--place", "rack 2", "--cost", 180
        )
        assert done.returncode == 0, done.stderr
        done = shelf(
            path,
            "add",
            "--code",
            code,
            "--width",
            600,
            "--length",
            "4 m",
            "--about",
            "--kind",
            "part roll",
            "--quantity",
            3,
        )
        assert done.returncode == 0, done.stderr
    (folder / "order.toml").write_text(order.read_text())
    made = run(
        "make", order, "--out", folder / "cut", "--work", WORK, "--format", "json", "--format", "svg", f"--stock={path}"
    )
    return folder, path, made


def test_make_reserves_what_it_cuts_and_says_what_is_to_be_measured(day):
    folder, path, made = day
    assert made.returncode == 0, made.stderr
    (row,) = runs(path)
    assert row["run"] == json.loads((folder / "cut" / "manifest.json").read_text())["run"]
    assert f"cutpath stock commit {row['run']}" in made.stderr
    kept = {item["label"] for item in listed(path, "list") if item["run"] == row["run"]}
    assert kept == set(row["labels"]) != set()
    assert row["to_buy"] == 0
    guessed = {i["label"] for i in listed(path, "list") if not i["exact"] and i["run"]}
    assert made.stderr.count("[CP805]") == len(guessed)
    report = (folder / "cut" / "report.html").read_text()
    for label in kept:
        assert label in report
    if guessed:
        assert "measure it first" in report


def test_the_same_again_is_the_same_run_and_anything_else_passes_its_rolls_on(day, order, tmp_path):
    _, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    out = tmp_path / "cut"
    held = runs(copy)
    assert run("stock", "release", held[0]["run"], "--stock", copy).returncode == 0
    first = run("make", order, "--out", out, "--work", WORK, "--stock", copy, "--format", "json")
    assert first.returncode == 0, first.stderr
    one = runs(copy)
    assert [r["run"] for r in one] == [held[0]["run"]], "the same job, stock, work and seed give the same run"
    assert (
        run("make", order, "--out", out, "--work", WORK, "--stock", copy, "--replace", "--format", "json").returncode
        == 0
    )
    assert runs(copy) == one
    assert run("make", order, "--out", out, "--work", WORK, "--stock", copy, "--replace", "--gap", 3).returncode == 0
    (other,) = runs(copy)
    assert other["run"] != one[0]["run"]
    assert check(StockFile(copy)) == ()


def test_a_committed_run_leaves_part_rolls_with_new_labels_and_scrap(day, tmp_path):
    folder, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    before = {item["label"]: item for item in listed(copy, "list")}
    done = shelf(copy, "commit", row["run"][:5], "--json")
    assert done.returncode == 0, done.stderr
    new = json.loads(done.stdout)["items"]
    assert not {item["label"] for item in new} & set(before)
    account = json.loads((folder / "cut" / "yield.json").read_text())["totals"]
    scrap = sum(r["kg"] for r in listed(copy, "scrap"))
    assert shelf(copy, "scrap").stdout.splitlines()[-1].split() == ["all", f"{scrap:.2f}"]
    cut_kg = sum(before[label]["kg"] for label in row["labels"])
    assert cut_kg - sum(i["kg"] for i in new) - scrap == pytest.approx(account["pieces_kg"], abs=1e-6)
    assert scrap >= account["scrap_kg"] - 1e-6
    again = shelf(copy, "commit", row["run"])
    assert (again.returncode, "[CP803]" in again.stderr) == (1, True)
    assert shelf(copy, "check").stdout == "the stock balances\n"
    label = row["labels"][0]
    verbs = [entry["verb"] for entry in listed(copy, "history", label)]
    assert (verbs[0], verbs[-1]) == ("add", "commit")
    weighed = tmp_path / "weighed.sqlite3"
    weighed.write_bytes(StockFile(copy).copy())
    note = shelf(copy, "collect", "--note", "skip 3").stdout
    assert "COLLECTION NOTE" in note
    assert "Waste transfer note number" in note
    assert "Weighed at collection" in note
    assert listed(copy, "scrap") == []
    note = shelf(weighed, "collect", "--weighed", round(scrap + 1.0, 2)).stdout
    assert "1.00 kg more than these" in note
    assert "Weighed at collection" not in note
    assert shelf(weighed, "check").stdout == "the stock balances\n"
    assert "weighed otherwise" in shelf(weighed, "history").stdout


@pytest.mark.parametrize(("weighed", "doubted"), [(20.4, 1), (31.0, 0), (40.8, 0), (50.0, 0), (90.0, 1)])
def test_scrap_that_weighs_far_from_what_the_books_have_is_doubted(tmp_path, weighed, doubted):
    """Half of it went through with no word; 1 x 2 m of code 4 weigh 40.82 kg."""
    path = tmp_path / "s.sqlite3"
    shelf(path, "add", "--code", 4, "--width", 1000, "--length", "2 m")
    shelf(path, "take", "S0001", "--scrap")
    told = json.loads(shelf(path, "collect", "--weighed", weighed, "--json").stdout)
    assert [(f["code"], f["where"], f["severity"]) for f in told["findings"]] == [
        ("CP112", "--weighed", "warning")
    ] * doubted
    assert told["collected"][0]["collected_kg"] == pytest.approx(weighed)


def test_what_was_booked_in_one_with_an_entry_that_is_undone_is_named(tmp_path):
    """A weighing of scrap of two codes is an entry to each: one of them alone would leave half a weight."""
    path = tmp_path / "s.sqlite3"
    for code in (3, 4):
        shelf(path, "add", "--code", code, "--width", 300, "--length", "2 m")
        shelf(path, "take", f"S000{code - 2}", "--scrap")
    shelf(path, "collect", "--weighed", 20)
    first, second = (entry["number"] for entry in listed(path, "history") if entry["verb"] == "collect")
    told = f"Booked in one with it, and not undone: {first}"
    assert told in shelf(path, "undo", second).stderr
    assert "not undone" not in shelf(path, "undo", first).stderr


def test_rolls_are_booked_as_they_are_cut_and_a_wrong_one_is_taken_back(day, tmp_path):
    folder, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    rolls = [r["roll"] for r in json.loads(run("run", "show", row["run"], "--stock", copy, "--json").stdout)["rolls"]]
    assert len(rolls) > 1
    done = shelf(copy, "commit", row["run"], rolls[0])
    assert (done.returncode, f"booked 1 of {len(rolls)} rolls" in done.stderr) == (0, True), done.stderr
    assert "booked" in run("run", "show", row["run"], "--stock", copy).stdout
    refused = run("make", folder / "order.toml", "--out", folder / "cut", "--replace", "--stock", copy, "--work", 0)
    assert (refused.returncode, "cut and booked" in refused.stderr) == (1, True), refused.stderr
    *_, last = listed(copy, "history")
    undone = shelf(copy, "undo", last["number"], "--note", "roll 2 it was")
    assert (undone.returncode, f"{row['run']} is reserved again" in undone.stderr) == (0, True), undone.stderr
    assert [item["label"] for item in listed(copy, "list")] == [item["label"] for item in listed(path, "list")]
    *_, last = listed(copy, "history")
    assert (last["verb"], last["undoes"], last["note"]) == ("undo", last["number"] - 1, "roll 2 it was")
    assert shelf(copy, "commit", row["run"]).returncode == 0
    assert shelf(copy, "check").stdout == "the stock balances\n"


def test_a_shelf_that_does_not_do_says_how_it_can(order, tmp_path, codes):
    path, out = tmp_path / "stock.sqlite3", tmp_path / "cut"
    empty = run("make", order, "--out", out, "--stock", path)
    assert (empty.returncode, "[CP806]" in empty.stderr) == (1, True)
    assert list(tmp_path.iterdir()) == [], "asking for a stock does not make one"
    assert shelf(path, "add", "--code", codes[0], "--width", 300, "--length", 400).returncode == 0
    small = run("make", order, "--out", out, "--work", WORK, "--stock", path)
    assert small.returncode == 1
    assert "let some be bought: --rolls LIST" in small.stderr
    bought = run(
        "make", order, "--out", out, "--work", WORK, "--stock", path, "--rolls", "ladder-30", "--format", "csv"
    )
    assert bought.returncode == 0, bought.stderr
    (row,) = runs(path)
    assert row["to_buy"] > 0
    with (out / "buy-list.csv").open() as table:
        bought = [r for r in csv.DictReader(table) if r["way"] == "buy"]
    assert sum(int(r["rolls"]) for r in bought) == row["to_buy"]


def test_what_the_stock_does_for_is_not_bought(day, order, tmp_path):
    _, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    assert run("stock", "release", row["run"], "--stock", copy).returncode == 0
    done = run("make", order, "--out", tmp_path / "cut", "--work", WORK, "--stock", copy, "--rolls", "ladder-30")
    assert done.returncode == 0, done.stderr
    assert [r["to_buy"] for r in runs(copy)] == [0]


def test_no_more_is_bought_than_the_stock_lacks(tmp_path):
    """One piece is too wide for the shelf: a roll is bought for it, and others come off the shelf all the same."""
    path = tmp_path / "stock.sqlite3"
    assert shelf(path, "add", "--code", 4, "--width", 450, "--length", "6 m", "--quantity", 2).returncode == 0
    plate = '[[detail]]\nkind = "outline"\ncode = 4\nsize = "{}"\nquantity = {}\n'
    job = tmp_path / "plates.toml"
    job.write_text('name = "Plates"\n' + plate.format("700 x 250", 14) + plate.format("900 x 520", 1))
    (tmp_path / "bought.toml").write_text(
        "rolls = [{ width_mm = 270, length_mm = 3000 }, { width_mm = 540, length_mm = 3000 }]\n"
    )
    for least in ("drawn", "bought"):
        made = run(
            *("make", job, "--out", tmp_path / least, "--work", WORK, f"--stock={path}", "--least", least),
            *("--rolls", tmp_path / "bought.toml"),
        )
        assert made.returncode == 0, made.stderr
        (row,) = (r for r in runs(path) if Path(r["out"]).name == least)
        assert (row["to_buy"], bool(row["labels"])) == (1, True), least
        assert run("stock", "release", row["run"], f"--stock={path}").returncode == 0


def test_a_roll_lost_while_it_was_nested_on_makes_a_new_nest(day, order, tmp_path, monkeypatch):
    """Somebody takes a roll of the first nest before it is reserved; the order may come through a pipe."""
    _, path, _ = day
    copy, out = tmp_path / "stock.sqlite3", tmp_path / "cut"
    copy.write_bytes(StockFile(path).copy())
    assert run("stock", "release", runs(copy)[0]["run"], "--stock", copy).returncode == 0
    lost, real = [], shop.run_of

    def run_of(*arguments):
        made = real(*arguments)
        if not lost:
            lost.append(made.items[0])
            StockFile(copy).change(lambda h: stock.take(h, lost[0], made.at))
        return made

    monkeypatch.setattr(shop, "run_of", run_of)
    done = run("make", "-", "--out", out, "--work", WORK, "--stock", copy, stdin=order.read_text())
    assert done.returncode == 0, done.stderr
    assert f"S{lost[0]:04d}: it is not on the shelf any more" in done.stderr
    assert "try 2 of 5" in done.stderr
    (row,) = runs(copy)
    assert row["labels"]
    assert f"S{lost[0]:04d}" not in row["labels"]
    assert f"S{lost[0]:04d}" not in (out / "report.html").read_text()
    assert check(StockFile(copy)) == ()


def test_by_hand(tmp_path):
    path = tmp_path / "stock.sqlite3"
    assert shelf(path, "list").stdout == "nothing on the shelf\n"
    assert shelf(path, "add", "--code", 4, "--width", 450, "--length", "6 m").returncode == 0
    (rest,) = listed(path, "take", "s1", "--length", "2 m", "--note", "a dormer")
    assert (rest["label"], rest["length_mm"]) == ("S0002", 4000.0)
    (measured,) = listed(path, "adjust", "S0002", "--length", "3.9 m", "--place", "by the door")
    assert (measured["length_mm"], measured["place"]) == (3900.0, "by the door")
    for arguments, code in [
        (("take", "S0001"), "CP802"),
        (("take", "S0002", "--length", "5 m"), "CP806"),
        (("commit", "Rnone"), "CP802"),
        (("add", "--code", 4, "--width", 0, "--length", "6 m"), "CP112"),
        (("add", "--code", 4, "--width", 450, "--length", 6), "CP112"),
        (("add", "--code", 4, "--width", "45 m", "--length", "6 m"), "CP112"),
        (("adjust", "S0002", "--length", 3.9), "CP112"),
        (("take", "S0002", "--length", 2), "CP112"),
    ]:
        done = shelf(path, *arguments)
        assert (done.returncode, f"[{code}]" in done.stderr, "Traceback" in done.stderr) == (1, True, False), (
            done.stderr
        )
    assert shelf(path, "add", "--code", 9, "--width", 450, "--length", "6 m").returncode == 2
    assert "a point" in shelf(path, "add", "--code", 4, "--width", 450, "--length", "0,9 m").stderr
    assert shelf(path, "take", "roll").returncode == 2
    assert '"2 m"' in shelf(path, "take", "S0002", "--length", 2).stderr
    backup = tmp_path / "backup.sqlite3"
    assert shelf(path, "backup", backup).returncode == 0
    assert shelf(path, "backup", backup).returncode == 1
    assert listed(backup, "list") == listed(path, "list")


def test_a_job_is_not_taken_for_a_stock_file(order, tmp_path):
    done = run("make", "--stock", order, order, "--out", tmp_path / "cut")
    assert (done.returncode, "[CP801]" in done.stderr) == (1, True)
    assert "--stock=FILE" in done.stderr


def test_the_file_lies_in_the_folder_for_data_when_none_is_named(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    if sys.platform != "linux":
        pytest.skip("the variable is for Linux")
    assert run("stock", "add", "--code", 4, "--width", 450, "--length", 6000).returncode == 0
    assert (tmp_path / "cutpath" / "stock.sqlite3").exists()


def test_tickets_name_the_roll_and_its_place_and_bear_the_run(day):
    folder, path, _ = day
    (row,) = runs(path)
    text = (folder / "cut" / "tickets.html").read_text()
    rolls = {item["label"]: item for item in listed(path, "list")}
    for label in row["labels"]:
        assert f"({label}" in text
        if not rolls[label]["exact"]:
            assert "about 4000 mm: measure it first" in text
    assert f"<title>{row['run']} SO-" in text, "the square on a ticket holds the run and the piece"


def test_labels_of_the_shelf_of_some_and_of_what_came_from_a_run(day, tmp_path):
    _, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    new = json.loads(shelf(copy, "commit", row["run"], "--json").stdout)["items"]
    for arguments, count in [
        ((), len(listed(copy, "list"))),
        (("--run", row["run"]), len(new)),
        ((new[0]["label"],), 1),
    ]:
        out = tmp_path / f"{count}-{len(arguments)}.pdf"
        done = shelf(copy, "labels", *arguments, "--out", out)
        assert done.returncode == 0, done.stderr
        assert done.stderr.startswith(f"{count} labels")
        assert out.read_bytes().startswith(b"%PDF")
    assert shelf(copy, "labels", "S9999").returncode == 1
    assert shelf(copy, "labels", "--page", 5, 5, "--out", tmp_path / "x.pdf").returncode == 2


def test_a_run_from_stock_is_made_once_more_by_its_name_and_nothing_is_booked(day, tmp_path):
    folder, path, _ = day
    (row,) = runs(path)
    before, items = StockFile(path).copy(), listed(path, "list")
    done = run("run", "repeat", row["run"][:5], "--stock", path, "--out", tmp_path / "second")
    assert done.returncode == 0, done.stderr
    assert "are the same" in done.stdout
    assert held(tmp_path / "second") == held(folder / "cut")
    assert (len(StockFile(path).copy()), listed(path, "list"), runs(path)) == (len(before), items, [row])


@pytest.mark.parametrize("committed", [True, False])
def test_a_spoilt_piece_is_cut_once_more_from_what_its_run_left_and_goes_on_the_pile(day, tmp_path, committed):
    _, path, _ = day
    copy, out = tmp_path / "stock.sqlite3", tmp_path / "again"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    first = row["run"]
    whole = sum(cut.pieces_mm2 / 1e6 * cut.mass_kg_m2 for cut in StockFile(copy).read().runs[first].cuts)
    piece = json.loads(run("run", "show", first, "--stock", copy, "--json").stdout)["pieces"][0]
    left = json.loads(shelf(copy, "commit", first, "--json").stdout)["items"] if committed else []
    done = run("recut", first, piece["piece"], "--stock", copy, "--out", out, "--work", 20_000)
    assert done.returncode == 0, done.stderr
    new = next(r for r in runs(copy) if r["run"] != first)
    if committed:
        assert set(new["labels"]) <= {item["label"] for item in left}, "what the run left goes first"
    assert "not committed, so" not in done.stderr if committed else f"{first} is not committed" in done.stderr
    twice = run("recut", first, piece["piece"], "--stock", copy, "--out", tmp_path / "twice", "--work", 0)
    assert (twice.returncode, "being cut once more" in twice.stderr) == (1, True), twice.stderr

    def account(name: str) -> float:
        balances = StockFile(copy).read().balances
        return sum(amount.mass_kg for (of, _), amount in balances.items() if of.value == name)

    assert f"{first}: 1 x {piece['piece']}, cut once more by" in shelf(copy, "commit", new["run"]).stderr
    if not committed:
        assert shelf(copy, "commit", first).returncode == 0
    assert account("pieces") == pytest.approx(whole, abs=1e-5), "one comes, one goes"
    cut = StockFile(copy).read().runs[new["run"]].cuts[0]
    spoilt = cut.pieces_mm2 / 1e6 * cut.mass_kg_m2
    assert account("scrap pile") > spoilt > 0.1
    assert shelf(copy, "check").stdout == "the stock balances\n"
    told = json.loads(run("run", "show", first, "--stock", copy, "--json").stdout)["pieces"][0]
    assert (told["piece"], told["spoilt"]) == (piece["piece"], 1)
    assert "cut once more" in shelf(copy, "history").stdout
    assert f"cut once more: 1 x {piece['piece']} of {first}" in run("run", "show", new["run"], "--stock", copy).stdout
    assert run("run", "repeat", new["run"], "--stock", copy).returncode == 0


def test_a_re_cut_draws_on_the_stock_that_is_settled(day, tmp_path, monkeypatch):
    folder, path, _ = day
    (tmp_path / "stock.sqlite3").write_bytes(StockFile(path).copy())
    (tmp_path / "cutpath.toml").write_text('stock = "stock.sqlite3"\n')
    monkeypatch.chdir(tmp_path)
    asked = ("recut", folder / "cut", "SO-P1-1", "--work", 0, "--json")
    assert json.loads(run(*asked, "--out", "one").stdout)["reserved"] is True
    assert json.loads(run(*asked, "--out", "two", "--no-stock").stdout)["reserved"] is False
    assert len(runs(tmp_path / "stock.sqlite3")) == 2
    told = json.loads(run("run", "compare", folder / "cut", "--json").stdout)["pieces"]
    assert {row["cut"] for row in told} == {False}, "where another stock is settled, that one knows the run"


@pytest.mark.parametrize("command", [["stock", "list"], ["stock", "history"], ["stock", "scrap"], ["run", "list"]])
def test_a_stock_file_that_is_not_there_is_said_so(command, tmp_path):
    done = run(*command, "--stock", tmp_path / "shop.sqlit")
    assert (done.returncode, "no stock file" in done.stderr) == (0, True)
    assert not list(tmp_path.iterdir())


def test_a_name_too_long_for_a_stock_file_is_told(tmp_path):
    done = run("stock", "list", "--stock", tmp_path / ("x" * 300))
    assert (done.returncode, "[CP801]" in done.stderr) == (1, True), done.stderr


def test_a_length_may_be_told_as_about(tmp_path):
    path = tmp_path / "s.sqlite3"
    assert shelf(path, "add", "--code", 4, "--width", 450, "--length", "about 4 m").returncode == 0
    (item,) = listed(path, "list")
    assert (item["length_mm"], item["exact"]) == (4000.0, False)
    assert shelf(path, "adjust", "S0001", "--length", "3.9 m").returncode == 0
    assert listed(path, "list")[0]["exact"] is True
    assert shelf(path, "adjust", "S0001", "--length", "about 3 m").returncode == 0
    (item,) = listed(path, "list")
    assert (item["length_mm"], item["exact"]) == (3000.0, False)


def test_what_asks_for_nothing_or_for_what_never_was_is_said_so(tmp_path):
    path = tmp_path / "s.sqlite3"
    assert shelf(path, "add", "--code", 4, "--width", 450, "--length", "6 ft 5 1/2 in").returncode == 0
    idle = shelf(path, "adjust", "S0001")
    assert (idle.returncode, "nothing to put right" in idle.stderr) == (2, True)
    assert len(listed(path, "history")) == 1
    never = shelf(path, "history", "S0099")
    assert (never.returncode, "CP802" in never.stderr) == (1, True)
    assert "float" not in shelf(path, "collect", "--weighed", "much").stderr
    assert ",1968.5," in shelf(path, "list", "--csv").stdout


def test_movements_are_listed_for_people_and_as_csv(tmp_path):
    """At the minute, in UTC as they are written; in CSV a line to each posting, day and time apart."""
    path = tmp_path / "s.sqlite3"
    assert shelf(path, "add", "--code", 4, "--width", 300, "--length", 6000, "--note", "two, van").returncode == 0
    (entry,) = listed(path, "history")
    day, _, time = entry["at"].partition("T")
    assert f"1  {day} {time[:5]} UTC  add" in shelf(path, "history").stdout
    bought, kept = csv.DictReader(shelf(path, "history", "--csv").stdout.splitlines())
    assert {(row["number"], row["day"], row["utc"], row["note"]) for row in (bought, kept)} == {
        ("1", day, time[:8], "two, van")
    }
    assert (bought["account"], kept["account"], kept["label"]) == ("bought", "shelf", "S0001")
    assert float(bought["kg"]) == -float(kept["kg"]) == pytest.approx(-36.738)


def test_a_re_cut_of_a_run_cut_in_part_names_the_rolls_that_are_not_booked(day, tmp_path):
    _, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    told = json.loads(run("run", "show", row["run"], "--stock", copy, "--json").stdout)
    piece, rolls = told["pieces"][0], [roll["roll"] for roll in told["rolls"]]
    own = piece["rolls"][0]
    assert shelf(copy, "commit", row["run"], own).returncode == 0
    done = run("recut", row["run"], piece["piece"], "--stock", copy, "--out", tmp_path / "again", "--work", 0)
    assert done.returncode == 0, done.stderr
    alike = [roll for roll in rolls if roll != own and roll.split("-")[0] == own.split("-")[0]]
    assert ("not on the shelf yet" in done.stderr) == bool(alike), "nothing is said of rolls that are booked"
    assert not alike or f"stock commit {row['run']} {' '.join(alike)}\n" in done.stderr


def test_a_run_is_followed_to_its_delivery(day, tmp_path):
    _, path, _ = day
    copy = tmp_path / "stock.sqlite3"
    copy.write_bytes(StockFile(path).copy())
    (row,) = runs(copy)
    name = row["run"]
    shown = json.loads(run("run", "show", name[:4], "--stock", copy, "--json").stdout)
    pieces = json.loads(run("pieces", day[0] / "order.toml", "--json").stdout)["pieces"]
    assert {(p["piece"], p["quantity"]) for p in shown["pieces"]} == {(p["id"], p["quantity"]) for p in pieces}
    first = shown["pieces"][0]["piece"]
    for part in StockFile(copy).read().runs[name].parts:
        assert sum(part.counts) == part.quantity
    early = run("run", "done", name, "folded", "--stock", copy)
    assert (early.returncode, f"cutpath run done {name} cut" in early.stderr) == (1, True)
    told = run("run", "done", name, "cut", shown["rolls"][0]["roll"], "--stock", copy)
    assert f"cutpath stock commit {name} {shown['rolls'][0]['roll']}" in told.stderr
    for arguments in (["cut"], ["folded"], ["packed", first], ["delivered", first]):
        done = run("run", "done", name, *arguments, "--stock", copy)
        assert done.returncode == 0, done.stderr
    assert run("run", "done", name, "folded", "no-such-piece", "--stock", copy).returncode == 1
    (row,) = runs(copy)
    assert row["folded"] == row["pieces"] > row["packed"] == row["delivered"] > 0
    assert first in run("run", "show", name, "--stock", copy).stdout
    assert name in run("run", "list", "--stock", copy).stdout


def test_every_piece_gets_a_label_with_its_run_and_its_roll(order, tmp_path):
    zxingcpp = pytest.importorskip("zxingcpp", reason="no reader of QR codes on this machine")
    from PIL import Image

    from tests.writers.readers import need

    tool, out = need("pdftoppm"), tmp_path / "cut"
    done = run("make", order, "--out", out, "--work", WORK, "--labels", "3x8")
    assert done.returncode == 0, done.stderr
    subprocess.run([tool, "-r", "200", "-png", out / "labels.pdf", tmp_path / "page"], check=True)
    read = Counter(c.text for p in sorted(tmp_path.glob("page*.png")) for c in zxingcpp.read_barcodes(Image.open(p)))
    name = json.loads((out / "manifest.json").read_text())["run"]
    pieces = json.loads(run("pieces", order, "--json").stdout)["pieces"]
    packs = Counter({code: count for code, count in read.items() if code.startswith(f"{name} Pack ")})
    assert read - packs == Counter({f"{name} {piece['id']}": piece["quantity"] for piece in pieces})
    assert set(packs.values()) == {1}
    words = subprocess.run(
        [need("pdftotext"), out / "labels.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    assert words.count("from code") == sum(piece["quantity"] for piece in pieces)
    told = re.findall(r"from code\d-\d\d, middle \d+ along, \d+\s+across\n", words)
    assert len(told) == words.count("from code"), "where a piece lies is told to its end"


def test_a_whole_roll_as_short_as_an_offcut_is_doubted_and_put_there(tmp_path):
    path = tmp_path / "s.sqlite3"
    for kind, doubted in (("roll", True), ("part roll", False), ("offcut", False)):
        done = shelf(path, "add", "--code", 4, "--width", 300, "--length", "600 mm", "--kind", kind)
        assert (done.returncode, "600 mm is seldom the length of a whole roll" in done.stderr) == (0, doubted)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (("--width", 0.3, "--length", 6000), "--width: 0.3 mm cannot be the width of a roll"),
        (("--width", 300, "--length", 6), 'Did you mean "6 m"?'),
        (("--width", 6000, "--length", 300), "Did you mean 300 mm wide and 6000 mm long?"),
        (("--width", 300, "--length", 6000, "--place", "rack\n2"), r"place: rack\n2; it takes at most 200"),
        (("--width", 300, "--length", 6000, "--cost", "\u00a361.50"), "write the figure alone, decimals with a point"),
    ],
)
def test_slips_of_what_is_put_on_the_shelf_are_told_and_nothing_is_put_there(given, says, tmp_path):
    done = run("stock", "add", "--stock", tmp_path / "shop.db", "--code", 4, *given)
    assert done.returncode != 0
    assert says in done.stderr
    assert list(tmp_path.iterdir()) == []
