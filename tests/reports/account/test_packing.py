"""Packs: every piece in one, none over the figure for lifting unless one piece is, and labels that name them."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import strategies as st

from cutpath import pipeline
from cutpath.profiles import practice
from cutpath.reports.account.packing import (
    deliveries,
    heaviest_words,
    pack_list,
    pack_list_csv,
    pack_of_copies,
    packs_of,
)
from cutpath.reports.account.shape import pattern_kg
from cutpath.reports.words.piece_labels import pack_labels, piece_labels, tied_labels
from tests.properties.surveys import for_all
from tests.reports.conftest import Laid, Spec, make_batch


def rectangles(*sides: tuple[float, int], code: int = 4):
    """Pieces of one job, 500 mm wide: length and quantity of each."""
    details = [
        {"kind": "outline", "size": [length, 500], "quantity": quantity, "code": code} for length, quantity in sides
    ]
    planned = pipeline.plan([{"name": "Counter", "detail": details}])
    return planned.jobs[0], planned.pieces


def counted(packs) -> Counter[str]:
    found: Counter[str] = Counter()
    for pack in packs:
        for piece, count in pack.pieces:
            found[piece.id] += count
    return found


@for_all(st.lists(st.tuples(st.integers(200, 1400), st.integers(1, 40)), min_size=1, max_size=6), st.integers(3, 40))
def test_every_piece_is_in_one_pack_and_none_is_over_the_figure(sides, most):
    job, pieces = rectangles(*sides)
    packs = packs_of(job, pieces, most)
    assert counted(packs) == {piece.id: piece.quantity for piece in pieces}
    for pack in packs:
        assert pack.kg == pytest.approx(sum(n * pattern_kg(p.pattern, pack.lead) for p, n in pack.pieces))
        alone = [count for _, count in pack.pieces] == [1]
        assert pack.kg <= most * (1 + 1e-9) or (pack.heavy and alone)
    light = [pack.kg for pack in packs if not pack.heavy]
    assert all(a + b > most for k, a in enumerate(light) for b in light[k + 1 :]), "two packs would go into one"


def test_copies_fill_a_pack_to_the_figure_and_leads_are_tied_apart():
    kg = 0.3 * 0.5 * 20.41  # code 4, 1.80 mm (BS EN 12588 as other texts restate it)
    job, pieces = rectangles((300, 10))
    packs = packs_of(job, pieces, 3 * kg)
    assert [pack.pieces[0][1] for pack in packs] == [3, 3, 3, 1]
    other = rectangles((300, 1), code=5)[1]
    both = packs_of(job, [*pieces, *(replace(piece, id="X") for piece in other)], 100.0)
    assert [(pack.lead.code, len(pack.pieces)) for pack in both] == [(4, 1), (5, 1)]


def made(*customers: str, kind: Laid | None = None):
    """A batch of two jobs, given to customers."""
    spec = [Spec(4, 300.0, (kind or Laid(0, 1500.0, 0.9, 9), Laid(1, 900.0, 0.9, 4)))]
    batch = make_batch(spec)
    jobs = tuple(
        replace(job, customer=customers[n], site="Yard 3", order=f"=1+{n}") for n, job in enumerate(batch.jobs[:2])
    )
    return replace(batch, jobs=(*jobs, *batch.jobs[2:]))


def test_jobs_of_one_customer_are_delivered_together_and_others_by_themselves():
    assert [d.customer for d in deliveries(made("A Sample", "A Sample"))] == ["A Sample"]
    batch = made("A Sample", "")
    assert [d.customer for d in deliveries(batch)] == ["A Sample", batch.jobs[1].name]
    most = practice()["lift_at_waist"].value
    for delivery in deliveries(batch):
        assert all(pack.kg <= most for pack in delivery.packs)
        assert len({pack.job.customer for pack in delivery.packs}) == 1


def test_the_list_reads_back_with_weights_that_add_up_and_no_formula():
    batch = made("A Sample", "B Sample")
    rows = pack_list(batch)
    back = list(csv.DictReader(io.StringIO(pack_list_csv(rows))))
    assert [(r["customer"], int(r["pack"]), r["piece"], int(r["count"])) for r in back] == [
        (r["customer"], r["pack"], r["piece"], r["count"]) for r in rows
    ]
    for pack in {(r["customer"], r["pack"]) for r in back}:
        own = [r for r in back if (r["customer"], r["pack"]) == pack]
        assert sum(float(r["kg"]) for r in own) == pytest.approx(float(own[0]["pack_kg"]), abs=0.005 * (len(own) + 1))
    whole = sum(p.quantity * pattern_kg(p.pattern, p.lead) for p in batch.pieces)
    assert sum(row["kg"] for row in rows) == pytest.approx(whole)
    assert not [cell for row in back for cell in row.values() if cell.startswith("=")]


def test_a_piece_over_the_figure_is_a_pack_of_its_own_and_says_so():
    batch = make_batch([Spec(4, 1500.0, (Laid(0, 2000.0, 0.9, 2),))])
    rows = pack_list(batch)
    assert [row["count"] for row in rows] == [1, 1]
    assert all("one piece over 25 kg: lift with help" in row["lift"] for row in rows)


def test_a_label_names_roll_place_and_pack_and_copies_agree_with_the_list():
    batch = made("A Sample", "A Sample")
    packs = pack_of_copies(batch)
    assert Counter(packs.values()) == Counter(
        {f"pack {row['pack']} of {row['packs']}": 0 for row in pack_list(batch)}
    ) + Counter([f"pack {row['pack']} of {row['packs']}" for row in pack_list(batch) for _ in range(row["count"])])
    labels = piece_labels(batch)
    assert len(labels) == len(packs)
    sheets = {sheet.id for sheet in batch.sheets}
    for title, lines in labels:
        assert any(title == id_ and words in lines[2] for (id_, _), words in packs.items())
        assert any(f"from {sheet}" in lines[4] for sheet in sheets)


def test_alike_pieces_that_one_pack_holds_are_not_parted_to_fill_another():
    kg = 0.3 * 0.5 * 20.41  # code 4, 1.80 mm (BS EN 12588 as other texts restate it)
    job, pieces = rectangles((600, 3), (300, 2))
    packs = packs_of(job, pieces, 7 * kg)
    assert [[count for _, count in pack.pieces] for pack in packs] == [[3], [2]]


def test_as_many_packs_as_it_takes_are_as_even_as_they_can_be():
    """First fit left 24.9 and 2.4 kg of a stack, where 16 kg is the lower figure."""
    kg = 0.1 * 0.5 * 20.41  # code 4, 1.80 mm (BS EN 12588 as other texts restate it)
    job, pieces = rectangles((1200, 1), (800, 1), (300, 1), (200, 1), (100, 1))
    assert [round(pack.kg / kg) for pack in packs_of(job, pieces, 24 * kg)] == [13, 13]
    job, pieces = rectangles((500, 8))
    assert [[count for _, count in pack.pieces] for pack in packs_of(job, pieces, 30 * kg)] == [[4], [4]]


def test_one_label_to_a_pack_says_how_many_pieces_are_tied_there():
    batch = made("A Sample", "B Sample", kind=Laid(0, 300.0, 0.9, 40))
    labels, rows, cut = tied_labels(batch), pack_list(batch), {piece.id: piece.quantity for piece in batch.pieces}
    assert len(labels) == len(rows) < len(piece_labels(batch))
    assert any(row["count"] < cut[row["piece"]] for row in rows)
    for (title, lines), row in zip(labels, rows, strict=True):
        of = "" if row["count"] == cut[row["piece"]] else f" of {cut[row['piece']]}"
        assert title == row["piece"]
        assert lines[1].startswith(f"{row['count']}{of} piece")
        assert f"{row['kg']:.2f} kg" in lines[2]
        assert lines[2].endswith(f"pack {row['pack']} of {row['packs']}")
        assert f"for {row['customer']}" in lines[3]
        assert lines[4].startswith("from code4-01")


def test_every_pack_has_a_label_with_its_weight_and_what_is_in_it():
    batch = made("A Sample", "B Sample", kind=Laid(0, 300.0, 0.9, 40))
    labels = pack_labels(batch)
    packs = [pack for delivery in deliveries(batch) for pack in delivery.packs]
    rows = {(row["customer"], row["pack"]): row for row in pack_list(batch)}
    assert len(labels) == len(packs) == len(rows)
    for (title, (whose, _, told, held)), pack in zip(labels, packs, strict=True):
        row = rows[whose.removeprefix("for "), int(title.split()[1])]
        assert title == f"Pack {row['pack']} of {row['packs']}"
        assert f"{pack.kg:.2f} kg" in told
        assert told.replace("\u00a0", " ").endswith(row["lift"])
        assert held == " and ".join(f"{count} x {piece.id}" for piece, count in pack.pieces)


@pytest.mark.parametrize("most", [25.0, 12.0, 9.0])
def test_lengths_of_one_wall_go_into_one_pack_where_it_holds_them(most):
    """Bigger pieces first left one corner piece of a left-hand wall by itself in the second pack."""
    wall = {"kind": "cover flashing", "length": 3900, "slope": 30, "hands": "pair", "cover": 90}
    planned = pipeline.plan([{"name": "Walls", "detail": [wall, {"kind": "apron", "width": 900, "pitch": 40}]}])
    packs = packs_of(planned.jobs[0], planned.pieces, most)
    assert counted(packs) == {piece.id: piece.quantity for piece in planned.pieces}
    assert len({piece.hand for piece in planned.pieces}) == 3
    for hand in {piece.hand for piece in planned.pieces}:
        own = [piece for piece in planned.pieces if piece.hand == hand]
        fits = sum(piece.quantity * pattern_kg(piece.pattern, piece.lead) for piece in own) <= most
        holding = [pack for pack in packs if any(piece.hand == hand for piece, _ in pack.pieces)]
        assert len(holding) == 1 or not fits


def test_a_pack_list_says_which_packs_are_too_heavy_for_one():
    light, heavy = made("A Sample", "A Sample"), make_batch([Spec(4, 1500.0, (Laid(0, 2000.0, 0.9, 2),))])
    assert [heaviest_words(one, light) for one in deliveries(light)] == ["No pack is over 25 kg."]
    (both,) = deliveries(heavy)
    assert heaviest_words(both, heavy) == "Packs 1 and 2 over 25 kg: lift with help."
