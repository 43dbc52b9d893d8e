"""``cutpath make``: the whole job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cutpath.cli import completing
from cutpath.cli.helping import UnderHeadings
from cutpath.cli.options import (
    best_kept,
    format_options,
    jobs_argument,
    json_option,
    keep_best_option,
    practice_option,
    rolls_option,
    search_options,
    settings_of,
    settings_option,
    settled,
)
from cutpath.cli.talk import ProgressLine, answer, fitted, now, say, say_findings, say_reserved
from cutpath.cli.typed import LABELS, Whole
from cutpath.values.batch import MaterialNest
from cutpath.values.choices import Choices
from cutpath.values.formats import ALL_FORMATS, Format

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cutpath.errors import Finding
    from cutpath.output import Place, Written
    from cutpath.shelf import Shelf
    from cutpath.values.batch import Batch, Made, Planned
    from cutpath.values.made_from import Asked
    from cutpath.values.stock import Item


_MANY = 15
"""Job files that mostly come to enough pieces to be worth other workers."""


_HEADINGS = {
    "What goes in": ("drawings", "rolls", "shop_rules", "own_settings", "stock", "no_stock"),
    "What comes out": ("out", "replace", "formats", "every", "templates", "some", "labels", "one_label", "as_json"),
    "Machines": ("names", "in_frames"),
    "How pieces lie": ("gap", "edge_trim", "even_lengths", "either_face", "hidden_side"),
    "What the nest aims at": ("least", "opening", "keep", "worth"),
    "How long it is searched": ("seconds", "work", "seed", "keep_best", "workers"),
}


@click.command("make", cls=UnderHeadings, headings=_HEADINGS)
@jobs_argument
@rolls_option
@practice_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("cut"),
    show_default=True,
    metavar="DIR",
    help="New folder for everything that is written.",
)
@click.option(
    "names",
    "--machine",
    multiple=True,
    metavar="NAME",
    shell_complete=completing.machines,
    help="Also write files for a machine: a name from profiles/machines, or a TOML file; may be repeated.",
)
@click.option("--in-frames", is_flag=True, help="With --machine: let no piece stand across two of its frames.")
@click.option(
    "--even-lengths", is_flag=True, help="Divide every run evenly, not at the joints that suit the rolls best."
)
@click.option(
    "--either-face",
    is_flag=True,
    help="Let pieces lie face down on the roll too: for milled lead, whose faces are alike, not for cast lead.",
)
@click.option(
    "--hidden-side",
    is_flag=True,
    help="Letter pieces on the side that is hidden once they are fitted: all lie face down, and fold notes say so.",
)
@format_options
@click.option("--templates", is_flag=True, help="Also write every piece as a full-size pattern of its own.")
@click.option(
    "--template", "some", multiple=True, metavar="PIECE", help="Also write this piece as a pattern; may be repeated."
)
@click.option(
    "--labels",
    type=LABELS,
    help="Also write labels.pdf, a stick-on label for every piece and pack: so many across and down a sheet of A4, or "
    "on pages of a label printer, such as '62 x 29 mm'.",
)
@click.option(
    "--one-label",
    is_flag=True,
    help="With --labels: one label for all pieces alike in a pack, with how many they are, in place of one for each.",
)
@click.option("--replace", is_flag=True, help="Put the result in the place of an earlier result in DIR.")
@click.option(
    "--stock",
    is_flag=False,
    flag_value="",
    metavar="[FILE]",
    help="Nest on what the shop's stock holds, and reserve it; another file is named as --stock=FILE. With --rolls, "
    "rolls of that list may be bought on top.",
)
@click.option(
    "--workers",
    type=Whole(min=1),
    metavar="N",
    help="Processes that share work on large batches; left out, one to each core, up to four. The files are the same.",
)
@keep_best_option
@click.option("--no-stock", is_flag=True, help="Draw on no stock, whatever the settings say.")
@settings_option
@json_option
@search_options
def command(
    jobs: tuple[Path, ...],
    rolls: str | None,
    shop_rules: str | None,
    out: Path,
    own_settings: Path | None,
    *,
    names: tuple[str, ...],
    in_frames: bool,
    even_lengths: bool,
    either_face: bool,
    hidden_side: bool,
    formats: tuple[str, ...],
    every: bool,
    templates: bool,
    some: tuple[str, ...],
    labels: str | None,
    one_label: bool,
    replace: bool,
    stock: str | None,
    no_stock: bool,
    workers: int | None,
    as_json: bool,
    keep_best: bool,
    gap: float | None,
    **search: Any,  # noqa: ANN401
) -> None:
    """Do the whole job: develop, split, nest, draw, and account for every kilogram.

    Fills DIR, whole or not at all, with a report to print and tickets to mark out from by hand; with lists, drawings of
    each roll, labels and files for machines where they are asked for. Several jobs are cut from shared rolls.
    """
    from dataclasses import replace as with_

    from cutpath.workers import cores, shared_over

    context = click.get_current_context()
    line = ProgressLine()
    context.call_on_close(line.close)
    ahead = "cutpath.pipeline" if len(jobs) >= _MANY else ""  # before this process imports it
    context.with_resource(shared_over(workers or cores(), line.stage, ahead))

    from cutpath import output
    from cutpath.intake.files import remembering
    from cutpath.machines import machines
    from cutpath.values.made_from import Asked

    files = context.with_resource(remembering())
    chosen = settled(
        jobs,
        own_settings,
        rolls=rolls,
        practice=shop_rules,
        machine=names or None,
        gap=gap,
        formats=ALL_FORMATS if every else frozenset(map(Format, formats)) or None,
        stock=False if no_stock else stock,
    )
    tools = machines(chosen.machines)
    if either_face and hidden_side:
        raise click.UsageError("--hidden-side lays every piece face down, --either-face some: give one of them")
    if one_label and not labels:
        raise click.UsageError("--one-label needs --labels, which says on what they are printed")
    if in_frames and not tools:
        raise click.UsageError("--in-frames needs a --machine whose frames are meant")
    settings = with_(
        settings_of(gap=chosen.gap_mm, **search),
        choose_lengths=not even_lengths,
        either_face=either_face,
        hidden_side=hidden_side,
    ).on(tools, in_frames=in_frames)
    asked = Asked(
        jobs=tuple(map(str, jobs)),
        rolls=chosen.rolls,
        practice=chosen.practice,
        machines=chosen.machines,
        settings=settings,
        formats=chosen.formats,
        templates=() if templates else some or None,
        labels=labels or "",
        one_label=one_label,
        settled=chosen.told(),
    )
    place = context.with_resource(output.claim_folder(out, replace_old=replace, reads=[*jobs, *chosen.files()]))
    say_findings(place.findings)
    with best_kept(keep_best):
        made, written = _made(asked, files, place, chosen.stock, line)
    findings = (*made.batch.findings, *written.findings)
    if as_json:
        _answer(made, findings, written.path, reserved=chosen.stock is not None)
    else:
        _tell(made, findings, written.path, chosen)


def _made(
    asked: Asked, files: Mapping[str, bytes], place: Place, stock: str | None, line: ProgressLine
) -> tuple[Made, Written]:
    """Make what was asked and put it in place, its rolls reserved where it draws on a stock."""
    from contextlib import closing

    from cutpath import shop
    from cutpath.batches import one

    def look(planned: Planned) -> None:
        place.spare(drawing for job in planned.jobs for drawing in job.reads)

    def made_on(shelf: Shelf | None) -> tuple[Made, Mapping[str, Item]]:
        with closing(line):
            return one.made(asked, files, shelf, look=look, report=line)

    def reserved() -> tuple[Made, Written]:
        shelf, told = shop.shelf_for(Path(stock) if stock else None, place, asked.rolls)
        say_findings(told)
        made, drawn = made_on(shelf)
        run = shop.run_of(shelf, made, drawn, place.target, now())
        return made, shop.put(shelf.file, run, made.files, place)

    if stock is not None:
        return shop.until_kept(reserved, say_findings)
    made, _ = made_on(None)
    return made, place.put(made.files)


def _answer(made: Made, findings: Sequence[Finding], folder: Path, *, reserved: bool) -> None:
    from cutpath.reports.account import yields
    from cutpath.reports.account.cutting_list import face_down

    say_findings(findings)
    answer(
        folder=str(folder),
        files=list(made.files),
        run=made.run,
        reserved=reserved,
        divided=[name.rstrip("-") for name in made.batch.divided],
        face_down=list(face_down(made.batch)),
        machines=list(made.machine_words),
        account=yields.account(made.batch),
    )


def _tell(made: Made, findings: Sequence[Finding], folder: Path, chosen: Choices) -> None:
    """Tell what was made: the sum of it first, then what is to be checked, the account and what else is to be known."""
    from cutpath.reports.account import yield_tables, yields
    from cutpath.trade import cautions

    totals = yields.account(made.batch)
    click.echo(fitted(yield_tables.summary(totals)))
    if hint := yield_tables.buying_hint(totals):
        click.echo(fitted(hint))
    click.echo(f"Open {folder / 'report.html'} first.\n")
    say_findings(findings)
    say()
    click.echo(yield_tables.yield_table(totals))
    for words in _rows_words(made.batch.materials):
        click.echo(fitted(words))
    for words in (*_how_pieces_lie(made.batch), *made.machine_words):
        say(words)
    for file, keys in chosen.by_file().items():
        say(f"Settled by {file}: {', '.join(keys)}")
    if chosen.stock is not None:
        say_reserved(made.run)
    every = ", ".join(Format)
    more = f"; lists and drawings of the rolls come with --all, or some of them with --format {every}"
    say(f"{len(made.files)} files are in {folder}/{'' if chosen.formats else more}")
    say(f"\n{cautions.in_short()}")


def _how_pieces_lie(batch: Batch) -> Iterator[str]:
    """Say which runs are not divided evenly, and which pieces lie face down."""
    from cutpath.reports.account.cutting_list import face_down

    if batch.divided:
        yield f"Divided to suit the rolls, not evenly: {', '.join(name.rstrip('-') for name in batch.divided)}"
    if batch.hidden_side:
        yield (
            "Every piece lies face down, letters and lines on the side that is hidden once it is fitted: fold it as "
            "its letters say, seen from that side"
        )
    elif down := face_down(batch):
        yield f"Face down on the roll: {', '.join(down)}; cut out, turn over, then mark and fold"


_NEARLY_ALL = 0.985  # shapes that fill the roll as good as whole: nothing to say


def _rows_words(materials: Sequence[MaterialNest]) -> Iterator[str]:
    """Say beside the ceiling, which is the area mostly, what rows of two kinds could yield; nothing for long lists.

    Nothing is worked out for pieces that fill the boxes about them: rows of boxes yield as much.
    """
    from cutpath.nesting.rows import boxes_mm2, rows_mm2

    for made in materials:
        if made.nest.pieces_mm2 >= _NEARLY_ALL * boxes_mm2(made.problem):
            continue
        if lead_mm2 := rows_mm2(made.problem):
            ratio = made.nest.pieces_mm2 / lead_mm2
            if ratio < _NEARLY_ALL:
                yield (
                    f"The shapes in {made.lead.material} fit together to a yield of about {100 * ratio:.0f} %, "
                    "estimated from rows of two kinds."
                )
