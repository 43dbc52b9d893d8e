"""Everything that reads what others wrote, as one call to each kind, and how it ended."""

from __future__ import annotations

import contextlib
import re
import resource
import signal
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

from cutpath import again, making, recutting
from cutpath.batches.listing import read_list
from cutpath.errors import CODES, Finding, Refused, refuse_faults
from cutpath.jobs import read_jobs
from cutpath.jobs.blanks import parse_blanks
from cutpath.machines import machine
from cutpath.machines.beds import rolls_within
from cutpath.nesting import one_after_another
from cutpath.output import MANIFEST
from cutpath.pipeline import batch_of, divided, plan
from cutpath.plain import is_unseen
from cutpath.prices import read_prices
from cutpath.profiles.rolls import rolls_list
from cutpath.profiles.shop import shop_figures
from cutpath.reports.pictures.isometric import folded_pieces
from cutpath.settings_file import choose, layers
from cutpath.stock import Delivery, StockFile, add, check
from cutpath.writers.files import report_files
from tests.fuzz.mutants import RUN, seeds
from tests.reports.pages import tickets_html

_OPEN = re.compile(r"\{[a-z_]+(:[^}]*)?\}")
HANGS_S = 5.0
MOST_MB = 1000
JOB = 'name = "Yard"\npitch = 30\n[[detail]]\nkind = "outline"\ndxf = "drawing.dxf"\nunit = "mm"\n'


class Hang(BaseException):
    """It took longer than anybody waits, in the seconds of the processor."""


def _made(file: Path) -> None:
    """Go all the way to lists, report and tickets, with the pieces laid one after another instead of nested."""
    planned = plan([file])
    batch = batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    report_files(batch, folded_pieces(batch))
    tickets_html(batch, "R0")


def _machine(file: Path) -> None:
    machine(str(file))


def _pieces(file: Path) -> None:
    parse_blanks(file.read_bytes().decode("utf-8", "replace"), file.name)


def _batches(file: Path) -> None:
    file.with_name("job.toml").write_text(JOB)
    read_list(file)


def _stock(file: Path) -> None:
    """Look at all that a stock file holds, as `stock list`, `history` and `check` do, and put a roll on the shelf."""
    stock = StockFile(file)
    try:
        stock.read()
        stock.movements()
        check(stock)
        stock.change(lambda holding: add(holding, Delivery(4, 20.41, 300.0, 3000.0), "2026-03-03T08:00:00+00:00"))
    finally:
        for suffix in ("-wal", "-shm", "-journal"):
            file.with_name(file.name + suffix).unlink(missing_ok=True)


def _manifest(file: Path) -> None:
    """Make a run once more, see what became of it and what it left, and one of its pieces anew from that."""
    file = file.rename(file.with_name(MANIFEST))
    file.with_name("job.toml").write_text(RUN)
    found: list[Finding] = []
    run = again.earlier(file.parent)
    with contextlib.chdir(file.parent):
        for step in (_repeated, again.compared, _recut):
            try:
                step(run)
            except Refused as refusal:
                found += refusal.findings
        refuse_faults([*found, *again.changed_inputs(run.made_from)])


def _repeated(run: again.Earlier) -> None:
    again.differences(run, again.repeat(run))


def _recut(run: again.Earlier) -> None:
    planned, tools = again.planned_again(run)
    planned = divided(planned, run.made_from.divisions)
    wanted = recutting.some_of(run, planned, [*run.made_from.only, *(piece.id for piece in planned.pieces)][:1], 1)
    left, _ = recutting.what_is_left(run, recutting.recuts_in([run.folder.parent]))
    planned = recutting.on_rolls(again.only(planned, wanted, run.run), rolls_within(left, tools))
    batch = batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    making.made_of(run.made_from.asked, tools, batch, making.Ground(run.made_from.files, only=wanted, again=run.run))


def _drawing(file: Path) -> None:
    job = file.with_name("job.toml")
    job.write_text(JOB)
    _made(job)


READERS: dict[str, Callable[[Path], object]] = {
    "job": _made,
    "near job": _made,
    "starter": _made,
    "orders": _made,
    "workbook": lambda file: refuse_faults(read_jobs([file])[1]),  # what comes after is as of "orders"
    "rolls": lambda file: rolls_list(str(file)),
    "practice": shop_figures,
    "machine": _machine,
    "settings": lambda file: choose({}, layers((), file)),
    "prices": read_prices,
    "pieces": _pieces,
    "drawing": _drawing,
    "batches": _batches,
    "stock": _stock,
    "manifest": _manifest,
}


@contextlib.contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Break off what takes too long."""

    def broken_off(_: int, __: FrameType | None) -> None:
        raise Hang

    before = signal.signal(signal.SIGPROF, broken_off)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def odd(finding: Finding) -> str:
    """Say what is wrong with a finding as a person or a program reads it; nothing if it is whole."""
    if finding.code not in CODES:
        return f"no such code {finding.code}"
    if not all((finding.where, finding.found, finding.accepted, finding.remedy)):
        return f"{finding.code} with an empty part"
    if any(is_unseen(c) and c != "\n" for c in finding.sentence + finding.remedy):
        return f"{finding.code} with what cannot be seen"
    if _OPEN.search(finding.accepted + finding.remedy):
        return f"{finding.code} with a place left open: {finding.accepted} {finding.remedy}"
    return ""


def tried(kind: str, data: bytes, folder: Path) -> str:
    """Return how it ended: made, refused, or what went wrong, the same words for the same fault."""
    ending = seeds()[kind].ending
    file = folder / f"{'drawing' if kind == 'drawing' else 'file'}{ending}"
    file.write_bytes(data)
    try:
        with limited(HANGS_S):
            READERS[kind](file)
        end = "made"
    except Refused as refusal:
        end = next(filter(None, map(odd, refusal.findings)), "refused")
    except Hang as hang:
        end = f"hangs at {_site(hang)}"
    except (Exception, SystemExit) as error:
        end = f"{type(error).__name__} at {_site(error)}"
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if grown > MOST_MB:
        end = f"{grown:.0f} MB after {end}"
    left = {found.name for found in folder.iterdir()} - {
        "file.toml",
        "file.csv",
        "file.xlsx",
        "file.json",
        "file.db",
        MANIFEST,
        "drawing.dxf",
        "job.toml",
    }
    return f"left {sorted(left)}" if left else end


def _site(error: BaseException) -> str:
    """Return the place in the program where it went wrong."""
    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "cutpath/" in frame.filename]
    last = frames[-1] if frames else traceback.extract_tb(error.__traceback__)[-1]
    return f"{Path(last.filename).name}:{last.name}:{last.lineno}"
