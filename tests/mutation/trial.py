"""Tests run on one mutant after another: the ones that run its line, the quickest first, until one fails.

The tests of a part are collected once. Forks run all of them as the code is, and note which lines each of them ran and
how long it took; then each mutant has a fork of its own, with nothing run yet, where the code of its functions is
exchanged. What is read while modules are imported, such as a constant, cannot be exchanged so: there everything is
imported anew, in a fork of the first process, which knows the libraries alone.
"""

from __future__ import annotations

import gc
import hashlib
import importlib.abc
import importlib.util
import json
import os
import signal
import sys
import tempfile
import traceback
import types
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.mutation.places import ROOT, Mutant, changed

OFTEN = 40
"""Calls of a function that are looked at, line by line, in one test: what it runs later is hardly ever new."""

Lines = dict[str, set[tuple[str, int]]]


@dataclass(slots=True)
class Ran:
    """What tests did with the code as it is: lines that each ran, by file, its processor's seconds, which failed."""

    lines: Lines = field(default_factory=lambda: defaultdict(set))
    seconds: dict[str, float] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)

    def tests_of(self, mutant: Mutant, patience_s: float) -> list[str]:
        """Return the tests for a mutant: those that run its line, quickest first, then others of the same files.

        What several tests share is made by the first of them alone, so its lines are no other's; they stand in one
        file, as a rule. What is read while modules are imported may be held by a test that runs nothing of the file.
        No more of them than are done, as the code is, within ``patience_s``.
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
        chosen = []
        for name in sorted(
            (name for name in self.seconds if name.split("::")[0] in files),
            key=lambda name: (name not in near, "tests/golden" in name, self.seconds[name]),
        ):
            patience_s -= self.seconds[name]
            if patience_s < 0:
                break
            chosen.append(name)
        return chosen

    def imported(self, mutant: Mutant) -> bool:
        """Whether the mutant's statement ran before the first test, while modules were imported and tests listed."""
        return any((mutant.file, line) in self.lines[""] for line in range(mutant.first, mutant.last + 1))


class _Tracer:
    """Notes lines of some files, under the name of whoever runs now."""

    def __init__(self, files: Sequence[str]) -> None:
        self.lines: Lines = defaultdict(set)
        self.names = {str(ROOT / file): file for file in files}
        self.begin("")

    def begin(self, name: str) -> None:
        self.now = name
        self.calls: dict[types.CodeType, int] = {}

    def __call__(self, frame: types.FrameType, _event: str, _arg: object) -> Any:
        code = frame.f_code
        file = self.names.get(code.co_filename)
        if file is None:
            return None
        times = self.calls[code] = self.calls.get(code, 0) + 1
        if times > OFTEN:
            return None
        own = self.lines[self.now]

        def local(frame: types.FrameType, _event: str, _arg: object) -> Any:
            own.add((file, frame.f_lineno))
            return local

        return local(frame, "", None)


class _Loop:
    """Takes the collected tests from pytest, instead of running them."""

    def __init__(self, work: Callable[[list[Any]], None]) -> None:
        self.work = work

    def pytest_runtestloop(self, session: Any) -> bool:
        sys.settrace(None)
        self.work(session.items)
        return True


def _collected(tests: Sequence[str], work: Callable[[list[Any]], None]) -> None:
    pytest.main(["-q", "-p", "no:cacheprovider", *tests], [_Loop(work)])


def in_fork(work: Callable[[], Any]) -> Any:
    """Do work in a fork and return what it gave, None where it came to no end."""
    return _given(*_begun(work))


def in_forks(work: Callable[[int], Any], count: int, workers: int) -> list[Any]:
    """Do work with the numbers up to a count, in so many forks at once; return what it gave for each, in order.

    Each fork takes the next number when it is done with one. None where a fork came to no end.
    """
    taken, put = os.pipe()
    with os.fdopen(put, "wb") as numbers:  # a pipe holds 16,000 of them
        numbers.write(b"".join(number.to_bytes(_NUMBER) for number in range(count)))

    def worked_off() -> list[tuple[int, Any]]:
        return [(number, work(number)) for number in map(int.from_bytes, iter(lambda: os.read(taken, _NUMBER), b""))]

    begun = [_begun(worked_off) for _ in range(min(workers, count))]
    given = dict(pair for one in begun for pair in _given(*one) or [])
    os.close(taken)
    return [given.get(number) for number in range(count)]


