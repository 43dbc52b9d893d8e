"""A headless browser driven through two pipes: pages are opened, looked at by script, and printed.

One start serves many pages. It speaks the DevTools protocol as JSON ended by a zero byte, on file descriptors 3 and 4.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any, Self

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


class Browser:
    """A running browser with one tab."""

    def __init__(self, folder: Path) -> None:
        assert CHROMIUM is not None
        # The child reads from its descriptor 3 and writes to 4; this shell knows descriptors over 9.
        to_child, self._out = os.pipe()
        self._in, from_child = os.pipe()
        self._process = subprocess.Popen(
            ["/bin/bash", "-c", f'exec "$@" 3<&{to_child} 4>&{from_child}', "bash", CHROMIUM, "--headless=new",
             "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars", "--remote-debugging-pipe",
             f"--user-data-dir={folder}"],
            pass_fds=(to_child, from_child), stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(to_child)
        os.close(from_child)
        self._number, self._left, self._session = 0, b"", ""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self.call("Page.enable")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        os.close(self._out)
        self._process.terminate()
        self._process.wait(20)
        os.close(self._in)

    def _message(self) -> dict[str, Any]:
        while b"\0" not in self._left:
            more = os.read(self._in, 1 << 20)
            assert more, "the browser has gone"
            self._left += more
        one, _, self._left = self._left.partition(b"\0")
        found: dict[str, Any] = json.loads(one)
        return found

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """Send one command and return its result."""
        self._number += 1
        asked: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._session:
            asked["sessionId"] = self._session
        os.write(self._out, json.dumps(asked).encode() + b"\0")
        while (answer := self._message()).get("id") != self._number:
            pass
        assert "error" not in answer, answer
        result: dict[str, Any] = answer["result"]
        return result

    def open(self, path: Path, *, media: str = "screen", width: int = 1200, font: str = "", dark: bool = False) -> None:
        """Show a file, as on a screen so many pixels wide or as printed, all in one font where one is named."""
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", media=media, features=[scheme])
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=800, deviceScaleFactor=1, mobile=width < 700
        )
        self.call("Page.navigate", url=path.as_uri())
        while self._message().get("method") != "Page.loadEventFired":
            pass
        if font:
            self.run(
                "const s = document.createElement('style');"
                f"s.textContent = `*{{font-family:{font}!important}}`; document.head.append(s)"
            )

    def run(self, script: str) -> Any:
        """Return what a script comes to, as plain values."""
        answer = self.call("Runtime.evaluate", expression=f"(() => {{ {script} }})()", returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def pdf(self, **options: Any) -> bytes:
        """Print the page that is shown, at the size that its style asks for unless told otherwise."""
        return base64.b64decode(
            self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=True, **options)["data"]
        )
