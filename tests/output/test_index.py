"""The index of a run: every file once, under its roll and machine, set-up first."""

from __future__ import annotations

from cutpath.output.index import index_text

ENTRIES = [
    {"path": "report.html", "format": "html", "roll": None},
    {"path": "rolls/a_mm.dxf", "format": "dxf-r2000", "roll": "a"},
    {"path": "rolls/a_k_1of2_mm.ngc", "format": "ngc", "roll": "a", "machine": "k",
     "frame": {"number": 1, "of": 2, "start_mm": 0.0, "end_mm": 1600.0}},
    {"path": "rolls/a_k_2of2_mm.ngc", "format": "ngc", "roll": "a", "machine": "k",
     "frame": {"number": 2, "of": 2, "start_mm": 1550.0, "end_mm": 2000.0}},
    {"path": "rolls/a_k_set-up.pdf", "format": "pdf", "roll": "a", "set_up_of": "k"},
    {"path": "rolls/b_mm.svg", "format": "svg", "roll": "b"},
    {"path": "templates/p_mm.svg", "format": "svg", "roll": None, "piece": "p"},
]  # fmt: skip


def test_every_file_stands_in_it_once_and_in_order() -> None:
    text = index_text(ENTRIES)
    assert all(text.count(e["path"]) == 1 for e in ENTRIES)
    order = ["report.html", "a_mm.dxf", "a_k_set-up", "a_k_1of2", "a_k_2of2", "b_mm.svg", "p_mm.svg"]
    assert [text.index(name) for name in order] == sorted(text.index(name) for name in order)
    assert "Roll a on k, in this order" in text
    assert "frame 2 of 2, 1550 to 2000 mm" in text


def test_headings_without_files_are_left_out() -> None:
    assert "Patterns" not in index_text(ENTRIES[:-1])
    assert "Roll b" not in index_text(ENTRIES[:3])
