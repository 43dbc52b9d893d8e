"""The shop's rolls, part rolls and kept offcuts in one file, and the runs that draw on them.

Every verb is a function from what there is to a change (`items`, `runs`, `progress`, `undoing`): it knows of no files,
gives a whole change or refuses, and every change sums to zero. `StockFile` keeps what there is and does a change whole
or not at all.
"""

from __future__ import annotations

from cutpath.stock.asked import any_item, free_item, known_run
from cutpath.stock.checking import check
from cutpath.stock.file import StockFile, default_path
from cutpath.stock.items import Delivery, add, adjust, collect, take
from cutpath.stock.progress import tell
from cutpath.stock.refusals import cut_in_part
from cutpath.stock.rows import Entry
from cutpath.stock.runs import Lost, commit, release, reserve, settle
from cutpath.stock.undoing import undo

__all__ = [
    "Delivery",
    "Entry",
    "Lost",
    "StockFile",
    "add",
    "adjust",
    "any_item",
    "check",
    "collect",
    "commit",
    "cut_in_part",
    "default_path",
    "free_item",
    "known_run",
    "release",
    "reserve",
    "settle",
    "take",
    "tell",
    "undo",
]
