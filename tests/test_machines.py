"""Machine profiles: those that come with the tool, and every way to get one wrong."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cutpath.errors import Refused, Severity
from cutpath.machines import machine, machine_findings, machine_names, machines, parse_machine
from cutpath.machines.beds import off_the_bed, rolls_within
from cutpath.plain import is_unseen
from cutpath.profiles.reading import profile_root
from cutpath.values.drawing import Role
from cutpath.values.machine import Corner, FileFormat, HeadKind, Stuff
from cutpath.values.nest import Roll


def text_of(name: str) -> str:
    return (profile_root() / "machines" / f"{name}.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", machine_names())
def test_every_profile_of_ours_is_sound(name: str) -> None:
    made = machine(name)
    assert made.name == name
    assert made.source
    assert "No real machine was tried" in text_of(name)
    assert {Role.INNER, Role.OUTER} <= set(made.roles_run())
    assert made.task(Role.REFERENCE).head is None
    if made.stuff is Stuff.LEAD:
        assert made.task(Role.FOLD).head is None or made.head(made.task(Role.FOLD).head).kind is HeadKind.PEN


def test_the_kinds_that_a_shop_may_have_are_there() -> None:
    formats = {machine(n).format for n in machine_names()}
    assert {FileFormat.HPGL, FileFormat.NGC, FileFormat.PDF, FileFormat.DXF_R2000} <= formats
    kinds = {h.kind for n in machine_names() for h in machine(n).heads}
    assert kinds == set(HeadKind)


@pytest.mark.parametrize("name", machine_names())
def test_fume_and_dust_are_opt_in_without_speeds_and_with_a_caution(name: str) -> None:
    made = machine(name)
    hot = [h for h in made.heads if h.kind.hazardous]
    assert made.opt_in is bool(hot)
    assert all(h.speed_mm_min is None for h in hot)
    assert len(made.cautions) == 1 + len(hot)
    assert [f.code for f in machine_findings(made)] == ["CP611"] * len(hot)


def changed(name: str, *edits: tuple[str, str]) -> str:
    text = text_of(name)
    for pattern, new in edits:
        text, count = re.subn(pattern, new, text, count=1, flags=re.MULTILINE)
        assert count == 1, pattern
    return text


def test_lengths_of_a_profile_carry_their_unit() -> None:
    text = changed(
        "flatbed-knife",
        (r"^length_mm = 1600", 'length_mm = "1.6 m"'),
        (r"^overlap_mm = 50", 'overlap_mm = "5 cm"'),
        (r"^up_mm = [0-9.]+", 'up_mm = "1/4 in"'),
    )
    made, ours = parse_machine(text, "own.toml", "own"), machine("flatbed-knife")
    assert (made.bed.length_mm, made.bed.overlap_mm) == (ours.bed.length_mm, ours.bed.overlap_mm)
    assert 6.35 in [head.up_mm for head in made.heads]


BROKEN = [
    ("flatbed-knife", [(r"^decimals = 4", "decimal = 4")], "decimal", "CP203"),
    ("flatbed-knife", [(r"^decimals = 4", "decimals = 3")], "decimals", "CP203"),
    ("flatbed-knife", [(r'^format = "ngc"', 'format = "gcode"')], "format", "CP203"),
    ("flatbed-knife", [(r"^length_mm = 1600", "length_mm = 0")], "bed.length_mm", "CP203"),
    ("flatbed-knife", [(r"^length_mm = 1600 .*\n", "")], "bed.length_mm", "CP203"),
    ("flatbed-knife", [(r"^length_mm = 1600", 'length_mm = "1250"')], "bed.length_mm", "CP203"),
    ("flatbed-knife", [(r"^length_mm = 1600", "length_mm = nan")], "bed.length_mm", "CP203"),
    ("flatbed-knife", [(r"^overlap_mm = 50", "overlap_mm = 1000"), (r"^length_mm = 1600", "length_mm = 900")],
     "bed.overlap_mm", "CP203"),
    ("flatbed-knife", [(r"^overlap_mm = 50", "overlap_mm = 5")], "bed.overlap_mm", "CP203"),
    ("flatbed-knife", [(r"^mark_inset_mm = 15", "mark_inset_mm = 325")], "bed.mark_inset_mm", "CP203"),
    ("flatbed-knife", [(r'^name = "knife"', 'name = "pen"')], "head[2].name", "CP203"),
    ("flatbed-knife", [(r'inner = \{ head = "knife"', 'inner = { head = "knive"')], "roles.inner.head", "CP203"),
    ("flatbed-knife", [(r"^inner = .*\n", "")], "roles.inner", "CP203"),
    ("flatbed-knife", [(r'fold = \{ head = "pen"', 'fold = { head = "knife"')], "roles.fold.head", "CP604"),
    ("flatbed-knife", [(r'mark = \{ head = "pen"', 'mark = { head = "knife"')], "roles.mark.head", "CP203"),
    ("flatbed-knife", [(r'layer = "FOLD"', 'layer = "MARK"')], "roles.fold.layer", "CP203"),
    ("flatbed-knife", [(r'layer = "FOLD"', 'layer = "my folds"')], "roles.fold.layer", "CP203"),
    ("flatbed-knife", [(r"^outer = .*", 'outer = { head = "knife" }\nreference = { head = "pen" }')],
     "roles.reference.head", "CP203"),
    ("flatbed-knife", [(r'kind = "tangential knife"', 'kind = "drag knife"')], "head[2].offset_mm", "CP203"),
    ("flatbed-knife", [(r"^overcut_mm = 0.5", "offset_mm = 1")], "head[2].offset_mm", "CP203"),
    ("flatbed-knife", [(r"^mat_mm = .*\n", "")], "head[2].mat_mm", "CP203"),
    ("flatbed-knife", [(r"^mat_mm = 0.5", "mat_mm = 0.5\ndown_mm = -2")], "head[2].down_mm", "CP203"),
    ("flatbed-knife", [(r"^down_mm = 0", "mat_mm = 0.5")], "head[1].mat_mm", "CP203"),
    ("flatbed-knife", [(r'^stuff = "lead"', 'stuff = "card"')], "card_mm", "CP203"),
    ("roll-plotter", [(r"^offset_mm = 0.9", "offset_mm = 0.9\nmat_mm = 0.1")], "head[2].mat_mm", "CP203"),
    ("flatbed-knife", [(r"^overcut_mm = 0.5", "kerf_mm = 1")], "head[2].kerf_mm", "CP203"),
    ("flatbed-knife", [(r'kind = "tangential knife"', 'kind = "jet"\nkerf_mm = 1')], "head[2].kind", "CP203"),
    ("flatbed-knife", [(r"^speed_mm_min = 4000\n", "")], "head[2].speed_mm_min", "CP203"),
    ("flatbed-knife", [(r"^speed_mm_min = 4000", "speed_mm_min = 4")], "head[2].speed_mm_min", "CP203"),
    ("spindle-table", [(r"^\[leads\]", '[[head]]\nname = "pen"\nkind = "pen"\nnumber = 2\n\n[leads]')],
     "head[2].speed_mm_min", "CP203"),
    ("flatbed-knife", [(r"^up_mm = [0-9.]+", "up_mm = 1e-9")], "head[1].up_mm", "CP203"),
    ("flatbed-knife", [(r"^gap_mm = 0 ", "gap_mm = -1 ")], "sheet.gap_mm", "CP203"),
    ("flatbed-knife", [(r"^roll_feed = true", "roll_feed = false"), ("keep_in_frame = false", "keep_in_frame = true")],
     "sheet.keep_in_frame", "CP203"),
    ("flatbed-knife", [(r"^\[roles\]", "[perforation]\ncut_mm = 4\nbridge_mm = 4\n\n[roles]")], "perforation", "CP604"),
    ("flatbed-knife", [(r"^overlap_mm = 50 ", "overlap_mm = 1600 ")], "bed.overlap_mm", "CP203"),
    ("flatbed-knife", [(r"^\[roles\]", "[leads]\nin_mm = 4\n\n[roles]")], "leads", "CP203"),
    ("flatbed-knife", [(r"^\[roles\]", "[tabs]\nwidth_mm = 2\nspacing_mm = 300\n\n[roles]")], "shared_once", "CP203"),
    ("flatbed-knife", [(r"^shared_once = true", "shared_once = false")],
     "edge_cuts", "CP203"),
    ("flatbed-drag-knife", [(r"^inset_mm = 5", "inset_mm = 1")], "bed.inset_mm", "CP203"),
    ("pen-marker", [(r"^length_mm = 800", "length_mm = 820")], "bed", "CP203"),
    ("pen-marker", [(r"^overlap_mm = 40", 'overlap_mm = 40\norigin = "upper right"')], "bed.origin", "CP203"),
    ("pen-marker", [(r"^number = 2", "number = 1")], "head[2].number", "CP203"),
    ("flatbed-knife", [(r"^number = 2", "number = 1")], "head[2].number", "CP203"),
    ("pen-marker", [(r"^number = 2", "number = 9")], "head[2].number", "CP203"),
    ("pen-marker", [(r"^number = 2", "number = 2\nat_mm = [10.0, 0.0]")], "head[2].at_mm", "CP203"),
    ("office-printer", [(r"(?s)^\[paper\].*?\n\n", "")], "paper", "CP203"),
    ("office-printer", [(r"^width_mm = 210", "width_mm = 140")], "paper", "CP203"),
    ("wide-printer", [(r"^height_mm = 3000", "height_mm = 6000")], "paper", "CP203"),
    ("flatbed-knife", [(r"^turned = .*\n", "")], "head[2].turned", "CP203"),
    ("flatbed-knife", [(r'^turned = "by the machine"', 'turned = "B"')], "head[2].turned", "CP203"),
    ("flatbed-drag-knife", [(r"^offset_mm = 2 ", 'turned = "C"\noffset_mm = 2 ')], "head[2].turned", "CP203"),
    ("drawing-table", [(r"^speed_mm_min = 4000", 'speed_mm_min = 4000\nturned = "A"')], "head[2].turned", "CP203"),
    ("flatbed-knife", [(r"^overcut_mm = 0.5", "swivel_mm = 0.3")], "head[2].swivel_mm", "CP203"),
    ("roll-plotter", [(r"^offset_mm = 0.9", "offset_mm = 0.9\nswivel_mm = 0.1")], "head[2].swivel_mm", "CP203"),
    ("flatbed-knife", [(r"^overcut_mm = 0.5", "spindle_rpm = 9000")], "head[2].spindle_rpm", "CP203"),
    ("spindle-table", [(r"^kerf_mm = 3", "kerf_mm = 3\nspindle_rpm = 0")], "head[1].spindle_rpm", "CP203"),
    ("flatbed-knife", [(r'^tool_heights = "offsets"', 'tool_heights = "guessed"')], "tool_heights", "CP203"),
    ("jet-table", [(r'^format = "dxf-r2000"', 'format = "ngc"')], "head[2].kind", "CP203"),
    ("jet-table", [(r"^opt_in = true", "opt_in = false")], "head[2].kind", "CP203"),
    ("jet-table", [(r"^gap_mm = 8 ", "gap_mm = 1 ")], "sheet.gap_mm", "CP203"),
    ("jet-table", [(r"^kerf_mm = 1.2 .*", "")], "head[2].kerf_mm", "CP203"),
    ("jet-table", [(r"^tool_paths = true", "tool_paths = false")], "leads", "CP203"),
    ("jet-table", [(r"^spacing_mm = 400", "spacing_mm = 10")], "tabs.spacing_mm", "CP203"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "edits", "path", "code"), BROKEN, ids=[f"{b[2]}-{k}" for k, b in enumerate(BROKEN)])
def test_a_broken_profile_is_refused_at_its_key(name, edits, path, code) -> None:
    with pytest.raises(Refused) as refused:
        parse_machine(changed(name, *edits), "shop.toml", "shop")
    assert (f"shop.toml: {path}", code) in {(f.where, f.code) for f in refused.value.findings}


def test_all_faults_come_at_once() -> None:
    text = changed(
        "flatbed-knife",
        (r'fold = \{ head = "pen"', 'fold = { head = "knife"'),
        (r"^overcut_mm = 0.5", "offset_mm = 1"),
        (r"^mark_inset_mm = 15", "mark_inset_mm = 400"),
    )
    with pytest.raises(Refused) as refused:
        parse_machine(text, "shop.toml", "shop")
    assert len(refused.value.findings) >= 3


def test_no_key_lets_a_head_that_cuts_run_on_a_fold_in_lead() -> None:
    edit = (r'fold = \{ head = "pen"', 'fold = { head = "knife"')
    with pytest.raises(Refused) as refused:
        parse_machine(changed("flatbed-knife", edit), "shop.toml", "shop")
    (fault,) = refused.value.findings
    assert (fault.code, fault.severity) == ("CP604", Severity.FAULT)
    assert "If you must" not in fault.remedy
    assert "never cut or scored" in fault.remedy
    asked = changed("flatbed-knife", edit, (r"^shared_once", "cut_folds_in_lead = true\nshared_once"))
    with pytest.raises(Refused, match="cut_folds_in_lead"):
        parse_machine(asked, "shop.toml", "shop")


@pytest.mark.parametrize("name", machine_names())
def test_every_machine_tells_hands_clear_and_a_dry_run_first(name: str) -> None:
    first = machine(name).cautions[0]
    assert "hands clear" in first
    assert "PUWER 1998" in first
    assert ("measure its bar first" if machine(name).paper else "run the file dry first") in first


def test_a_profile_of_the_shops_own_is_read_from_its_file(tmp_path) -> None:
    file = tmp_path / "our-table.toml"
    file.write_text(changed("flatbed-knife", (r'origin = "lower left"', 'origin = "upper right"')), encoding="utf-8")
    made = machine(file)
    assert made.name == "our-table"
    assert made.bed.origin is Corner.UPPER_RIGHT


@pytest.mark.parametrize("name", ["shop\nM3 S9000", "shop\u202e", "shop\x1b[2J"])
def test_a_machine_called_after_what_cannot_be_seen_is_refused(name: str, tmp_path: Path) -> None:
    file = tmp_path / f"{name}.toml"
    file.write_text(changed("flatbed-knife"), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        machine(file)
    (finding,) = refused.value.findings
    assert finding.code == "CP203"
    assert "its name holds a character that cannot be seen" in finding.found
    assert not any(is_unseen(c) for c in finding.sentence.replace("\n", ""))


def test_names_that_differ_by_case_alone_are_one_name(tmp_path: Path) -> None:
    for folder, name, text in (("a", "shop", "4000"), ("b", "SHOP", "3000")):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / f"{name}.toml").write_text(changed("flatbed-knife", (r"4000", text)), encoding="utf-8")
    with pytest.raises(Refused, match='a second machine named "SHOP"'):
        machines([tmp_path / "a" / "shop.toml", tmp_path / "b" / "SHOP.toml"])


def test_an_unknown_name_says_what_was_meant() -> None:
    with pytest.raises(Refused, match="Did you mean flatbed-knife"):
        machine("flatbed-nife")


def test_a_head_that_is_not_there_says_what_was_meant() -> None:
    with pytest.raises(Refused, match="Did you mean knife"):
        parse_machine(
            changed("flatbed-knife", (r'inner = \{ head = "knife"', 'inner = { head = "knive"')), "s.toml", "s"
        )


@pytest.mark.parametrize(
    ("name", "edits"),
    [
        ("flatbed-knife", [(r'^tool_heights = "offsets"', 'tool_heights = "files"'), (r"^number = 2", "number = 1")]),
        ("flatbed-knife", [(r'^stuff = "lead"', 'stuff = "card"\ncard_mm = 0.5')]),
        ("office-printer", [('"ink"', '"P"')] * 5),
    ],
    ids=["one number in files of their own", "film of half a millimetre", "a name of one letter"],
)
def test_what_a_shop_may_write(name, edits) -> None:
    parse_machine(changed(name, *edits), "shop.toml", "shop")


def test_text_that_is_no_toml_is_refused() -> None:
    with pytest.raises(Refused, match="CP203"):
        parse_machine("title = ", "shop.toml", "shop")


def test_only_rolls_that_a_machine_takes_are_left() -> None:
    rolls = (Roll(600.0, 6000.0), Roll(600.0, 3000.0), Roll(700.0, 3000.0))
    assert rolls_within(rolls, [machine("jet-table")]) == rolls[1:]
    assert rolls_within(rolls, [machine("flatbed-knife")]) == rolls[:2]


def test_a_bed_that_leaves_no_roll_is_told_with_what_goes_on_it() -> None:
    rolls = (Roll(600.0, 6000.0), Roll(700.0, 3000.0), Roll(600.0, 3000.0))
    jet, knife = machine("jet-table"), machine("flatbed-knife")
    on_jet, on_knife = off_the_bed([jet, knife], "A", rolls, [])
    assert "bed of 3000 × 1500 mm without a roll feed takes 2 of 3 of the listed rolls" in on_jet.found
    assert on_jet.accepted.endswith("up to 1500 mm wide and 3000 mm long")
    assert "1600 × 650 mm with a roll feed takes 2 of 3" in on_knife.found
    assert on_knife.accepted.endswith("up to 650 mm wide")
    (none,) = off_the_bed([jet, knife], "A", rolls[:1], ["cut-lengths"])
    assert "takes none of the listed rolls" in none.found
    assert none.remedy == "Take --rolls cut-lengths."


def test_a_frame_beyond_what_a_plotter_counts_is_told_in_millimetres() -> None:
    """32,767 units of 0.025 mm are 819.2 mm."""
    with pytest.raises(Refused) as refused:
        parse_machine(changed("pen-marker", (r"^length_mm = 800", "length_mm = 820")), "shop.toml", "shop")
    (fault,) = refused.value.findings
    assert fault.found.startswith("a reach of 820 mm with insets is 32800 units")
    assert fault.accepted == "at most 32767 units (819.2 mm)"


def test_a_profile_that_is_silent_gets_nothing_that_it_did_not_ask_for() -> None:
    silent = [(rf"^{key} = .*\n", "") for key in ("lift_s", "lift_s", "overcut_mm", "dashes")]
    bare = parse_machine(changed("flatbed-knife", *silent), "s.toml", "s")
    assert not bare.dashes
    assert [(head.lift_s, head.overcut_mm, head.lift_over_deg) for head in bare.heads] == [(0, 0, 20)] * 2
    plain = parse_machine(changed("office-printer", (r"^chain_folds = .*\n", "")), "s.toml", "s")
    assert plain.paper is not None
    assert not plain.paper.chain_folds


def test_a_page_may_be_as_long_as_readers_keep_its_scale() -> None:
    page = changed("wide-printer", (r"^height_mm = 3000", "height_mm = 5080"))
    assert parse_machine(page, "shop.toml", "shop").paper.height_mm == 5080


@pytest.mark.parametrize(
    ("role", "own", "left"), [("inner", "{}", "inner"), ("outer", '{ head = "pen" }', "outer"), ("fold", "{}", "")]
)
def test_a_machine_that_cuts_half_is_told(role: str, own: str, left: str) -> None:
    made = parse_machine(changed("flatbed-knife", (rf"^{role} = .*", f"{role} = {own}")), "own.toml", "own")
    found = machine_findings(made)
    assert [(f.where, f.severity) for f in found] == [(f"own: roles.{left}", Severity.WARNING)] * bool(left)
