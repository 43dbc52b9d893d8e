"""Quotes as a folder of files: PDF and CSV of each, and the manifest of them all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cutpath.output import MANIFEST, Manifest, entry_of
from cutpath.reports.account.quotes import quote_csv
from cutpath.values.batch import Batch
from cutpath.values.listing import Listed
from cutpath.values.price import Quote
from cutpath.writers.quote_page import quote_page


def quote_files(quotes: Sequence[Quote], batch: Batch, settled: Mapping[str, object]) -> dict[str, bytes]:
    """Return every file of a folder of quotes; a quote's files are called after the mark of its job."""
    files: dict[str, bytes] = {}
    for quote in quotes:
        files[f"{quote.job.mark}-quote.pdf"] = quote_page(quote)
        files[f"{quote.job.mark}-quote.csv"] = quote_csv(quote).encode()
    entries = tuple(
        entry_of(path, data, Listed(path, path.rpartition(".")[2], None).told()) for path, data in files.items()
    )
    return {**files, MANIFEST: Manifest(batch.version, batch.seed, entries, settings=settled).text().encode()}
