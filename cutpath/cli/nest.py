"""``cutpath nest``: plain outlines on rolls."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Any

import click

from cutpath.cli import completing
from cutpath.cli.options import (
    best_kept,
    json_option,
    keep_best_option,
    rolls_option,
    search_options,
    settings_of,
    settings_option,
    settled,
)
from cutpath.cli.talk import ProgressLine, answer, say, say_findings
from cutpath.units import MM2_PER_M2


@click.command("nest")
@click.argument("pieces", metavar="PIECES.json", shell_complete=completing.files)
@rolls_option
@click.option(
    "--out", default="-", show_default=True, metavar="FILE", help="File for the result; - is standard output."
)
@click.option("--replace", is_flag=True, help="Write over FILE when it is there already.")
@keep_best_option
@settings_option
@json_option
@search_options
def command(
    pieces: str,
    rolls: str | None,
    out: str,
    own_settings: Path | None,
    *,
    replace: bool,
    as_json: bool,
    keep_best: bool,
    gap: float | None,
    **search: Any,  # noqa: ANN401
) -> None:
    """Nest plain outlines, in millimetres, on rolls with the least lead drawn.

    PIECES.json, or - for standard input, holds the outlines; the result names roll, turn and place of each copy.

    \b
    {"units": "mm", "gap_mm": 0, "pieces": [
        {"id": "A1", "quantity": 2, "outline": [[0, 0], [300, 0], [300, 120], [0, 120]],
         "holes": [], "turns_deg": [0, 180], "may_flip": false}]}
    """  # noqa: D301 - click reads the escape
    from cutpath import output, pipeline
    from cutpath.reports.account.outlines import nest_result

    chosen = settled([pieces], own_settings, rolls=rolls, gap=gap)
    sink: output.Sink | None = None
    if out != "-" or not as_json:
        reads = [pieces, *([chosen.rolls] if chosen.rolls else [])]
        claim = output.claim_text(None if out == "-" else Path(out), replace_old=replace, reads=reads)
        sink = click.get_current_context().with_resource(claim)
    line = ProgressLine()
    with closing(line), best_kept(keep_best):
        blanks, nested, doubts = pipeline.nest_outlines(
            pieces, chosen.rolls, settings_of(gap=chosen.gap_mm, **search), line
        )
    say_findings(doubts)
    result = nest_result(nested, blanks)
    if sink is not None:
        say_findings(sink(output.json_text(result)).findings)
    rolls = f"{len(nested.rolls)} roll{'s' if len(nested.rolls) != 1 else ''}"
    cuts = sum(len(roll["square_cuts_mm"]) for roll in result["rolls"])
    say(
        f"{rolls}, {nested.drawn_mm2 / MM2_PER_M2:.3f} m2 drawn, "
        f"{cuts} straight cut{'s' if cuts != 1 else ''} right across, yield {nested.yield_ratio:.1%}, "
        f"ceiling {min(1.0, nested.pieces_mm2 / nested.bound_mm2 if nested.bound_mm2 else 1.0):.1%}"
    )
    if as_json:
        answer(**result)
