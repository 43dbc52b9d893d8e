"""The page to print: what was drawn and what for, every roll as a picture, every job's cutting list.

One HTML file with its style and pictures inside; nothing is fetched, nothing runs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

from cutpath.paper.markup import HERE, element, framed
from cutpath.reports.account.yields import Account
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.words.page.findings import cautions_html, findings_html
from cutpath.reports.words.page.head import for_whom, headline, to_fetch
from cutpath.reports.words.page.jobs import jobs_html
from cutpath.reports.words.page.lead import lead_html
from cutpath.reports.words.page.rolls import rolls_html
from cutpath.reports.words.page.shop_rules import shop_rules_html
from cutpath.reports.words.page.style import STYLE
from cutpath.values.batch import Batch


def report_parts(batch: Batch, account: Account, cautions: Sequence[str], folded: Mapping[str, Folded]) -> list[str]:
    """Make the whole page for a batch and its account, in parts that follow each other; the same for the same values.

    Of large batches the page is tens of MB, of which each copy would be another.

    Parameters
    ----------
    cautions : sequence of str
        Plain sentences, printed once, before anything is to be cut.
    folded : mapping of str to Folded
        The pieces of the batch drawn folded up, by their numbers.
    """
    title = "Cutting report: " + "; ".join(job.name for job in batch.jobs)
    body = [
        headline(batch, account),
        to_fetch(batch),
        for_whom(batch, account),
        _contents(batch, cautions),
        findings_html(batch.findings, batch.jobs),
        rolls_html(batch, account, cautioned=bool(cautions)),
        lead_html(account, [m.lead for m in batch.materials]),
        shop_rules_html(batch.practice),
        cautions_html(cautions),
        *jobs_html(batch, account, folded),
    ]
    return list(framed(title, STYLE + PICTURE_STYLE, element("main", HERE), body))


def _contents(batch: Batch, cautions: Sequence[str]) -> str:
    """Link to every part."""
    parts = [("check", "Check these")] if batch.findings else []
    parts += [("rolls", "Rolls"), ("lead", "Lead")]
    parts += [("safety", "Before you start")] if cautions else []
    parts += [(f"job-{n}", job.name) for n, job in enumerate(batch.jobs, 1)]
    items = (element("li", element("a", escape(name), href=f"#{id_}")) for id_, name in parts)
    return element("nav", element("ul", *items), aria_label="Contents", class_="contents")