_NUMBER = 4
"""Bytes of a number in the pipe from which forks take what is next."""


def _begun(work: Callable[[], Any]) -> tuple[int, int]:
    kept = os.memfd_create("given")
    child = os.fork()
    if not child:
        try:
            os.write(kept, json.dumps(work()).encode())
        except BaseException:
            traceback.print_exc(file=sys.__stderr__)
        finally:
            os._exit(0)
    return child, kept


def _given(child: int, kept: int) -> Any:
    os.waitpid(child, 0)
    given = os.pread(kept, os.fstat(kept).st_size, 0)
    os.close(kept)
    return json.loads(given) if given else None


def with_tests(
    files: Sequence[str], tests: Sequence[str], workers: int, kept: Path | None, work: Callable[[list[Any], Ran], None]
) -> None:
    """Collect tests, run them as the code is, and call ``work`` with them and what they did to some files.

    What they did is ``kept``, where a file is named, and read from there for files of tests that are as they were, if
    the sources are that they ran.
    """
    tracer = _Tracer(files)

    def then(items: list[Any]) -> None:
        by_file: dict[str, list[Any]] = defaultdict(list)
        for item in items:
            by_file[item.nodeid.split("::")[0]].append(item)
        before = json.loads(kept.read_text(encoding="utf-8")) if kept and kept.exists() else {}
        told = {
            file: one
            for file, one in before.items()
            if file in by_file and all(_sum(name) == known for name, known in one["sums"].items())
        }
        anew = sorted(by_file.keys() - told.keys())
        for file, one in zip(
            anew, in_forks(lambda k: _sound(by_file[anew[k]], tracer), len(anew), workers), strict=True
        ):
            if one is None:
                raise SystemExit(f"{file} comes to no end as the code is")
            sources = sorted({source for lines in one["lines"].values() for source, _ in lines})
            told[file] = {"sums": {name: _sum(name) for name in (file, *sources)}, **one}
        if kept:
            kept.write_text(json.dumps({**before, **told}), encoding="utf-8")
        ran = Ran()
        ran.lines |= tracer.lines
        for one in told.values():
            ran.seconds |= one["seconds"]
            ran.failed += one["failed"]
            ran.lines |= {name: {(file, line) for file, line in lines} for name, lines in one["lines"].items()}
        work(items, ran)

    sys.settrace(tracer)
    _collected(tests, then)


@cache
def _sum(file: str) -> str:
    path = ROOT / file
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else ""


def _sound(items: list[Any], tracer: _Tracer) -> dict[str, Any]:
    """Every test once: seconds, lines, and which failed. Lines of a shared fixture are those of all who ask for it."""
    of_fixtures: Lines = {}

    class Fixtures:
        @pytest.hookimpl(wrapper=True)
        def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
            if fixturedef.scope == "function":
                return (yield)
            before = tracer.now, tracer.calls
            tracer.begin(f"fixture {id(fixturedef)}")
            try:
                return (yield)
            finally:
                of_fixtures[tracer.now] = tracer.lines[tracer.now]
                tracer.now, tracer.calls = before

    seconds: dict[str, float] = {}
    lines: Lines = {}
    with _own_place(items[0].config, Fixtures()) as failing:
        for item, after in zip(items, [*items[1:], None], strict=True):
            tracer.begin(item.nodeid)
            begun = _processor_s()
            sys.settrace(tracer)
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            sys.settrace(None)
            seconds[item.nodeid] = _processor_s() - begun
            asked = [one for every in item._fixtureinfo.name2fixturedefs.values() for one in every]
            lines[item.nodeid] = tracer.lines[item.nodeid].union(
                *(of_fixtures.get(f"fixture {id(one)}", set()) for one in asked)
            )
    return {
        "seconds": seconds,
        "failed": failing.names,
        "lines": {name: sorted(own) for name, own in lines.items()},
    }


def _processor_s() -> float:
    """Return the seconds that the processor worked for this process and those it waited for: no others beside it."""
    return sum(os.times()[:4])


