"""The set-up sheet: what an operator reads before the first file is run, and that it fits one page."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from itertools import combinations

import pikepdf
import pytest

from cutpath.drawing.sheet import draw
from cutpath.machines import machine, machine_names
from cutpath.values.batch import Sheet
from cutpath.values.drawing import Role
from cutpath.values.listing import by_path
from cutpath.values.machine import Axis, Corner, RoleTask, Stuff
from cutpath.values.nest import NestedRoll, Roll
from cutpath.writers.machine_files import set_up_files
from cutpath.writers.set_up import UNTRIED, set_up, set_up_text
from cutpath.writers.set_up_page import set_up_page
from cutpath.writers.templates import template_files
from tests.drawing.machines import files_of, made
from tests.drawing.specimens import LEAD, PIECES, full_sheet, place, sheet

APART = sheet([place("A-S1-R1", 1, left=20.0, low=20.0)], width=450.0, drawn=900.0)


def told(name, on=None, **changes):
    on = on or full_sheet()
    tool = made(name, **changes)
    drawing = draw(on, PIECES)
    run = files_of(drawing, tool, on.lead.thickness_mm, on.id)
    return set_up(on, PIECES, drawing, tool, (run.paths, tuple(run.files))), run


def words(data):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        (page,) = pdf.pages
        ops = pikepdf.parse_content_stream(page)
    shown = " ".join(bytes(o[0]).decode("cp1252") for o, op in ops if str(op) == "Tj")
    heights = [float(o[5]) for o, op in ops if str(op) == "Tm"]
    return shown, heights


LEAD_TOOLS = [n for n in machine_names() if machine(n).stuff is Stuff.LEAD and machine(n).paper is None]


@pytest.mark.parametrize("name", [n for n in LEAD_TOOLS if not machine(n).opt_in])
def test_it_says_what_to_load_where_zero_is_and_in_which_order(name) -> None:
    sheet_, run = told(name)
    text = set_up_text(sheet_)
    flat = " ".join(text.split())
    assert "Lead code 4, 1.8 mm thick: roll 450 × 6000 mm, 55.11 kg." in flat
    assert "lift with help" in flat
    assert "free end" in flat
    assert "Weather face up" in flat
    for head in machine(name).heads:
        assert f"T{head.number} {head.name}: {head.kind.value}" in flat
        assert f"{head.speed_mm_min:g} mm/min" in flat
    places = [flat.index(path.rpartition("/")[2]) for path in run.files]
    assert places == sorted(places)
    assert UNTRIED in flat
    assert "hands clear" in flat.lower()
    assert "run the file dry first" in flat
    assert "poisonous" in flat
    for frame in run.paths.frames[1:]:
        assert f"{frame.start_mm:.0f} to {frame.end_mm:.0f} mm of the roll" in flat


def test_a_roll_whose_pieces_all_lie_face_down_says_so_once() -> None:
    on = sheet([place("A-S1-R1", 1, left=20.0, low=20.0), place("A-K1-1", 1, left=20.0, low=260.0)], width=450.0)
    placements = on.nested.placements
    turned = [
        replace(p, flipped=True, x_mm=p.x_mm + max(x for x, _ in PIECES[p.id].pattern.outline)) for p in placements
    ]
    down, some = (
        replace(on, nested=replace(on.nested, placements=own)) for own in (tuple(turned), (turned[0], *placements[1:]))
    )
    lines = [next(b for b in told("drawing-table", own)[0].blocks if b.heading == "Load").lines for own in (down, some)]
    all_down, first_down = (next(line for line in own if "Weather face" in line) for own in lines)
    assert all_down.startswith("Weather face down: every piece lies so")
    assert not [p.id for p in placements if p.id in all_down]
    assert first_down == f"Weather face up, except for what lies face down: {placements[0].id}."


def test_it_speaks_of_what_this_machine_does_and_no_other() -> None:
    """A raw end that the file squares stands beyond zero; where nothing is drawn there is nothing to read."""
    knife = machine("flatbed-knife")
    squares = (*knife.tasks, RoleTask(Role.SQUARING, "knife", "SQUARING"))
    cuts = tuple(task for task in knife.tasks if task.head == "knife")
    plain, squaring, cutting = (
        " ".join(set_up_text(told("flatbed-knife", APART, tasks=tasks)[0]).split())
        for tasks in (knife.tasks, squares, cuts)
    )
    assert "Square a torn end first." in plain
    assert "stand a little beyond zero" in squaring
    assert "torn" not in squaring
    assert "F forward" in plain
    assert "F forward" not in cutting


@pytest.mark.parametrize("name", [n for n in LEAD_TOOLS if not machine(n).opt_in])
def test_the_page_says_the_same_and_is_one(name) -> None:
    sheet_, _ = told(name)
    shown, heights = words(set_up_page(sheet_))
    flat = " ".join(shown.split())
    for block in (*sheet_.blocks, sheet_.files):
        for line in block.lines:
            assert " ".join(line.split()) in flat
    assert min(heights) > 30
    assert set_up_page(sheet_) == set_up_page(told(name)[0])


def test_what_is_cut_in_two_settings_is_named_where_the_roll_is_set_up() -> None:
    """Each roll had a warning of its own with its first five names; now they say the same, and are told as one."""
    sheet_, run = told("pen-marker", bed={"length_mm": 700.0})
    pieces = [[{p.piece for p in frame.passes if p.role is Role.OUTER}] for frame in run.paths.frames]
    twice = {name for (here,), (later,) in combinations(pieces, 2) for name in here & later}
    assert twice
    (line,) = (line for line in sheet_.blocks[0].lines if line.startswith("Done in two settings"))
    assert set(line.partition(": ")[2].removesuffix(".").replace(" and ", ", ").split(", ")) == twice
    (found,) = (f for f in run.paths.findings if "two settings" in f.found)
    assert not any(map(str.isdigit, found.found))
    assert not [line for line in told("flatbed-knife")[0].blocks[0].lines if "two settings" in line]


def test_what_a_long_roll_has_to_say_still_fits_one_page() -> None:
    """Two dozen frames: the page names the first of them, the text all."""
    on = replace(full_sheet(), nested=replace(full_sheet().nested, drawn_mm=5900.0))
    sheet_, run = told("pen-marker", on, bed={"length_mm": 240.0, "mark_inset_mm": 15.0})
    assert len(run.files) > 16
    text = set_up_text(sheet_)
    assert all(path.rpartition("/")[2] in text for path in run.files)
    shown, heights = words(set_up_page(sheet_))
    assert min(heights) > 30
    assert f"and {len(run.files) - 16} more" in shown
    assert "Untried" in shown


def test_what_an_earlier_run_left_is_named_as_a_tape_reads_it() -> None:
    left = Roll(300, 2169.5566, 1, "", False, "S0004, part roll", owned=True)
    on = Sheet("code4-01", LEAD, NestedRoll(left, 900.0,
               (place("A-S1-R1", 1, flipped=True, left=10, low=10),), ()))  # fmt: skip
    text = " ".join(set_up_text(told("flatbed-knife", on)[0]).split())
    assert "1.8 mm thick, in stock: 300 × 2170 mm, 13.28 kg." in text
    assert draw(on, PIECES).title.endswith("roll 300 × 2170 mm")


def test_what_is_too_small_to_keep_does_not_stay_on_the_roll() -> None:
    for length, words_ in (
        (1600.0, "is beyond stays on the roll."),
        (1040.0, "is beyond is scrap: too small to keep."),
    ):
        on = replace(APART, nested=replace(APART.nested, roll=Roll(450.0, length)))
        assert words_ in " ".join(set_up_text(told("flatbed-knife", on)[0]).split())


def test_an_offcut_is_named_with_its_place() -> None:
    on = Sheet("code4-01", LEAD, NestedRoll(Roll(450, 900, 1, "", True, "behind the van"), 900.0,
               (place("A-S1-R1", 1, flipped=True, left=10, low=10),), ()))  # fmt: skip
    text = " ".join(set_up_text(told("flatbed-knife", on)[0]).split())
    assert "1.8 mm thick: offcut 450 × 900 mm, 8.27 kg." in text
    assert "Find it: behind the van." in text
    assert "Weather face down: every piece lies so" in text
    owned = replace(on, nested=replace(on.nested, roll=replace(on.nested.roll, owned=True, name="S0012, rack 3")))
    text = " ".join(set_up_text(told("flatbed-knife", owned)[0]).split())
    assert "1.8 mm thick, in stock: 450 × 900 mm, 8.27 kg. " in text, "a roll in stock goes first like an offcut"


@pytest.mark.parametrize(
    ("bed", "words_"),
    [
        ({}, ("lower left corner of the bed", "runs along X", "near edge lies at X0 Y0")),
        ({"origin": Corner.UPPER_RIGHT}, ("upper right corner", "X -1600 to 0", "near edge lies at X-1600 Y-650")),
        ({"along": Axis.Y}, ("runs along Y", "right-hand edge lies at X650 Y0", "near side of the bed")),
    ],
)
def test_zero_is_told_in_the_machines_own_axes(bed, words_) -> None:
    text = " ".join(set_up_text(told("flatbed-knife", APART, bed=bed)[0]).split())
    assert all(w in text for w in words_)


@pytest.mark.parametrize(("thickness", "depth"), [(1.32, "1.82"), (1.8, "2.30"), (3.55, "4.05")])
def test_the_depth_is_that_of_the_code(thickness, depth) -> None:
    on = replace(APART, lead=replace(LEAD, thickness_mm=thickness))
    assert f"{depth} mm down ({thickness:g} mm of sheet, 0.5 mm into the mat)" in set_up_text(
        told("flatbed-knife", on)[0]
    ).replace("\n  ", " ")


def test_a_jet_has_its_own_caution_and_no_feed_of_ours() -> None:
    text = " ".join(set_up_text(told("jet-table", APART)[0]).split())
    assert "no feed in the profile" in text
    assert "fume and dust, which poison" in text
    assert "Not known: the profile lacks a speed." in text
    assert "into the mat" not in text


@cache
def patterns():
    out = by_path(template_files([PIECES["A-S1-R1"], PIECES["A-K1-1"]], [machine("roll-plotter")]))
    (path,) = [p for p in out if p.endswith("_set-up.txt")]
    return out, out[path].decode()


def test_a_machine_for_card_has_one_sheet_for_all_its_patterns() -> None:
    out, text = patterns()
    plots = [p.rpartition("/")[2] for p in out if p.endswith(".plt")]
    assert len(plots) == 3
    assert all(p in text for p in plots)


def test_cautions_are_those_of_what_the_machine_does():
    """A printer has no guards, a pen melts no lead, card is not lead, and a jet goes into no mat."""
    told_by = {name: machine(name).cautions[0] for name in machine_names()}
    for name, text in told_by.items():
        own = machine(name)
        assert ("guards on" in text) == (own.paper is None and any(head.kind.cuts for head in own.heads)), name
        assert "PUWER" in text, name
    pen, knife = set_up_text(told("pen-marker")[0]), set_up_text(told("flatbed-knife")[0])
    assert "Lead melts" in knife
    assert "Lead melts" not in pen
    assert "Lead is poisonous" in pen
    card = " ".join(patterns()[1].split())
    assert "Lead" not in card
    assert "through the card and a little into the mat" in card
    assert "mm of the roll" not in card


def test_a_set_up_sheet_is_listed_with_its_machine() -> None:
    sheet_, _ = told("flatbed-knife")
    out = set_up_files("code4-01", sheet_, machine("flatbed-knife"), roll="code4-01", folder="rolls")
    assert [file.path for file in out] == [f"rolls/code4-01_flatbed-knife_set-up.{f}" for f in ("txt", "pdf")]
    assert {file.listed.set_up_of for file in out} == {"flatbed-knife"}
