import csv
import io
import math
from dataclasses import replace

import pytest
from hypothesis import strategies as st

from cutpath.pieces import pieces_of
from cutpath.reports.account.marking import marking
from cutpath.reports.account.setting_out import running_dimensions, setting_out, setting_out_csv
from cutpath.values.leadwork import CornerKind, CornerReturn
from cutpath.values.pattern import Station, StationUse
from cutpath.values.survey import Hand, Job
from tests.families.specimens import courses, head, steps
from tests.properties.surveys import for_all
from tests.reports.conftest import Spec, make_batch


def piece_with(*stations, mirrored=False):
    piece = make_batch([Spec()]).pieces[0]  # a strip 600 x 150
    pattern = replace(
        piece.pattern, stations=tuple(Station(name, StationUse.START, at) for name, at in stations), mirrored=mirrored
    )
    return replace(piece, pattern=pattern)


def hundredths(most_mm):
    return st.integers(0, 100 * most_mm).map(lambda n: n / 100)


def named(rows, initials):
    """Rows of stations whose names begin with one of these and end with a figure or nothing."""
    return [r for r in rows if r["station"][0] in initials and (len(r["station"]) == 1 or r["station"][1:].isdigit())]


def test_figures_run_from_the_lower_left_corner_in_order():
    rows = named(setting_out([piece_with(("b", (200.4, 65.0)), ("a", (12.5, 90.2)))]), "ab")
    assert [(r["station"], r["along_mm"], r["square_mm"]) for r in rows] == [("a", 13, 90), ("b", 200, 65)]
    assert {r["corner"] for r in rows} == {"lower left"}
    assert {(r["blank_length_mm"], r["blank_width_mm"]) for r in rows} == {(600.0, 150.0)}
    assert [r["worst_rounding_mm"] for r in rows] == pytest.approx([0.5, 0.5])


def test_a_left_hand_is_measured_from_the_right():
    (row,) = named(setting_out([piece_with(("a", (590.0, 20.0)), mirrored=True)]), "a")
    assert (row["along_mm"], row["square_mm"], row["corner"]) == (10, 20, "lower right")


def test_corners_are_listed_whether_or_not_they_have_a_station():
    rows = setting_out([piece_with()])  # three saw teeth on 600 x 150, water line at 90
    ring = [(r["along_mm"], r["square_mm"]) for r in sorted(rows, key=lambda r: r["outline"] or 99) if r["outline"]]
    assert ring == [(0, 0), (600, 0), (600, 90), (500, 150), (400, 90), (300, 150), (200, 90), (100, 150), (0, 90)]
    assert [r["along_exact_mm"] for r in rows] == sorted(r["along_exact_mm"] for r in rows)
    assert len({r["point"] for r in rows}) == len(rows)


@for_all(st.lists(st.tuples(hundredths(600), hundredths(150)), min_size=1, max_size=8, unique=True), st.booleans())
def test_rounding_stays_within_what_is_stated(points, mirrored):
    piece = piece_with(*((f"s{i}", p) for i, p in enumerate(points)), mirrored=mirrored)
    rows = setting_out([piece])
    assert len(named(rows, "s")) == len(points)
    errors = [abs(r[f"{k}_mm"] - r[f"{k}_exact_mm"]) for r in rows for k in ("along", "square")]
    assert max(errors) == rows[0]["worst_rounding_mm"] <= 0.5 + 1e-9
    for row in named(rows, "s"):
        x, y = points[int(row["station"][1:])]
        assert row["along_exact_mm"] == pytest.approx(600.0 - x if mirrored else x, abs=1e-6)
        assert row["square_exact_mm"] == pytest.approx(y, abs=1e-6)


def test_both_hands_of_a_run_are_set_out_by_the_same_figures():
    both = head(Hand.RIGHT, Hand.LEFT, longest_mm=1200.0, lap_mm=100.0)
    corner = CornerReturn(CornerKind.INTEGRAL, 150.0, None, 0.0)
    run = steps(
        head=both,
        pitch_deg=40.0,
        slope_mm=900.0,
        joints=courses(19),
        stock_widths_mm=(150.0,),
        corner=corner,
        least_fold_mm=20.0,
    )
    pieces, _ = pieces_of([Job("Mill", "M", "m.toml", "", "", (run,))])
    assert len(pieces) == 2
    right, left = ([r for r in setting_out(pieces) if r["piece"] == p.id] for p in pieces)
    assert len(right) == len(left) > 20
    other = {"right end": "left end", "left end": "right end"}  # ends of lines are named as they lie before the worker
    for a in right:
        line, comma, end = a["station"].rpartition(", ")
        (b,) = [r for r in left if r["station"] == f"{line}{comma}{other.get(end, end)}"]
        assert b["along_exact_mm"] == pytest.approx(a["along_exact_mm"], abs=1e-6)
        assert b["square_exact_mm"] == pytest.approx(a["square_exact_mm"], abs=1e-6)
    foot = next(r for r in right if r["station"].startswith("riser") and r["station"].endswith("foot"))
    # Where the leg's outer lower corner is the blank's edge, the arris stands 150 cos 40 along from it and
    # the first riser leaves the water line 65 tan 40 further on.
    expected = 150 * math.cos(math.radians(40)) + 65 * math.tan(math.radians(40))
    assert foot["along_exact_mm"] == pytest.approx(expected, abs=1e-6)


def test_csv_reads_back(two_codes):
    rows = list(csv.DictReader(io.StringIO(setting_out_csv(two_codes.pieces))))
    assert len(rows) == sum(len(marking(p.pattern).points) for p in two_codes.pieces)
    first = two_codes.pieces[0]
    own = [r for r in rows if r["piece"] == first.id]
    expected = {station.name: at for station, at in running_dimensions(first.pattern)}
    assert expected
    for name, (along, square) in expected.items():
        (row,) = [r for r in own if r["station"] == name]
        assert float(row["along_exact_mm"]) == pytest.approx(along, abs=5.1e-5)
        assert float(row["square_exact_mm"]) == pytest.approx(square, abs=5.1e-5)
        assert abs(int(row["along_mm"]) - along) <= float(row["worst_rounding_mm"]) + 5.1e-5