class _own_place:  # noqa: N801 - used as a function
    """A folder for the files of the tests of this process alone, and a list of those that fail."""

    def __init__(self, config: Any, *plugins: object) -> None:
        self.config, self.plugins = config, (_Failing(), *plugins)

    def __enter__(self) -> _Failing:
        self.folder = tempfile.TemporaryDirectory(prefix="mutation-")
        factory = self.config._tmp_path_factory
        factory._given_basetemp, factory._basetemp = Path(self.folder.name) / "tests", None
        for plugin in self.plugins:
            self.config.pluginmanager.register(plugin)
        return self.plugins[0]

    def __exit__(self, *_: object) -> None:
        for plugin in self.plugins:
            self.config.pluginmanager.unregister(plugin)
        self.folder.cleanup()


class _Failing:
    def __init__(self) -> None:
        self.names: list[str] = []

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.names.append(report.nodeid)


def functions_of(files: Sequence[str]) -> list[types.FunctionType]:
    """Return every function of some files that somebody holds."""
    names = {str(ROOT / file) for file in files}
    gc.unfreeze()
    every = [one for one in gc.get_objects() if isinstance(one, types.FunctionType)]
    gc.freeze()
    return [one for one in every if one.__code__.co_filename in names]


def exchange(mutant: Mutant, functions: Sequence[types.FunctionType]) -> None:
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
    _forget()


def _forget() -> None:
    """Empty what functions of the package keep of their answers: they are those of the code as it was."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "cutpath":
            for value in list(vars(module).values()):
                if hasattr(value, "cache_clear"):
                    value.cache_clear()


def _key(code: types.CodeType) -> tuple[str, int, int]:
    """What tells a function of a file from all others: two lambdas may stand on one line."""
    columns = [column for line, _, column, _ in code.co_positions() if line and column]
    return code.co_qualname, code.co_firstlineno, min(columns, default=0)


def _codes(code: types.CodeType) -> Iterator[tuple[tuple[str, int, int], types.CodeType]]:
    for inner in code.co_consts:
        if isinstance(inner, types.CodeType):
            yield _key(inner), inner
            yield from _codes(inner)


def killer(items: Sequence[Any], names: Sequence[str], ran: Ran, prepare: Callable[[], None]) -> str | None:
    """Return the test that fails on a mutant, in a fork of its own, or None where all pass.

    A test that takes ten times the processor's time that it took on the code as it is, and five seconds, has failed
    too, and so has one that waits for minutes. Raises LookupError where ``prepare`` does.
    """
    by_name = {item.nodeid: item for item in items}
    chosen = [by_name[name] for name in names if name in by_name]
    if not chosen:
        return None
    kept = os.memfd_create("at")
    child = os.fork()
    if not child:
        _tried(chosen, ran, prepare, kept)
    end = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    at = int(os.pread(kept, 8, 0) or b"0")
    os.close(kept)
    if end == _NOTHING:
        raise LookupError("nothing to exchange")
    return chosen[at].nodeid if end else None


_NOTHING = 2
"""How the fork of a mutant ends where no function could be exchanged."""


def _tried(chosen: Sequence[Any], ran: Ran, prepare: Callable[[], None], kept: int) -> None:
    """Run tests until one fails, and end the process; the number of the one that runs stands in a file."""
    end = 1
    try:
        prepare()
        with _own_place(chosen[0].config) as failing:
            for k, item in enumerate(chosen):
                os.pwrite(kept, f"{k:8}".encode(), 0)
                signal.setitimer(signal.ITIMER_PROF, 10 * ran.seconds[item.nodeid] + 5)
                signal.alarm(round(100 * ran.seconds[item.nodeid] + 120))
                after = chosen[k + 1] if k + 1 < len(chosen) else None
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
                if failing.names:
                    break
            end = 1 if failing.names else 0
    except LookupError:
        end = _NOTHING
    finally:
        os._exit(end)


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


def killer_from_imports(mutant: Mutant, names: Sequence[str], ran: Ran) -> str | None:
    """Return the test that fails on a mutant when all is imported anew, or None where all pass."""

    def work() -> list[str | None]:
        sys.meta_path.insert(0, _Changed(mutant))
        found: list[str | None] = []
        signal.alarm(300)
        files = sorted({name.split("::")[0] for name in names})
        _collected(files, lambda items: found.append(killer(items, names, ran, lambda: None)))
        return found

    if not names:
        return None
    told = in_fork(work)
    return told[0] if told else "while modules are imported"
