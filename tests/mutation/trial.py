"""Tests run on one mutant after another: the ones that run its line, the quickest first, until one fails.

The tests of a part are collected once. A fork runs all of them as the code is and notes which lines each of them ran
and how long it took; then each mutant has a fork of its own, with nothing run yet, where the code of its functions is
exchanged. What is read while modules are imported, such as a constant, cannot be exchanged so: there everything is
imported anew, in a fork of the first process, which knows the libraries alone.
"""

from __future__ import annotations

import gc
import importlib.abc
import importlib.util
import json
import os
import signal
import sys
import tempfile
import time
import traceback
import types
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.mutation.places import ROOT, Mutant, changed

OFTEN = 40
"""Calls of a function that are looked at, line by line, in one test: what it runs later is hardly ever new."""


@dataclass(slots=True)
class Ran:
    """What the tests did with the code as it is: the lines that each ran, its seconds, and which failed."""

    lines: dict[str, set[tuple[str, int]]] = field(default_factory=lambda: defaultdict(set))
    seconds: dict[str, float] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)

    def tests_of(self, mutant: Mutant) -> list[str]:
        """Return the tests for a mutant: those that run its line, quickest first, then others of the same files.

        What several tests share is made by the first of them alone, so its lines are no other's; they stand in one
        file, as a rule. What is read while modules are imported may be held by a test that runs nothing of the file.
        """
        meant = {(mutant.file, line) for line in range(mutant.first, mutant.last + 1)}
        if mutant.called:
            near = {name for name in self.seconds if not meant.isdisjoint(self.lines[name])}
        else:
            near = {
                name
                for name in self.seconds
                if not self.lines[name] or any(file == mutant.file for file, _ in self.lines[name])
            }
        files = {name.split("::")[0] for name in near}
        return sorted(
            (name for name in self.seconds if name.split("::")[0] in files),
            key=lambda name: (name not in near, "tests/golden" in name, self.seconds[name]),
        )

    def imported(self, mutant: Mutant) -> bool:
        """Whether the mutant's statement ran before the first test, while modules were imported and tests listed."""
        lines = self.lines.get("", set())
        return any((mutant.file, line) in lines for line in range(mutant.first, mutant.last + 1))


class _Tracer:
    """Notes lines of some files, under the name of whoever runs now."""

    def __init__(self, files: set[str]) -> None:
        self.ran = Ran()
        self.names = {str(ROOT / file): file for file in files}
        self.now = ""
        self.calls: dict[Any, int] = {}

    def begin(self, name: str) -> None:
        self.now, self.calls = name, {}

    def __call__(self, frame: types.FrameType, event: str, arg: object) -> Any:
        code = frame.f_code
        file = self.names.get(code.co_filename)
        if file is None:
            return None
        times = self.calls[code] = self.calls.get(code, 0) + 1
        if times > OFTEN:
            return None
        own = self.ran.lines[self.now]

        def local(frame: types.FrameType, event: str, arg: object) -> Any:
            own.add((file, frame.f_lineno))
            return local

        own.add((file, frame.f_lineno))
        return local


class _Loop:
    """Takes the collected tests from pytest, instead of running them."""

    def __init__(self, work: Callable[[list[Any]], None]) -> None:
        self.work = work

    def pytest_runtestloop(self, session: Any) -> bool:
        sys.settrace(None)
        self.work(session.items)
        return True


def _collected(tests: list[str], work: Callable[[list[Any]], None]) -> None:
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        pytest.main(["-q", "-p", "no:cacheprovider", f"--basetemp={folder}/tests", *tests], [_Loop(work)])


def in_fork(work: Callable[[], Any]) -> Any:
    """Do work in a fork and return what it gave, None where it came to no end."""
    kept = os.memfd_create("told")
    child = os.fork()
    if not child:
        try:
            with open(kept, "w", encoding="utf-8", closefd=False) as file:
                json.dump(work(), file)
        except BaseException:
            traceback.print_exc(file=sys.__stderr__)
        finally:
            os._exit(0)
    os.waitpid(child, 0)
    with open(kept, encoding="utf-8") as file:
        file.seek(0)
        told = file.read()
    return json.loads(told) if told else None


def _sound(items: list[Any], tracer: _Tracer) -> dict[str, Any]:
    """Every test once: seconds, lines, and which failed. Lines of a shared fixture are those of all who ask for it."""
    ran = tracer.ran
    lines_of: dict[int, set[tuple[str, int]]] = {}

    class Fixtures:
        @pytest.hookimpl(wrapper=True)
        def pytest_fixture_setup(self, fixturedef: Any, request: Any) -> Iterator[None]:
            if fixturedef.scope == "function":
                return (yield)
            before = tracer.now, tracer.calls
            tracer.begin(f"fixture {id(fixturedef)}")
            try:
                return (yield)
            finally:
                lines_of[id(fixturedef)] = ran.lines[tracer.now]
                tracer.now, tracer.calls = before

    failing = _Failing()
    config = items[0].config
    config.pluginmanager.register(Fixtures())
    config.pluginmanager.register(failing)
    for k, item in enumerate(items):
        tracer.begin(item.nodeid)
        begun = time.perf_counter()
        sys.settrace(tracer)
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=items[k + 1] if k + 1 < len(items) else None)
        sys.settrace(None)
        ran.seconds[item.nodeid] = time.perf_counter() - begun
        for definitions in item._fixtureinfo.name2fixturedefs.values():
            for definition in definitions:
                ran.lines[item.nodeid] |= lines_of.get(id(definition), set())
    lines = {name: sorted(lines) for name, lines in ran.lines.items() if not name.startswith("fixture ")}
    return {"seconds": ran.seconds, "failed": failing.names, "lines": lines}


