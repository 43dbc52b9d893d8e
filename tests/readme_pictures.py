"""Draw the README's pictures anew: ``python -m tests.readme_pictures``, then look at them.

Rolls are of the bundled example, as the README's first command makes it; ticket and elevation of the starter file of a
step flashing, made as its tour for a roofer makes it.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.browser import Browser
from tests.cli.running import run

_FIXTURES = Path(__file__).resolve().parents[1] / "fixtures"
_KEPT = _FIXTURES / "golden"
_ALL_BUT_TWO_ROLLS = """
    const rolls = document.querySelector("section.rolls");
    const needless = [...rolls.querySelectorAll("h2, .mind, .key:not(.jobs)")];
    [...needless, ...[...rolls.querySelectorAll("article")].slice(0, -2)].forEach(e => e.remove());
    rolls.style.padding = "12px";
"""


def draw() -> None:
    """Keep pictures of the last two rolls of the example, of the starter's first ticket and of its first wall."""
    with tempfile.TemporaryDirectory() as name, Browser() as browser:
        home = Path(name)
        jobs = [str(_FIXTURES / "jobs" / f"{job}.toml") for job in ("chimney", "abutment", "counter-order")]
        run("make", *jobs, "--out", str(home / "rolls"))
        browser.open(home / "rolls" / "report.html", width=880)
        browser.run(_ALL_BUT_TWO_ROLLS)
        browser.page.locator("section.rolls").screenshot(path=_KEPT / "rolls.png")
        job = home / "step-flashing.toml"
        run("new", "step flashing", "--out", str(job))
        run("make", str(job), "--out", str(home / "cut"), "--seconds", "2")
        browser.open(home / "cut" / "tickets.html", width=1240)
        browser.page.locator("article.over").first.screenshot(path=_KEPT / "ticket.png")
        browser.open(home / "cut" / "report.html", width=1200)
        browser.run('document.querySelector(".walls .together").style.padding = "12px";')
        browser.page.locator(".walls .together").first.screenshot(path=_KEPT / "elevation.png")


if __name__ == "__main__":
    draw()
