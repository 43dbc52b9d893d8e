"""A strict reader of the RS-274/NGC that we write: what is run with the head down, in millimetres and absolute."""

from __future__ import annotations

import re

from cutpath.readback.lines import MisreadError, Reach, Run

_WORDS = re.compile(r"[A-Z]-?\d+(?:\.\d+)?(?: [A-Z]-?\d+(?:\.\d+)?)*")
_MODES = "G21 G17 G90 G94 G40 G49 G80"
_STRAIGHT = re.compile(r"G([01]) X(-?[0-9]+\.[0-9]+) Y(-?[0-9]+\.[0-9]+)")  # most lines are that and no more
_COMMENT = re.compile(r"\([ -'*-~]*\)")
_SIDE = frozenset({"S", "M", "T"})


def read_ngc(data: bytes) -> list[Run]:
    """Return what is run with the head down, as the numbers of the file have it.

    Raises
    ------
    MisreadError
    """
    lines = data.decode("ascii", "replace").split("\n")
    if lines[:1] != ["%"] or lines[-3:] != ["M2", "%", ""]:
        raise MisreadError("it does not begin with % and end with M2 and %")
    if lines.count(_MODES) != 1:
        raise MisreadError("units and modes do not stand there once")
    reader = _Reader()
    for number, line in enumerate(lines[1:-3], 2):
        straight = _STRAIGHT.fullmatch(line)
        if straight is not None:
            reader.straight((float(straight[2]), float(straight[3])), f"line {number}", up=straight[1] == "0")
            continue
        if line[:1] == "(" or line == _MODES:
            if line != _MODES and not _COMMENT.fullmatch(line):
                raise MisreadError(f"line {number}: a comment that does not end")
            continue
        if not _WORDS.fullmatch(line):
            raise MisreadError(f"line {number}: {line[:20]!r} is not understood")
        words = line.split(" ")
        values = {word[0]: float(word[1:]) for word in words}
        if len(values) != len(words):
            raise MisreadError(f"line {number}: a letter stands twice")
        reader.line(line[0], values, f"line {number}")
    return [run for run in reader.runs if run.steps]


class _Reader:
    """What was read so far."""

    def __init__(self) -> None:
        self.runs: list[Run] = []
        self._tool = 0
        self._at: tuple[float, float] | None = None
        self._open = False

    def straight(self, to: tuple[float, float], where: str, *, up: bool) -> None:
        """Take a straight way in x and y.

        Raises
        ------
        MisreadError
        """
        if up:
            self._open = False
        else:
            self._cut(where)[0].append(Reach(*to))
        self._at = to

    def _cut(self, where: str) -> tuple[list[Reach], tuple[float, float]]:
        """Return the steps of the run that is open, or of a new one from here, and where it is.

        Raises
        ------
        MisreadError
        """
        if self._at is None or not self._tool:
            raise MisreadError(f"{where}: a cut from nowhere")
        if not self._open:
            self.runs.append(Run(self._tool, *self._at))
            self._open = True
        return self.runs[-1].steps, self._at

    def line(self, first: str, values: dict[str, float], where: str) -> None:
        """Take one line of words.

        Raises
        ------
        MisreadError
        """
        if first in _SIDE or (first == "G" and values["G"] in (4, 43)):
            if "T" in values:
                self._tool = int(values["T"])
            return
        kind, axes = values.get("G"), set(values) - {"G", "F"}
        if kind not in (0, 1, 2, 3) or axes - set("XYZIJAC") or not axes:
            raise MisreadError(f"{where}: no move of ours")
        if kind == 0:
            if axes & {"X", "Y", "Z"}:
                self._open = False
            if {"X", "Y"} <= axes:
                self._at = (values["X"], values["Y"])
            return
        if not {"X", "Y"} <= axes:
            if axes & {"X", "Y"}:
                raise MisreadError(f"{where}: a move in one axis")
            return
        steps, (x, y) = self._cut(where)
        centre = (x + values["I"], y + values["J"]) if kind in (2, 3) and {"I", "J"} <= axes else None
        if (centre is None) != (kind == 1):
            raise MisreadError(f"{where}: an arc without its centre")
        self._at = (values["X"], values["Y"])
        steps.append(Reach(*self._at, centre, kind == 3))
