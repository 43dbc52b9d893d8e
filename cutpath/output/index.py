"""An index of all files of a run, for whoever has to find the right one beside a machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cutpath.values.listing import Listed

INDEX = "index.txt"


def index_text(files: Sequence[Listed]) -> str:
    """Return a list of files under headings: the run, each roll and its machines, patterns.

    Those of a machine are given in the order in which they are run.
    """
    out = ["Files of this run", "=================", ""]
    general = [f for f in files if f.roll is None and "/" not in f.path]
    out += _block("The whole run", general)
    for roll in dict.fromkeys(f.roll for f in files if f.roll is not None):
        out += list(_roll(roll, [f for f in files if f.roll == roll]))
    out += _block("Patterns of single pieces", [f for f in files if f.roll is None and "/" in f.path])
    return "\n".join(out)


def _roll(roll: str, own: Sequence[Listed]) -> Iterator[str]:
    yield from _block(f"Roll {roll}: drawings", [f for f in own if not _machine(f)])
    for machine in dict.fromkeys(name for f in own if (name := _machine(f))):
        files = [f for f in own if _machine(f) == machine]
        yield from _block(f"Roll {roll} on {machine}, in this order", sorted(files, key=lambda f: not f.set_up_of))


def _block(heading: str, files: Sequence[Listed]) -> list[str]:
    if not files:
        return []
    return [heading, "-" * len(heading), *(f"{f.path}  {_what(f)}".rstrip() for f in files), ""]


def _machine(file: Listed) -> str:
    """Return whose file it is; empty for no machine's."""
    return file.machine.name if file.machine else file.set_up_of


def _what(file: Listed) -> str:
    if file.set_up_of:
        return f"set-up sheet of {file.set_up_of}: read it first"
    run = file.machine
    if run is not None and run.of > 1:
        return f"frame {run.number} of {run.of}, {run.start_mm:.0f} to {run.end_mm:.0f} mm"
    return file.says or file.form
