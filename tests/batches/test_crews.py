"""Real crews: processes of this machine, one killed half way, and a Dask cluster; the same bytes from each."""

from __future__ import annotations

import json
import subprocess
import sys
from contextlib import nullcontext
from multiprocessing import active_children
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from cutpath.batches import crews
from cutpath.batches.listing import read_list
from cutpath.batches.many import How, State, make_all
from cutpath.cli import batches as command
from cutpath.cli.answers import answer_schema
from cutpath.errors import Refused
from tests.batches.listed import Elsewhere, laid_out
from tests.cli.running import run
from tests.cli.test_answers import told
from tests.output.made import held

pytestmark = pytest.mark.nests

STATES = [State.MADE, State.FAILED, State.MADE]


@pytest.fixture
def night(tmp_path, monkeypatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return laid_out(Path())


def test_processes_make_the_same_though_one_is_killed(night):
    entries = read_list(night)
    with crews.processes(1) as crew:
        assert [o.state for o in make_all(entries, crew, How(str), kill_one)] == STATES
    assert active_children() == []
    killed = held(Path("cut"))
    assert [o.state for o in make_all(entries, one_after_another(), How(str, replace_old=True))] == STATES
    assert held(Path("cut")) == killed


def one_after_another() -> crews.Crew:
    return crews.Crew(lambda: Elsewhere(Path("elsewhere")), lambda: 1)


def kill_one(outcome) -> None:
    if outcome.entry.name == "north":
        (child,) = active_children()
        child.kill()
        child.join()


def test_the_command_tells_each_and_exits_with_1_where_one_failed(night, monkeypatch):
    monkeypatch.setattr(command, "_crew", lambda *_: nullcontext(one_after_another()))
    done = run("batches", night, "--json")
    assert done.returncode == 1
    answer = json.loads(done.stdout)
    assert Draft202012Validator(answer_schema("batches")["anyOf"][0]).is_valid(answer)
    assert [row["state"] for row in answer["batches"]] == STATES
    assert "2 of 3" in done.stderr
    assert "jobs/gone.toml" in done.stderr
    night.write_text(night.read_text().replace("jobs/bad.toml", "jobs/b.toml").replace(', "jobs/gone.toml"', ""))
    rows = told("batches", run("batches", night, "--json", "--missing"))["batches"]
    assert [row["state"] for row in rows] == ["there", "made", "there"]
    plain = run("batches", night, "--replace")
    assert plain.returncode == 0
    assert [line.split()[:4] for line in plain.stdout.splitlines()[2:]] == [
        ["north", "made", "3", "1"],
        ["bad", "made", "5", "1"],
        ["south", "made", "5", "1"],
    ]


@pytest.mark.parametrize("both", [("--workers", 2, "--cluster", "tcp://x:1"), ("--replace", "--missing")])
def test_what_does_not_go_together_is_misuse(night, both):
    assert run("batches", night, *both).returncode == 2


@pytest.mark.parametrize("address", ["nonsense", "tcp://127.0.0.1", "tcp://127.0.0.1:x"])
def test_what_is_no_address_is_told_before_a_client_is_made(address, monkeypatch):
    made = []
    monkeypatch.setattr("distributed.Client", lambda *asked, **_: made.append(asked))
    with pytest.raises(Refused) as refusal, crews.cluster(address):
        pass
    assert ([f.code for f in refusal.value.findings], made) == (["CP709"], [])


def test_a_cluster_that_is_not_there_is_told(monkeypatch):
    monkeypatch.setattr(crews, "_REACH_S", 0.2)
    with pytest.raises(Refused) as refusal, crews.cluster("tcp://127.0.0.1:9"):
        pass
    assert [f.code for f in refusal.value.findings] == ["CP709"]


CLUSTER = """
import json, os, signal
from pathlib import Path
from distributed import Client, LocalCluster
from cutpath.batches import crews
from cutpath.batches.listing import read_list
from cutpath.batches.many import How, make_all

killed = []

def kill_one(outcome):
    if outcome.account is not None and not killed:
        busy = next(address for address, tasks in client.processing().items() if tasks)
        worker = next(nanny for nanny in cluster.workers.values() if nanny.worker_address == busy)
        os.kill(worker.process.pid, signal.SIGKILL)
        killed.append(busy)

if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, local_directory="dask") as cluster:
        with Client(cluster.scheduler_address) as client, crews.cluster(cluster.scheduler_address) as crew:
            outcomes = make_all(read_list(Path("list.toml")), crew, How(str), kill_one)
    print(json.dumps([[o.state for o in outcomes], len(killed)]))
"""


@pytest.mark.slow
def test_a_cluster_makes_the_same_though_a_busy_worker_is_killed(night):
    more = "".join(f'[[batch]]\njobs = ["jobs/b.toml"]\nfolder = "cut/{n}"\nseed = {n}\n' for n in range(5))
    night.write_text(night.read_text() + more)
    Path("cluster.py").write_text(CLUSTER)
    done = subprocess.run([sys.executable, "cluster.py"], capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.splitlines()[-1]) == [[*STATES, *[State.MADE] * 5], 1]
    clustered = held(Path("cut"))
    assert run("batches", night, "--workers", 1, "--replace").returncode == 1
    assert held(Path("cut")) == clustered
