"""An index of all files of a run, for whoever has to find the right one beside a machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

INDEX = "index.txt"

_WHAT = {
    "report.html": "the page to print; read its findings and cautions first",
    "tickets.html": "one page a piece, to mark out by hand",
    "cutting-list.csv": "pieces",
    "setting-out.csv": "points of the pieces",
    "quantities.csv": "wedges, clips, soakers",
    "labels.pdf": "a stick-on label for every piece",
    "yield.json": "lead bought, drawn, used and left",
    "yield.csv": "the same as a table",
    "buy-list.csv": "what to fetch from stock, and what to buy",
}


def index_text(entries: Sequence[Mapping[str, object]]) -> str:
    """Return a list of files under headings: the run, each roll and its machines, patterns.

    Parameters
    ----------
    entries : sequence of mapping
        What the manifest says of each file; of a machine's, in the order in which they are run.
    """
    out = ["Files of this run", "=================", ""]
    general = [e for e in entries if e["roll"] is None and "/" not in _path(e)]
    out += _block("The whole run", general)
    for roll in dict.fromkeys(str(e["roll"]) for e in entries if e["roll"] is not None):
        out += list(_roll(roll, [e for e in entries if e["roll"] == roll]))
    out += _block("Patterns of single pieces", [e for e in entries if e["roll"] is None and "/" in _path(e)])
    return "\n".join(out)


def _roll(roll: str, own: Sequence[Mapping[str, object]]) -> Iterator[str]:
    yield from _block(f"Roll {roll}: drawings", [e for e in own if _machine(e) is None])
    for machine in dict.fromkeys(name for e in own if (name := _machine(e)) is not None):
        files = [e for e in own if _machine(e) == machine]
        yield from _block(f"Roll {roll} on {machine}, in this order", sorted(files, key=lambda e: "set_up_of" not in e))


def _block(heading: str, entries: Sequence[Mapping[str, object]]) -> list[str]:
    if not entries:
        return []
    return [heading, "-" * len(heading), *(f"{_path(e)}  {_what(e)}".rstrip() for e in entries), ""]


def _path(entry: Mapping[str, object]) -> str:
    return str(entry["path"])


def _machine(entry: Mapping[str, object]) -> str | None:
    name = entry.get("machine", entry.get("set_up_of"))
    return None if name is None else str(name)


def _what(entry: Mapping[str, object]) -> str:
    if "set_up_of" in entry:
        return f"set-up sheet of {entry['set_up_of']}: read it first"
    frame = entry.get("frame")
    if isinstance(frame, dict) and frame["of"] > 1:
        return f"frame {frame['number']} of {frame['of']}, {frame['start_mm']:.0f} to {frame['end_mm']:.0f} mm"
    return _WHAT.get(_path(entry), str(entry["format"]))
