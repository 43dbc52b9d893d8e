"""What every test stands on: the same random cases in each run of the gate, no deadlines, and one compiled search."""

from __future__ import annotations

import builtins
import gc
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

# Each start of the program in a test would compile all of its modules; other runs of the tests read what is kept, too,
# and what is imported from here on is kept for the workers.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import pytest  # noqa: E402
from _pytest.runner import runtestprotocol  # noqa: E402
from hypothesis import HealthCheck, settings  # noqa: E402

ROOT = Path(__file__).parents[1]

# Whoever runs the tests may have settings of their own.
os.environ["XDG_CONFIG_HOME"] = str(ROOT / "tests" / "no-settings")

# How long an example takes says nothing on a busy machine. The gate has the same cases in each run; `for_all` has
# others in the long runs.
settings.register_profile(
    "gate", deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("gate")

# What is written is waited for until it is safe on the disk; in memory it is at once.
MEMORY = Path("/dev/shm")  # noqa: S108 - the folders in it are pytest's, each run has its own
if os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > 2e9:
    tempfile.tempdir = os.environ.setdefault("TMPDIR", str(MEMORY))

_sum = builtins.sum


def sum_alike(values, /, start=0):
    """Refuse to add up floats for cutpath: `sum` rounds otherwise since Python 3.12, `math.fsum` alike in all."""
    total = _sum(values, start)
    if isinstance(total, float) and str(sys._getframe(1).f_globals.get("__name__")).startswith("cutpath"):
        raise AssertionError("floats are added up by math.fsum, which gives the same bytes on every Python")
    return total


builtins.sum = sum_alike

# While tests are listed and modules read, next to nothing becomes garbage.
gc.disable()

COMPILE = """
from cutpath.nesting import nest
from cutpath.values.nest import Blank, Budget, NestProblem, Roll
for corner in (0.0, 40.0):  # a rectangle for lanes, and one without straight sides for free placement
    ring = ((corner, 0.0), (100.0, corner), (100.0 - corner, 100.0), (0.0, 100.0 - corner))
    nest(NestProblem((Blank("A", 3, ring),), (Roll(300.0, 3000.0),)), Budget(work=1))
"""
_compiling: list[subprocess.Popen[bytes]] = []


def pytest_sessionstart(session):
    """Where several workers run, compile the search beside them, so that they do not each do so."""
    if getattr(session.config.option, "numprocesses", None) and not hasattr(session.config, "workerinput"):
        _compiling.append(subprocess.Popen([sys.executable, "-c", COMPILE], cwd=ROOT))


def pytest_sessionfinish():
    gc.collect()  # what its garbage raises is told, and what is left need not be looked through three times more
    gc.freeze()
    for process in _compiling:
        process.wait()


LONG = {
    "test_again.py",
    "test_commands.py",
    "test_crews.py",
    "test_free.py",
    "test_nest.py",
    "test_simulated_runs.py",
    "test_stock.py",
    "test_struck.py",
}
"""Of the files that nest, those that take longest."""


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector):
    """Let every other worker list the tests from the end: each so compiles half of the modules for the other."""
    report = yield
    worker = getattr(collector.config, "workerinput", {}).get("workerid", "gw0")
    if isinstance(collector, pytest.Directory) and int(worker.removeprefix("gw")) % 2:
        report.result.reverse()
    return report


def pytest_collection_modifyitems(items):
    """Put what nests last, when the search is compiled, and of it the longest first, so that no worker ends alone."""
    items.sort(
        key=lambda item: (item.get_closest_marker("nests") is not None, item.path.name not in LONG, item.path.parts)
    )


LISTED_S = 0.005
"""What takes longer is listed by ``--durations``."""

_fetched: list[str] = []


def pytest_runtest_setup(item):
    """Watch what fetches compiled code of the search, or compiles it; its tests load it as they are listed."""
    lean = sys.modules.get("cutpath.nesting.lean")
    if lean is None or hasattr(lean.Outer.compile, "watched"):
        return
    real = lean.Outer.compile

    def compile_(self, signature):
        _fetched.append(self.py_func.__name__)
        return real(self, signature)

    compile_.watched = True
    lean.Outer.compile = compile_


def pytest_runtest_teardown(item):
    """Fail what would compile the search before others do, in a fresh clone."""
    names = tuple(_fetched)
    _fetched.clear()
    if names and item.get_closest_marker("nests") is None:
        pytest.fail(f"it takes {names[0]} of the compiled search, so its file needs the mark `nests`")


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item, nextitem):
    """Have workers tell of each test once; of making it ready and putting it away where that failed or took long.

    Of thousands of small tests three reports each took a tenth of the time.
    """
    if not hasattr(item.config, "workerinput"):
        return None
    where = {"nodeid": item.nodeid, "location": item.location}
    if item.config.option.verbose > 0:
        item.ihook.pytest_runtest_logstart(**where)
    for report in runtestprotocol(item, log=False, nextitem=nextitem):
        if report.when == "call" or not report.passed or report.duration > LISTED_S:
            report.keywords = {} if report.passed else report.keywords  # nobody reads them
            item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(**where)
    return True


def pytest_collection_finish():
    """Leave the modules and the list of tests, which stay to the end, out of what is looked through for garbage."""
    gc.freeze()
    gc.set_threshold(20_000, 10, 10)
    gc.enable()


if importlib.util.find_spec("xdist"):
    from xdist.scheduler import LoadFileScheduling

    def pytest_xdist_make_scheduler(config, log):
        """Give a file of tests to one worker, so that what they share is made once; files as they are collected."""
        config.option.loadscopereorder = False
        return _ByFile(config, log)

    class _ByFile(LoadFileScheduling):
        def _split_scope(self, nodeid):
            file = super()._split_scope(nodeid)
            return _WITH.get(file, file)

    _WITH = {
        "tests/reports/words/test_rendered.py": "tests/golden/test_corpus.py",
        "tests/drawing/test_edges.py": "tests/drawing/test_paths.py",
        "tests/drawing/test_fold_letters.py": "tests/drawing/test_paths.py",
        "tests/families/test_front_views.py": "tests/families/test_step_views.py",
        "tests/families/test_gutter_views.py": "tests/families/test_step_views.py",
        "tests/test_choices.py": "tests/test_imports.py",
        "tests/test_feature_names.py": "tests/test_imports.py",
        "tests/test_small_numbers.py": "tests/test_imports.py",
    }
    """Files whose tests take what those of another file have made: pages, pictures, parsed sources."""
