"""The shop's rolls, part rolls and kept offcuts in one file, and the runs that draw on them.

Every verb is a function from what there is to a change (`book`); `StockFile` keeps what there is and does a change
whole or not at all.
"""

from __future__ import annotations

from cutpath.stock.book import (
    Delivery,
    Lost,
    add,
    adjust,
    any_item,
    collect,
    commit,
    free_item,
    known_run,
    release,
    reserve,
    settle,
    take,
    tell,
)
from cutpath.stock.checking import check
from cutpath.stock.file import Entry, StockFile, default_path
from cutpath.stock.refusals import cut_in_part
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
