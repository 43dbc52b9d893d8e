"""Draw the README's ticket and elevation anew: ``python -m tests.readme_pictures``, then look at them.

Both are of the starter file of a step flashing, made as the README's tour for a roofer makes it.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.browser import Browser
from tests.cli.running import run

_KEPT = Path(__file__).resolve().parents[1] / "fixtures" / "golden"


def draw() -> None:
    """Make the starter's pages and keep pictures of the first ticket of a step flashing and of the first wall."""
    with tempfile.TemporaryDirectory() as name, Browser() as browser:
        job, cut = Path(name) / "step-flashing.toml", Path(name) / "cut"
        for asked in (
            ["new", "step flashing", "--out", str(job)],
            ["make", str(job), "--out", str(cut), "--seconds", "2"],
        ):
            run(*asked)
        browser.open(cut / "tickets.html", width=1240)
        browser.page.locator("article.over").first.screenshot(path=_KEPT / "ticket.png")
        browser.open(cut / "report.html", width=1200)
        browser.page.locator(".walls .together").first.screenshot(path=_KEPT / "elevation.png")


if __name__ == "__main__":
    draw()
