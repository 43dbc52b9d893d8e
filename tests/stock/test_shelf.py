"""What a nest may draw on beside a stock: items as rolls, and the least that is bought."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpath import stock
from cutpath.nesting import nest
from cutpath.shelf import Shelf, name_of
from cutpath.stock import StockFile
from cutpath.values.nest import NestProblem, Roll, RunChoice, RunLength
from cutpath.values.stock import Kind
from tests.nesting.shapes import LADDER, plate
from tests.stock.striking import AT, rolls


def test_offcuts_and_part_rolls_are_owned_and_new_rolls_are_not(tmp_path):
    file = StockFile(tmp_path / "stock.sqlite3")
    file.change(lambda h: stock.add(h, rolls(quantity=2), AT), create=True)
    file.change(lambda h: stock.add(h, rolls(length_mm=1200, kind=Kind.OFFCUT), AT))
    shelf = Shelf(file, file.read().free)
    assert [(r.quantity, r.offcut, r.material) for r in shelf.rolls] == [
        (2, False, "lead code 4"),
        (1, True, "lead code 4"),
    ]


@pytest.mark.nests
def test_the_least_is_bought_that_does_beside_the_shelf():
    """Of 84 soakers 46 go on the shelf, 190 mm across, and 30 on two lanes of 3 m: three do, from 570 mm wide on.

    The first six that had the area were tried, none of which does; then any roll of the list might be bought.
    """
    shelf = Shelf(StockFile(Path("/no")), (), LADDER)
    own = (Roll(360.0, 1241.0, 1, offcut=True, owned=True), Roll(240.0, 6000.0, 1, offcut=True, owned=True))
    lengths = [RunLength(0, 1, plate(f"S{n}", 175.0, 190.0)) for n in range(40)]  # their lead is not among the blanks
    runs = tuple(RunChoice(length.blank.id, (length,), (0, 1)) for length in lengths)
    problem = NestProblem((plate("K", 175.0, 190.0, 44),), (*own, *LADDER), runs=runs)
    tried = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cutpath.shelf.nest", lambda *asked: tried.append(asked) or nest(*asked))
        *kept, bought = shelf._from_stock(problem).rolls
    assert tuple(kept) == own
    assert bought == Roll(570.0, 3000.0, 1)
    assert len(tried) < 10


def test_a_guess_says_so_in_its_name():
    item = stock.add(StockFile(Path("/no")).read(), rolls(exact=False, place="floor", kind=Kind.PART), AT).put[0]
    assert name_of(item) == "S0001, part roll, floor; about 6000 mm: measure it first"
