"""The schema helps an editor: every key is described, with its unit, and knows what may be written."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cutpath.jobs import job_schema

SCHEMA = job_schema()
GOOD = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"
UNIT = re.compile(r"\bmm\b|degrees|when the drawing")


def tables() -> Iterator[tuple[str, dict[str, Any]]]:
    yield "job", SCHEMA
    yield from SCHEMA["$defs"].items()


def test_it_is_json() -> None:
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA
    assert SCHEMA["$schema"].endswith("2020-12/schema")


@pytest.mark.parametrize("name", [name for name, _ in tables()])
def test_every_key_says_what_it_is_and_its_unit(name: str) -> None:
    table = dict(tables())[name]
    assert table["additionalProperties"] is False
    assert table["properties"]
    for key, entry in table["properties"].items():
        assert entry["description"], f"{name}.{key}"
        if '"number"' in json.dumps(entry):
            assert UNIT.search(entry["description"]), f"{name}.{key}: {entry['description']}"


def test_every_reference_leads_somewhere() -> None:
    names = re.findall(r'"#/\$defs/(\w+)"', json.dumps(SCHEMA))
    assert set(names) == set(SCHEMA["$defs"])


def test_lengths_take_numbers_and_text() -> None:
    entry = SCHEMA["$defs"]["StepFlashingTable"]["properties"]["length"]
    assert entry["anyOf"] == [{"type": "number"}, {"type": "string"}]


def test_keys_are_the_words_that_a_user_writes() -> None:
    keys = SCHEMA["$defs"]["StepFlashingTable"]["properties"]
    assert "return" in keys
    assert not [key for key in keys if key.endswith("_")]


@pytest.mark.parametrize("path", sorted(GOOD.glob("*.toml")), ids=lambda path: path.stem)
def test_the_demonstration_jobs_use_keys_of_the_schema(path: Path) -> None:
    job = tomllib.loads(path.read_text(encoding="utf-8"))
    assert job.keys() <= SCHEMA["properties"].keys()
    kinds = {
        entry["properties"]["kind"]["const"]: entry
        for entry in SCHEMA["$defs"].values()
        if "kind" in entry["properties"] and "const" in entry["properties"]["kind"]
    }
    for detail in job["detail"]:
        entry = kinds[detail["kind"]]
        assert detail.keys() <= entry["properties"].keys()
        assert detail.keys() >= set(entry["required"])
