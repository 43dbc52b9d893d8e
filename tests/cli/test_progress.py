"""The line that follows the work names each stage with what is done of how much, on a terminal only."""

from __future__ import annotations

import io
import sys

from cutpath.cli.talk import ProgressLine


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_each_stage_is_named_with_what_is_done(monkeypatch):
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    line = ProgressLine()
    line.stage("rolls drawn", 1200, 20_000)
    line.stage("tickets", 1, 1)  # over in no time, and not shown
    line.close()
    said = screen.getvalue()
    assert "\rrolls drawn: 1,200 of 20,000, " in said
    assert "tickets" not in said
    assert said.endswith("\n")


def test_nothing_is_said_where_nobody_looks(capsys):
    line = ProgressLine()
    line.stage("rolls drawn", 1, 2)
    line.close()
    assert capsys.readouterr().err == ""
