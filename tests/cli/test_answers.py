"""What every command prints with ``--json``: one object that its own schema holds, by a validator of others."""

from __future__ import annotations

import importlib
import json
from decimal import Decimal
from pathlib import Path

import click
import pytest
from jsonschema import Draft202012Validator

from cutpath.cli import COMMANDS
from cutpath.cli.answers import ANSWERS, Answer, answer_schema
from tests.cli.test_stock import SMALL, Done, run

pytestmark = pytest.mark.nests

WARNED = Path(__file__).parents[2] / "fixtures/warnings/chimney-short-returns.toml"
FAULTY = 'name = "Faulty"\npitch = 40\n[[detail]]\nkind = "apron"\nwith = 900\n'


def leaves() -> dict[str, click.Command]:
    """Every command that does something, by its words."""
    found = {}
    for name in COMMANDS:
        command = importlib.import_module(f"cutpath.cli.{name}").command
        below = command.commands.items() if isinstance(command, click.Group) else [("", command)]
        found.update({f"{name} {word}".strip(): own for word, own in below})
    return found


def test_every_command_but_the_schema_answers_in_json():
    asked = {name for name, command in leaves().items() if any("--json" in p.opts for p in command.params)}
    assert asked == set(leaves()) - {"schema"} == set(ANSWERS)


@pytest.mark.parametrize("command", ANSWERS)
def test_schemas_are_schemas_and_hold_something(command):
    schema = answer_schema(command)
    Draft202012Validator.check_schema(schema)
    judge = Draft202012Validator(schema)
    assert not judge.is_valid([])
    assert not judge.is_valid({})
    assert not judge.is_valid({"findings": [{"code": "CP101"}]})
    assert not judge.is_valid({"findings": [], "more": 1})
    assert judge.is_valid({"findings": []}), "what a refusal without a word would be"
    assert json.loads(run("schema", *command.split()).stdout) == schema


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    place = tmp_path_factory.mktemp("answers")
    (place / "job.toml").write_text(SMALL)
    (place / "faulty.toml").write_text(FAULTY)
    square = {"id": "a", "quantity": 2, "outline": [[0, 0], [100, 0], [100, 100], [0, 100]]}
    (place / "pieces.json").write_text(json.dumps({"units": "mm", "gap_mm": 0, "pieces": [square]}))
    return place


def told(command: str, done: Done) -> dict:
    """What a command answered, held against its schema: it must be the whole answer."""
    answer = json.loads(done.stdout)
    schema = answer_schema(command)
    whole = schema["anyOf"][0] if "anyOf" in schema else schema
    faults = [f"{error.json_path}: {error.message}" for error in Draft202012Validator(whole).iter_errors(answer)]
    assert faults == []
    assert done.returncode == 0, done.stderr
    return answer


def test_commands_that_look_answer_as_their_schemas_say(folder):
    assert told("check", run("check", WARNED, "--json"))["findings"][0]["severity"] == "warning"
    assert told("pieces", run("pieces", folder / "job.toml", "--json"))["pieces"][0]["quantity"] == 1
    assert len(told("kinds", run("kinds", "--json"))["kinds"]) > 5
    assert told("explain", run("explain", "--json"))["sizes"]
    assert told("explain", run("explain", "apron", "--json"))["kinds"][0]["kind"] == "apron"
    assert told("settings", run("settings", folder / "job.toml", "--json"))["settings"][0]["key"] == "rolls"
    assert told("new", run("new", "apron", "--out", "-", "--json"))["file"] is None
    made = told("new", run("new", "apron", "--out", folder / "apron.toml", "--json"))
    assert Path(made["file"]).read_text() == made["text"]


def test_nests_answer_as_their_schemas_say(folder):
    nested = told("nest", run("nest", folder / "pieces.json", "--work", 0, "--json"))
    out = folder / "nest.json"
    again = told("nest", run("nest", folder / "pieces.json", "--work", 0, "--json", "--out", out))
    assert {**json.loads(out.read_text()), "findings": []} == nested == again


def test_quotes_answer_as_their_schema_says(folder):
    prices = Path(__file__).parents[2] / "fixtures" / "prices" / "invented.toml"
    asked = ("quote", folder / "job.toml", "--prices", prices, "--date", "2026-11-29", "--out", folder / "quotes")
    answer = told("quote", run(*asked, "--work", 0, "--json"))
    assert sorted(answer["files"]) == sorted(p.name for p in (folder / "quotes").iterdir())
    (quote,) = answer["quotes"]
    assert sum(Decimal(line["amount"]) for line in quote["lines"]) == Decimal(quote["total"]) > 0


