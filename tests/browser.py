"""A headless browser, the system's own, driven by Playwright: pages are opened, looked at by script, and printed."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Self

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
_A_TELEPHONE = 700  # pixels under which a screen counts as one
_HIDE = "document.documentElement.hidden = true"
_IN_FONT = """font => {
  const style = new CSSStyleSheet();
  if (font) style.replaceSync(`*{font-family:${font}!important}`);
  document.adoptedStyleSheets = [style];
  document.documentElement.hidden = false;
}"""


class Browser:
    """A running browser with one tab for screens and one for telephones."""

    def __enter__(self) -> Self:
        self._library = sync_playwright().start()
        self._home = TemporaryDirectory(ignore_cleanup_errors=True)  # it writes there, whatever it is asked for
        self._browser = self._library.chromium.launch(
            executable_path=CHROMIUM,
            args=["--no-sandbox", "--disable-gpu"],
            env={**os.environ, "XDG_CONFIG_HOME": self._home.name},
        )
        self._tabs = {
            mobile: self._browser.new_context(is_mobile=mobile, device_scale_factor=1).new_page()
            for mobile in (False, True)
        }
        self._shown: dict[bool, Path] = {}
        self.page: Page = self._tabs[False]
        return self

    def __exit__(self, *_: object) -> None:
        self._browser.close()
        self._library.stop()
        self._home.cleanup()

    def open(self, path: Path, *, media: str = "screen", width: int = 1200, font: str = "", dark: bool = False) -> None:
        """Show a file, as on a screen so many pixels wide or as printed, all in one font where one is named.

        A file that its tab shows already is not read once more, for a large one takes a second.
        """
        mobile = width < _A_TELEPHONE
        self.page = self._tabs[mobile]
        self.page.evaluate(_HIDE)  # so that a large page is laid out once, when all is settled
        self.page.emulate_media(media=media, color_scheme="dark" if dark else "light")  # type: ignore[arg-type]
        self.page.set_viewport_size({"width": width, "height": 800})
        if self._shown.get(mobile) != path:
            self.page.goto(path.as_uri())
            self._shown[mobile] = path
        self.page.evaluate(_IN_FONT, font)

    def run(self, script: str) -> Any:
        """Return what a script comes to, as plain values."""
        return self.page.evaluate(f"() => {{ {script} }}")

    def style(self, *rules: str) -> None:
        """Style the page that is shown by some rules more, until it is opened once more."""
        for rule in rules:
            self.page.evaluate("rule => document.adoptedStyleSheets[0].insertRule(rule)", rule)

    def pdf(self, across_in: float | None = None, down_in: float | None = None) -> bytes:
        """Print the page that is shown, on paper of the size that its style asks for unless a size is given."""
        size = {} if across_in is None else {"width": f"{across_in}in", "height": f"{down_in}in"}
        return self.page.pdf(prefer_css_page_size=True, print_background=True, **size)

    def barriers(self, *rules: str, but: str = "", of: str = "") -> list[str]:
        """Return what axe-core finds on the page that would keep somebody from reading it.

        By some rules or by all but one, on the whole page or on what a selector finds.
        """
        options: dict[str, Any] = {"resultTypes": ["violations"]}
        options |= {"runOnly": list(rules)} if rules else {}
        options |= {"rules": {but: {"enabled": False}}} if but else {}
        found = Axe().run(self.page, context=of or None, options=options).response["violations"]
        return [f"{v['impact']} {v['id']}: {[node['target'] for node in v['nodes']][:3]}" for v in found]
