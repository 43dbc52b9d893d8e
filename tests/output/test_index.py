"""The index of a run: every file once, under its roll and machine, set-up first."""

from __future__ import annotations

from cutpath.output.index import index_text
from cutpath.values.listing import Listed, OnMachine


def frame(number: int, start_mm: float, end_mm: float) -> OnMachine:
    return OnMachine("k", (), number, 2, start_mm, end_mm, (), None)


ENTRIES = [
    Listed("report.html", "html"),
    Listed("rolls/a_mm.dxf", "dxf-r2000", "a", strokes={}),
    Listed("rolls/a_k_1of2_mm.ngc", "ngc", "a", strokes={}, machine=frame(1, 0.0, 1600.0)),
    Listed("rolls/a_k_2of2_mm.ngc", "ngc", "a", strokes={}, machine=frame(2, 1550.0, 2000.0)),
    Listed("rolls/a_k_set-up.pdf", "pdf", "a", set_up_of="k"),
    Listed("rolls/b_mm.svg", "svg", "b", strokes={}),
    Listed("templates/p_mm.svg", "svg", piece="p", strokes={}),
]


def test_every_file_stands_in_it_once_and_in_order() -> None:
    text = index_text(ENTRIES)
    assert all(text.count(e.path) == 1 for e in ENTRIES)
    order = ["report.html", "a_mm.dxf", "a_k_set-up", "a_k_1of2", "a_k_2of2", "b_mm.svg", "p_mm.svg"]
    assert [text.index(name) for name in order] == sorted(text.index(name) for name in order)
    assert "Roll a on k, in this order" in text
    assert "frame 2 of 2, 1550 to 2000 mm" in text


def test_headings_without_files_are_left_out() -> None:
    assert "Patterns" not in index_text(ENTRIES[:-1])
    assert "Roll b" not in index_text(ENTRIES[:3])


def test_what_is_told_of_a_file_is_what_it_has() -> None:
    report, drawing, first, *_, set_up, _, pattern = (entry.told() for entry in ENTRIES)
    assert report == {"roles": {}, "format": "html", "roll": None}
    assert drawing == {"roles": {}, "format": "dxf-r2000", "roll": "a", "units": "mm", "strokes": {}}
    assert (first["machine"], first["frame"]) == ("k", {"number": 1, "of": 2, "start_mm": 0.0, "end_mm": 1600.0})
    assert set_up == {"roles": {}, "format": "pdf", "roll": "a", "set_up_of": "k"}
    assert (pattern["piece"], pattern["units"]) == ("p", "mm")
