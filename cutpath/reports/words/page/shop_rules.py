"""The shop's own rules on the page: what the job was held to, and what the source says."""

from __future__ import annotations

from cutpath.paper.markup import element, html_table
from cutpath.profiles import practice as published
from cutpath.trade.rules import Practice, changed, figure, relaxed


def shop_rules_html(practice: Practice) -> str:
    """Return a section that lists every figure of the shop's own, nothing where there is none."""
    rows = [
        (
            own.name.replace("_", " "),
            f"the shop's own rule: {figure(own)}",
            own.source,
            f"instead of {figure(old)}",
            old.founded_on,
            "looser" if relaxed(own, old) else "",
        )
        for own, old in changed(practice, published())
    ]
    if not rows:
        return ""
    head = ("rule", "held to", "in the shop's words", "published", "source", "sense")
    return element(
        "section",
        element("h2", "The shop's own rules"),
        html_table(head, rows, left=frozenset(range(6)), caption="Rules of the shop's own"),
        class_="shop-rules",
    )
