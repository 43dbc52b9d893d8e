"""Job files with slips in them are planned or refused in words, never with a traceback, and never for long."""

from __future__ import annotations

import copy
import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutpath.errors import CODES, Refused
from cutpath.pipeline import plan

GOOD = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"
JOBS = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(GOOD.glob("*.toml"))}

SLIPS = (1e-12, 1e-5, 0.001, 0.01, 0.0394, 0.1, 0.5, 1.5, 2.0, 10.0, 25.4, 100.0, 1000.0, -1.0, 0.0)
"""What a slip makes of a figure: metres for millimetres and the other way, inches, a digit, half, twice, a sign."""


def to_toml(value: object) -> str:
    """Write plain data as an inline TOML value."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {to_toml(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(to_toml, value)) + "]"
    return json.dumps(value)


def slots(value: object) -> list[tuple[dict | list, str | int]]:
    """Every place in a file that holds no table or list, as its holder and its key there."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    out = []
    for key, item in items:
        out += slots(item) if isinstance(item, (dict, list)) else [(value, key)]
    return out


def slipped(value: object, slip: float) -> object:
    """What a slip makes of one value: of numbers, another number; of text with a unit, text with another figure."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int) and (value * slip).is_integer():
        return int(value * slip)
    if isinstance(value, (int, float)):
        return value * slip
    head, _, unit = str(value).partition(" ")
    return f"{float(head) * slip:.9f} {unit}" if unit and head.replace(".", "").isdigit() else value


def planned(tmp_path: Path, job: dict) -> None:
    """Plan a job; whatever stands in it, there are findings or pieces."""
    path = tmp_path / "job.toml"
    path.write_text("".join(f"{key} = {to_toml(value)}\n" for key, value in job.items()), encoding="utf-8")
    try:
        findings = plan([path]).findings
    except Refused as refusal:
        findings = refusal.findings
    assert all(f.code in CODES and f.found and f.accepted and f.remedy for f in findings)


def mutated(tmp_path: Path, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(JOBS)))
    job = copy.deepcopy(JOBS[name])
    for _ in range(data.draw(st.integers(1, 3))):
        what = data.draw(st.sampled_from(["slip", "slip", "slip", "drop", "confirm"]))
        holder, key = data.draw(st.sampled_from(slots(job)))
        if what == "drop":
            del holder[key]
        else:
            holder[key] = slipped(holder[key], data.draw(st.sampled_from(SLIPS)))
            if what == "confirm" and isinstance(holder, dict) and isinstance(key, str):
                holder["confirmed"] = [key]
    planned(tmp_path, job)


ANYWHERE = {"deadline": None, "suppress_health_check": [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]}


@settings(max_examples=20, **ANYWHERE)
@given(st.data())
def test_a_good_job_with_slips(tmp_path: Path, data: st.DataObject) -> None:
    mutated(tmp_path, data)


@pytest.mark.slow
@settings(max_examples=1500, **ANYWHERE)
@given(st.data())
def test_good_jobs_with_many_slips(tmp_path: Path, data: st.DataObject) -> None:
    mutated(tmp_path, data)


@pytest.mark.parametrize(
    "detail",
    [
        {"kind": "ridge saddle", "width": 0.45, "length": 0.45},
        {"kind": "ridge saddle", "width": 450, "length": 120},
        {
            "kind": "ridge saddle",
            "width": 0.6,
            "length": 0.6,
            "upstand": 0.7,
            "confirmed": ["width", "length", "upstand"],
        },
        {"kind": "cover flashing", "length": 1e-9},
        {"kind": "cover flashing", "length": 1e-9, "confirmed": ["length"]},
        {
            "kind": "cover flashing",
            "length": 0.6,
            "cover": 0.6,
            "turn_in": 0.6,
            "confirmed": ["length", "cover", "turn_in"],
        },
        {"kind": "lead slate", "pipe": 0.7, "confirmed": ["pipe"]},
        {"kind": "valley gutter", "length": 2, "width": 3, "confirmed": ["length", "width"]},
        {"kind": "apron", "width": 0.8, "upstand": 0.9, "confirmed": ["width", "upstand"]},
        {"kind": "back gutter", "width": 0.8, "sole": 0.9, "up_roof": 1, "confirmed": ["width", "sole", "up_roof"]},
        {"kind": "soakers", "count": 3, "upstand": 0.9, "roof": 0.8, "confirmed": ["upstand", "roof"]},
        {"kind": "outline", "points": [[0, 0], [1e-9, 0], [0, 1e-9]]},
        {
            "kind": "step flashing",
            "length": 100000,
            "coursing": {"gauge": 20, "first_joint": 90, "confirmed": ["gauge"]},
            "confirmed": ["length"],
        },
    ],
)
def test_sizes_that_no_piece_has(tmp_path: Path, detail: dict) -> None:
    planned(tmp_path, {"name": "J", "pitch": 40, "covering": "plain tile 265", "detail": [detail]})


@pytest.mark.parametrize("lead", [4, {"apron": "x"}, {"step_flashing": 2}, {"step_flashing": 44}])
def test_a_chimney_beside_faulty_lead_shows_the_fault(tmp_path: Path, lead: object) -> None:
    path = tmp_path / "job.toml"
    chimney = {"kind": "chimney", "width": 600, "depth": 600, "coursing": {"gauge": 75, "first_joint": 110}}
    job = {"name": "J", "pitch": 40, "covering": "plain tile 265", "lead": lead, "detail": [chimney]}
    path.write_text("".join(f"{key} = {to_toml(value)}\n" for key, value in job.items()), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        plan([path])
    assert any(f.where.startswith(f"{path}: lead") or "code 2" in f.found for f in refused.value.findings)


def test_a_dotted_key_900_deep_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        f'name = "J"\n{".".join(["a"] * 900)} = 1\n[[detail]]\nkind = "apron"\nwidth = 800\n', encoding="utf-8"
    )
    with pytest.raises(Refused) as refused:
        plan([path])
    assert [f.code for f in refused.value.findings] == ["CP102"]
