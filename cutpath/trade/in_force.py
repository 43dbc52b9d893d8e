"""The rules and sizes that a job is held to: the published ones, and the shop's own in their place."""

from __future__ import annotations

from pathlib import Path

from cutpath.errors import Finding, Refused
from cutpath.profiles import plausible, practice
from cutpath.profiles.shop import shop_figures
from cutpath.trade.plausible import Sizes, own_sizes
from cutpath.trade.rules import Practice, shop_findings


def in_force(shop_rules: str | Path | None) -> tuple[Practice, Sizes, list[Finding]]:
    """Return rules and sizes, and what is to be said of the shop's own; those at fault do not count.

    Parameters
    ----------
    shop_rules : str, Path or None
        File with the shop's own; see `cutpath.profiles.shop.shop_figures`.
    """
    if shop_rules is None:
        return practice(), plausible(), []
    try:
        own, sizes = shop_figures(shop_rules)
    except Refused as refusal:
        return practice(), plausible(), list(refusal.findings)
    file = str(shop_rules)
    return own, sizes, [*shop_findings(own, practice(), file), *own_sizes(sizes, plausible(), file)]