def test_a_run_through_the_stock_answers_as_its_schemas_say(folder):
    path = folder / "stock.sqlite3"
    named = f"--stock={path}"
    for code in (3, 4):
        added = ("add", named, "--code", code, "--width", 600, "--length", "6 m", "--quantity", 4, "--cost", 90)
        assert len(told("stock add", run("stock", *added, "--json"))["items"]) == 4
    out = folder / "cut"
    made = told(
        "make", run("make", folder / "job.toml", "--out", out, "--work", 0, named, "--json", "--format", "json")
    )
    assert sorted(made["files"]) == sorted(str(p.relative_to(out)) for p in out.rglob("*") if p.is_file())
    assert made["account"] == json.loads((out / "yield.json").read_text())
    assert made["reserved"] is True
    name = made["run"]
    assert sorted(told("run repeat", run("run", "repeat", out, "--json"))["files"]) == sorted(made["files"])
    compared = told("run compare", run("run", "compare", out, named, "--json"))["pieces"]
    assert {row["state"] for row in compared} == {"alike"}
    assert {row["cut"] for row in compared} == {False}
    again = ("recut", out, "SO-P1-1", "--out", folder / "again", "--rolls", "ladder-30", "--work", 0, "--json")
    assert told("recut", run(*again))["of"] == name
    assert [row["run"] for row in told("run list", run("run", "list", named, "--json"))["runs"]] == [name]
    assert told("run done", run("run", "done", named, name, "cut", "--json"))["told"][0]["stage"] == "cut"
    assert told("run done", run("run", "done", named, name, "folded", "--json"))["told"][0]["stage"] == "folded"
    assert told("run show", run("run", "show", named, name, "--json"))["pieces"][0]["folded"] == 1
    assert told("stock commit", run("stock", "commit", named, name, "--json"))["items"]
    label = told("stock list", run("stock", "list", named, "--json"))["items"][0]["label"]
    assert told("stock adjust", run("stock", "adjust", named, label, "--place", "here", "--json"))["items"]
    assert told("stock history", run("stock", "history", named, "--json"))["movements"]
    assert told("stock scrap", run("stock", "scrap", named, "--json"))["scrap"]
    labels = told("stock labels", run("stock", "labels", named, "--out", folder / "labels.pdf", "--json"))
    assert labels["labels"] > 0
    assert told("stock take", run("stock", "take", named, label, "--json"))["items"] == []
    assert told("stock collect", run("stock", "collect", named, "--json"))["collected"]
    last = told("stock history", run("stock", "history", named, "--json"))["movements"][-1]["number"]
    assert told("stock undo", run("stock", "undo", named, last, "--json"))["movements"][0]["undoes"] == last
    assert told("stock check", run("stock", "check", named, "--json"))["findings"] == []
    told("stock backup", run("stock", "backup", named, folder / "copy.sqlite3", "--json"))
    again = ("make", folder / "job.toml", "--out", folder / "second", "--work", 0, named, "--json")
    second = told("make", run(*again))
    assert {Path(path).suffix for path in second["files"]} == {".html", ".json"}
    assert told("stock release", run("stock", "release", named, second["run"], "--json"))["items"]


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "faulty.toml"),
        ("pieces", "faulty.toml"),
        ("make", "faulty.toml", "--out", "none"),
        ("nest", "faulty.toml"),
        ("stock", "commit", "--stock=nothing.sqlite3", "R1"),
        ("run", "show", "--stock=nothing.sqlite3", "R1"),
        ("settings", "--settings", "gone.toml"),
    ],
)
def test_a_refusal_answers_with_its_findings_and_exits_as_before(folder, monkeypatch, arguments):
    monkeypatch.chdir(folder)
    plain, done = run(*arguments), run(*arguments, "--json")
    assert plain.returncode == done.returncode == 1
    found = json.loads(done.stdout)
    assert list(found) == ["findings"]
    assert any(finding["severity"] == "fault" for finding in found["findings"])
    refused = {"type": "object", **{k: v for k, v in answer_schema("check").items() if k != "$schema"}}
    assert Draft202012Validator(refused).is_valid(found)
    assert ANSWERS["check"] is Answer


def test_misuse_is_no_answer():
    done = run("explain", "CP999", "--json")
    assert (done.returncode, done.stdout) == (2, "")
