"""What a remedy says to write is a key of the table that it is written in."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from cutpath.errors import Finding, Refused
from cutpath.jobs.schema import JobFile
from cutpath.pipeline import plan

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
JOBS = sorted(path for folder in ("broken", "warnings", "jobs") for path in (FIXTURES / folder).glob("*.toml"))

TOP = 'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\n'
JOINTS = "[44, 120, 195, 270, 346, 421, 497, 572, 648, 723, 799, 874]"
THIN = f"{JOINTS.replace('195,', '195, 203,')}, odd_joints = [4]"
STACK = 'kind = "chimney"\nwidth = 600\n'
CHANGE = (
    'kind = "step flashing"\nlength = 263\npitch = 45\nriser = 70\nskip_joints = [2]\n'
    "above = [{ length = 752, pitch = 53 }]\n"
)
MORE = {
    "chimney-thin-course": (f"{STACK}depth = 600\ncoursing = {{ joints = {THIN} }}\n", "step_flashing.skip_joints"),
    "chimney-short-fold": (f"{STACK}depth = 475\ncoursing = {{ joints = {JOINTS} }}\n", "step_flashing.skip_joints"),
    "chimney-skipped": (
        f'{STACK}depth = 600\ncoursing = {{ joints = {THIN} }}\nstep_flashing = {{ short_steps = "skip" }}\n',
        "step_flashing.short_steps",
    ),
    "above-a-change": (
        f"{CHANGE}coursing = {{ joints = [107, 266, 421, 572, 684, 809, 959, 1124, 1292] }}\n",
        "skip_joints",
    ),
    "metres": ('kind = "lead slate"\npipe = 4\n', "confirmed"),
    "joint-left-out": (
        'kind = "step flashing"\nlength = 300\ncoursing = { joints = [120, 195, 345, 420] }\n',
        "odd_joints",
    ),
    "key-of-a-coursing": (
        'kind = "step flashing"\nlength = 300\njoints = [120, 195, 270, 345, 420]\n',
        "coursing.joints",
    ),
    "key-of-a-part": ('kind = "chimney"\nwidth = 600\ndepth = 600\nskip_joints = [3]\n', "step_flashing.skip_joints"),
}
"""Jobs whose findings name keys, and a key that one of them has to name."""

ADVICE = re.compile(r"(?<![\w.])([a-z_]+(?:\[\d+\])?(?:\.[a-z_]+)*) = ")

INLINE = re.compile(r"([a-z_]+) = \{ ([a-z_]+) = ")
"""A key in a table written on one line is the same as a dotted key."""


def models_of(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in models_of(part)]


def below(models: list[type[BaseModel]], key: str) -> list[type[BaseModel]] | None:
    """Tables that may stand under a key of any of ``models``; None where none of them has it."""
    fields = [field for model in models for name, field in model.model_fields.items() if key == (field.alias or name)]
    return [inner for field in fields for inner in models_of(field.annotation)] if fields else None


def takes(models: list[type[BaseModel]], dotted: str) -> bool:
    """Tell whether a dotted key can be written in any of the tables."""
    for key in dotted.split("."):
        inner = below(models, key)
        if inner is None:
            return False
        models = inner
    return True


def tables_at_hand(job: dict[str, Any], path: str) -> Iterator[list[type[BaseModel]]]:
    """The tables of a job along a key path, as far as the user has written them: the whole file first."""
    models: list[type[BaseModel]] = [JobFile]
    here: Any = job
    yield models
    for step in path.split("."):
        key, _, place = step.partition("[")
        if not isinstance(here, dict) or key not in here:
            return
        here, models = here[key], below(models, key) or []
        if place and isinstance(here, list):
            at = int(place.rstrip("]")) - 1
            here = here[at] if at < len(here) else None
        if isinstance(here, dict):
            if key == "detail":
                own = [m for m in models if here.get("kind") in get_args(m.model_fields["kind"].annotation)]
                models = own or models
            yield models


def advised(finding: Finding) -> list[str]:
    return ADVICE.findall(INLINE.sub(r"\1.\2 = ", finding.remedy))


def in_vain(path: Path) -> tuple[list[str], list[str]]:
    """Plan a job; give the keys that its findings advise, and those that no table at hand takes."""
    text = path.read_text(encoding="utf-8")
    try:
        findings = plan([path]).findings
    except Refused as refusal:
        findings = refusal.findings
    keys, wrong = [], []
    for finding in findings:
        if advised(finding):
            place = finding.where.removeprefix(str(path)).removeprefix(": ").partition(" (")[0]
            hand = list(tables_at_hand(tomllib.loads(text), place))
            near = hand[-1:] if "same table" in finding.remedy else hand
            for key in advised(finding):
                keys.append(key)
                if not any(takes(models, key) for models in near):
                    wrong.append(f"{key} at {place}: {finding.remedy}")
    return keys, wrong


@pytest.mark.parametrize("path", JOBS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_advice_names_keys_of_the_table_at_hand(path: Path) -> None:
    assert in_vain(path)[1] == []


@pytest.mark.parametrize("name", MORE)
def test_advice_on_more_jobs_names_keys_of_the_table_at_hand(tmp_path: Path, name: str) -> None:
    text, key = MORE[name]
    path = tmp_path / "job.toml"
    path.write_text(TOP + text, encoding="utf-8")
    keys, wrong = in_vain(path)
    assert wrong == []
    assert key in keys


def test_a_key_that_the_table_at_hand_does_not_take_is_seen() -> None:
    job = {"name": "J", "detail": [{"kind": "chimney", "width": 600, "coursing": {"joints": [3]}}]}
    hand = list(tables_at_hand(job, "detail[1].step_flashing.coursing"))
    assert not any(takes(models, "skip_joints") for models in hand)
    assert takes(hand[-1], "step_flashing.skip_joints")
