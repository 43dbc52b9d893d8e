"""Report and tickets of a batch as one text each, as a file holds them."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.reports.account.yields import Account
from cutpath.reports.pictures.isometric import folded_pieces
from cutpath.reports.words.page import report_parts
from cutpath.reports.words.tickets import ticket_parts
from cutpath.values.batch import Batch


def report_html(batch: Batch, account: Account, cautions: Sequence[str] = ()) -> str:
    return "".join(report_parts(batch, account, cautions, folded_pieces(batch)))


def tickets_html(batch: Batch, run: str = "") -> str:
    return "".join(ticket_parts(batch, run, folded_pieces(batch)))
