"""Whatever is written in a job file, it is surveyed or refused in words, never with a traceback."""

from __future__ import annotations

import copy
import json
import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import example
from hypothesis import strategies as st

from cutpath.errors import CODES, Refused, faults
from cutpath.families.checking import check_rules
from cutpath.jobs import load_jobs, read_jobs
from cutpath.profiles import practice
from tests.properties.surveys import for_all, letters

GOOD = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"
JOBS = [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(GOOD.glob("*.toml"))]
ODD = st.one_of(
    st.sampled_from(
        [0, -1, 1, 3, 1e9, -1e300, 10**400, float("inf"), float("nan"), True, False, "", "1.2 m", "35 deg", "-3 in"]
    ),
    st.sampled_from([[], {}, [[]], [{}], [1, 2], {"rise": 1, "run": 0}, {"joints": []}, "left", "stack", "gable"]),
    st.floats(),
    st.text(letters, max_size=8),
)
KEYS = st.sampled_from(
    [
        "length",
        "pitch",
        "kind",
        "coursing",
        "soakers",
        "return",
        "riser",
        "riser_from",
        "water_line",
        "points",
        "dxf",
        "gauge",
        "joints",
        "second_reading",
        "label",
        "quantity",
        "turn_in",
        "covering",
        "name",
        "lead",
        "skip_joints",
        "x",
    ]
)


def to_toml(value: object) -> str:
    """Write plain data as an inline TOML value."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {to_toml(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(to_toml(item) for item in value) + "]"
    if isinstance(value, str):
        return json.dumps(value.encode("utf-8", "ignore").decode()).replace("\x7f", "\\u007f")
    return str(value)


def tables(value: object) -> list[dict[str, object]]:
    """Every table of a file, the whole one first."""
    if isinstance(value, dict):
        return [value, *(table for item in value.values() for table in tables(item))]
    if isinstance(value, list):
        return [table for item in value for table in tables(item)]
    return []


def work(path: Path) -> None:
    """Take a file through reading and rules; every finding must be whole and in its own file."""
    jobs, findings = read_jobs([path])
    found = [*findings, *(f for job in jobs for f in check_rules(job, practice()))]
    for finding in found:
        assert finding.code in CODES
        assert finding.where.startswith(str(path))
        assert finding.found
        assert finding.accepted
        assert finding.remedy
        assert "Traceback" not in str(finding)
    if not faults(findings):
        assert load_jobs([path])[0] == jobs
        return
    with pytest.raises(Refused):
        load_jobs([path])


def worked(text: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_bytes(text)
        work(path)


@for_all(st.data())
def test_a_good_job_with_odd_values(data: st.DataObject) -> None:
    job = copy.deepcopy(data.draw(st.sampled_from(JOBS)))
    for _ in range(data.draw(st.integers(1, 4))):
        table = data.draw(st.sampled_from(tables(job)))
        match data.draw(st.sampled_from(["change", "drop", "add"])):
            case "add":
                table[data.draw(KEYS)] = copy.deepcopy(data.draw(ODD))
            case what if table:
                key = data.draw(st.sampled_from(sorted(table)))
                if what == "drop":
                    del table[key]
                else:
                    table[key] = copy.deepcopy(data.draw(ODD))
    worked("".join(f"{json.dumps(key)} = {to_toml(value)}\n" for key, value in job.items()).encode())


@for_all(st.text(letters, max_size=200))
@example("detail = 3\n")
@example("[detail]\nkind = 'apron'\n")
@example("name = 'J'\ncoursing = [1]\n[[detail]]\nkind = 'outline'\npoints = [[0, 0], [1, 0, 2], 3]\n")
def test_any_text(text: str) -> None:
    worked(text.encode("utf-8", "surrogatepass"))


@for_all(st.data())
def test_a_good_file_with_lines_lost_and_doubled(data: st.DataObject) -> None:
    lines = data.draw(st.sampled_from(sorted(GOOD.glob("*.toml")))).read_text(encoding="utf-8").splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        lines[at : at + 1] = data.draw(st.sampled_from([[], [lines[at]] * 2, [lines[at][: len(lines[at]) // 2]]]))
    worked("\n".join(lines).encode())
