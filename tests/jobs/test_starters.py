"""Kinds of detail as they are listed, and starter files: one for every kind, and each passes as it is written."""

from __future__ import annotations

import json
import re
import tomllib

import pytest
from click.testing import CliRunner

from cutpath import pipeline
from cutpath.cli import cutpath
from cutpath.errors import Severity
from cutpath.jobs.schema import job_schema
from cutpath.jobs.starters import kinds, starter
from cutpath.profiles import coverings

KINDS = kinds()
NAMES = [kind.kind for kind in KINDS]


def run(*arguments: object):
    return CliRunner().invoke(cutpath, [str(a) for a in arguments])


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_a_starter_passes_as_it_is_and_explains_every_other_key(kind, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(starter(kind.kind))
    findings = pipeline.plan([path]).findings
    assert [f for f in findings if f.severity is not Severity.NOTE] == []
    (detail,) = tomllib.loads(path.read_text())["detail"]
    assert detail["kind"] == kind.kind
    for key in kind.keys:
        assert key.name in detail or f"# {key.name}: " in path.read_text(), key
        assert key.says
        assert not key.needed or key.name in detail
    assert all(name in path.read_text() for name in coverings())
    assert max(map(len, path.read_text().splitlines())) <= 120


@pytest.mark.parametrize("words", ["top edge abutment", "Top-Edge-Abutment", "top-edge  abutment"])
def test_a_kind_is_known_with_hyphens_or_spaces(words):
    assert run("kinds", words).exit_code == 0


@pytest.mark.parametrize(("words", "name"), [(["apron"], "it.toml"), (["order", "sheet"], "it.csv")])
def test_a_file_that_is_there_is_told_without_an_option_that_new_has_not(words, name, tmp_path):
    (tmp_path / name).write_text("mine")
    told = run("new", *words, "--out", tmp_path / name).exception.findings[0]
    assert (told.code, "--replace" in told.remedy) == ("CP701", False)


def test_new_writes_the_file_once(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = run("new", "step", "flashing")
    assert done.exit_code == 0
    assert "cutpath check step-flashing.toml" in done.stderr
    (tmp_path / "step-flashing.toml").write_text("mine")
    assert run("new", "step", "flashing").exit_code == 1
    assert (tmp_path / "step-flashing.toml").read_text() == "mine"
    assert run("new", "apron", "--out", "-").stdout == starter("apron")
    wrong = run("new", "aprron")
    assert (wrong.exit_code, "Did you mean apron?" in wrong.stderr) == (2, True)


def test_kinds_lists_all_or_one_with_its_keys():
    listed = run("kinds").stdout
    assert all(name in listed for name in NAMES)
    one = run("kinds", "Apron").stdout
    assert "* width" in one
    assert "how the corners are made: bossed or welded" in one
    outline = " ".join(run("kinds", "outline").stdout.split())
    assert "unit of the drawing, when the drawing does not say: mm, cm, m, in or ft" in outline
    assert "exposure to wind and rain: sheltered, moderate or severe" in run("new", "apron", "--out", "-").stdout
    assert "upstand" in one
    assert [k["kind"] for k in json.loads(run("kinds", "--json").stdout)["kinds"]] == NAMES
    assert json.loads(run("kinds", "apron", "--json").stdout)["kinds"][0]["keys"][0]["name"] == "width"
    assert run("kinds", "chimny").exit_code == 2


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_a_kind_is_told_with_the_keys_of_its_tables_down_to_the_last(kind):
    """Those of coursing, returns and fillets stood in the schema alone."""
    told = run("kinds", kind.kind).stdout
    schema = job_schema()["$defs"]
    (table,) = (own for own in schema.values() if own.get("properties", {}).get("kind", {}).get("const") == kind.kind)
    waiting, seen = [table], set()
    while waiting:
        for key in re.findall(r'"#/\$defs/(\w+)"', json.dumps(waiting.pop())):
            if key not in seen and schema[key].get("properties"):
                seen.add(key)
                waiting.append(schema[key])
                names = set(schema[key]["properties"])
                assert all(f"\n  {name} " in told or f"\n* {name} " in told for name in names), key
    assert ("along_water_line" in told) == ("coursing" in told)


def test_a_starter_names_the_keys_of_each_table_that_it_explains():
    told = " ".join(starter("step flashing").replace("\n#", "").split())
    assert " return: return round the arris, lengths in mm: { length, kind, joint, foot }" in told
    assert "{ length, pitch }" in told
    assert "lead code by use, such as { apron = 5, step_flashing = 5 }: { step_flashing, soakers, apron," in told


def test_explain_answers_with_the_keys_of_a_kind():
    assert run("explain", "apron").stdout == run("kinds", "apron").stdout
    assert json.loads(run("explain", "step", "flashing", "--json").stdout)["kinds"][0]["kind"] == "step flashing"


def test_explain_says_what_was_probably_meant():
    assert "Did you mean apron?" in run("explain", "aprons").stderr
    assert "Did you mean turn_in?" in run("explain", "turnin").stderr
    assert "`cutpath explain` lists codes and rules" in run("explain", "bogus").stderr
    assert "It is a key, of which `cutpath kinds step flashing` tells." in run("explain", "coursing").stderr
    assert "It is a key, of which `cutpath kinds step flashing` tells." in run("explain", "second_reading").stderr
    assert "It is a key of a job, of which `cutpath new` tells." in run("explain", "covering").stderr