class _Failing:
    def __init__(self) -> None:
        self.names: list[str] = []

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.names.append(report.nodeid)


def with_tests(files: list[str], tests: list[str], work: Callable[[list[Any], Ran], None]) -> None:
    """Collect tests, run them as the code is, and call ``work`` with them and what they did."""
    tracer = _Tracer(set(files))

    def then(items: list[Any]) -> None:
        told = in_fork(lambda: _sound(items, tracer))
        if told is None:
            raise SystemExit("the tests came to no end as the code is")
        ran = Ran(seconds=told["seconds"], failed=told["failed"])
        for name, lines in told["lines"].items():
            ran.lines[name] = {(file, line) for file, line in lines}
        work(items, ran)

    sys.settrace(tracer)
    _collected(tests, then)


def functions_of(files: list[str]) -> list[types.FunctionType]:
    """Return every function of some files that there is, with those inside of others that somebody holds."""
    names = {str(ROOT / file) for file in files}
    gc.unfreeze()
    found = [one for one in gc.get_objects() if isinstance(one, types.FunctionType) and one.__code__.co_filename in names]
    gc.freeze()
    return found


def exchange(mutant: Mutant, functions: list[types.FunctionType]) -> None:
    """Give the functions of the mutant's file the changed code. Raises LookupError where none of them is changed."""
    codes = dict(_codes(compile(changed(mutant), str(mutant.path), "exec")))
    changes = 0
    for function in functions:
        code = function.__code__
        new = codes.get(_key(code)) if code.co_filename == str(mutant.path) else None
        if new is not None and new != code and len(new.co_freevars) == len(code.co_freevars):
            function.__code__ = new
            changes += 1
    if not changes:
        raise LookupError(str(mutant))


def _key(code: types.CodeType) -> tuple[str, int, int]:
    """What tells a function of a file from all others: two lambdas may stand on one line."""
    columns = [(line, column) for line, _, column, _ in code.co_positions() if line and column]
    return code.co_qualname, code.co_firstlineno, min(columns, default=(0, 0))[1]


def _codes(code: types.CodeType) -> Iterator[tuple[tuple[str, int, int], types.CodeType]]:
    for inner in code.co_consts:
        if isinstance(inner, types.CodeType):
            yield _key(inner), inner
            yield from _codes(inner)


def killer(items: list[Any], names: list[str], ran: Ran, prepare: Callable[[], None]) -> str | None:
    """Return the test that fails on a mutant, in a fork of its own, or None where all pass.

    A test that takes ten times as long as on the code as it is, and five seconds, has failed too. Raises LookupError
    where ``prepare`` does.
    """
    by_name = {item.nodeid: item for item in items}
    chosen = [by_name[name] for name in names if name in by_name]
    if not chosen:
        return None
    kept = os.memfd_create("at")
    child = os.fork()
    if not child:
        try:
            prepare()
        except LookupError:
            os._exit(2)
        failing = _Failing()
        chosen[0].config.pluginmanager.register(failing)
        for k, item in enumerate(chosen):
            os.pwrite(kept, f"{k:8}".encode(), 0)
            signal.alarm(round(10 * ran.seconds[item.nodeid] + 5))
            after = chosen[k + 1] if k + 1 < len(chosen) else None
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            if failing.names:
                os._exit(1)
        os._exit(0)
    end = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    at = os.pread(kept, 8, 0)
    os.close(kept)
    if end == 2:
        raise LookupError("nothing to exchange")
    return chosen[int(at or b"0")].nodeid if end else None


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module from a changed tree."""

    def __init__(self, mutant: Mutant) -> None:
        parts = Path(mutant.file).with_suffix("").parts
        self.name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        self.mutant = mutant

    def find_spec(self, fullname: str, *_: object) -> Any:
        if fullname != self.name:
            return None
        package = [str(self.mutant.path.parent)] if self.mutant.path.name == "__init__.py" else None
        return importlib.util.spec_from_file_location(
            fullname, self.mutant.path, loader=self, submodule_search_locations=package
        )

    def exec_module(self, module: Any) -> None:
        exec(compile(changed(self.mutant), str(self.mutant.path), "exec"), module.__dict__)  # noqa: S102


def killer_from_imports(mutant: Mutant, names: list[str], ran: Ran) -> str | None:
    """Return the test that fails on a mutant when all is imported anew, or None where all pass."""

    def work() -> list[str | None]:
        sys.meta_path.insert(0, _Changed(mutant))
        found: list[str | None] = []
        signal.alarm(300)
        _collected(
            sorted({name.split("::")[0] for name in names}),
            lambda items: found.append(killer(items, names, ran, lambda: None)),
        )
        return found

    told = in_fork(work)
    return told[0] if told else "while modules are imported"
