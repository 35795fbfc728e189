"""A real browser without a window: the machine's own Chromium, spoken to over a pipe in its debugging protocol.

The standard library is enough for that, so no driver is installed and no browser is downloaded.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

PATIENCE = 60.0  # s, for a machine that does much else
_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_OPTIONS = (
    "--headless=new", "--no-sandbox", "--no-first-run", "--disable-extensions", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
    "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist", "--hide-scrollbars",
    "--force-device-scale-factor=1", "--remote-debugging-pipe", "about:blank",
)  # fmt: skip


#: How much all words of a page stand out from what is behind them, each with its text, by W3C's formula.
CONTRAST = """(() => {
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const known = new Map();
  const parsed = (color) => {
    if (!known.has(color)) known.set(color, read(color));
    return known.get(color);
  };
  const read = (color) => {
    canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = color; canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const light = ([r, g, b]) => [r, g, b].map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const behind = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const color = parsed(getComputedStyle(e).backgroundColor);
      if (color[3] === 255) return color;
    }
    return [255, 255, 255];
  };
  const found = [];
  for (const element of document.querySelectorAll('main *')) {
    if (element.closest('.picture') || element.closest('option')) continue;
    if (![...element.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())) continue;
    if (!element.getClientRects().length || element.tagName === 'title') continue;
    const style = getComputedStyle(element), svg = element instanceof SVGElement;
    const [a, b] = [light(parsed(svg ? style.fill : style.color)), light(behind(element))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    found.push([ratio, element.textContent.slice(0, 40)]);
  }
  return found;
})()"""


def browser_problem() -> str | None:
    """Why there is no browser to test with, or None."""
    return None if _found() else "no Chromium here (apt-get install chromium)"


def _found() -> str | None:
    return next((path for name in _NAMES if (path := shutil.which(name))), None)


class Browser:
    """One page in one browser; every name but this machine and its files is unknown to it."""

    def __init__(self, *more: str) -> None:
        self._folder = tempfile.mkdtemp(prefix="browser-")
        (there, self._write), (self._read, back) = os.pipe(), os.pipe()

        def pipes() -> None:  # the browser reads from 3 and writes to 4
            one, two = os.dup(there), os.dup(back)
            os.dup2(one, 3)
            os.dup2(two, 4)

        command = [str(_found()), f"--user-data-dir={self._folder}", *more, *_OPTIONS]
        self._process = subprocess.Popen(
            command, close_fds=False, preexec_fn=pipes, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(there)
        os.close(back)
        self._number, self._rest, self._session, self._stands = 0, b"", "", ""
        self.events: list[dict[str, Any]] = []
        [page] = [t for t in self.ask("Target.getTargets")["targetInfos"] if t["type"] == "page"]
        attached = self.ask("Target.attachToTarget", targetId=page["targetId"], flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")

    def ask(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Call a method of the protocol and wait for its answer."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            answer = self._next()
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return dict(answer["result"])
            self.events.append(answer)
        raise TimeoutError(method)

    def open(self, page: Path | str, *, width: int = 1280, height: int = 800, scheme: str = "light") -> None:
        """Open a file, or an address of this machine, in a window of a size, and wait until it stands.

        The file that stands there already is not loaded anew.
        """
        self.events.clear()
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        self.ask("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        address = page if isinstance(page, str) else page.resolve().as_uri()
        if isinstance(page, Path) and address == self._stands:
            return
        self._stands = address
        self.ask("Page.navigate", url=address)
        self.wait(
            f"document.readyState === 'complete' && location.protocol === '{address.partition(':')[0]}:'"
        )

    def run(self, script: str) -> Any:
        """The value of a JavaScript expression."""
        answer = self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise AssertionError(answer["exceptionDetails"])
        return answer["result"].get("value")

    def wait(self, script: str) -> None:
        """Until an expression is true."""
        end = time.monotonic() + PATIENCE
        while not self.run(script):
            assert time.monotonic() < end, script
            time.sleep(0.02)

    def picture(self, path: Path, *, whole: bool = True) -> None:
        """The page as PNG."""
        data = self.ask("Page.captureScreenshot", captureBeyondViewport=whole)["data"]
        path.write_bytes(base64.b64decode(data))

    def printed(self) -> bytes:
        """The page as PDF, A4."""
        made = self.ask("Page.printToPDF", paperWidth=8.27, paperHeight=11.69, printBackground=False)
        return base64.b64decode(made["data"])

    def complaints(self) -> list[str]:
        """Errors and warnings of the page since it was opened."""
        found = []
        for event in self.events:
            data = event.get("params", {})
            if event.get("method") == "Runtime.exceptionThrown":
                found.append(str(data["exceptionDetails"]))
            if event.get("method") == "Runtime.consoleAPICalled" and data["type"] in (
                "error",
                "warning",
                "assert",
            ):
                found.append(str(data["args"]))
            if event.get("method") == "Log.entryAdded" and data["entry"]["level"] in ("error", "warning"):
                found.append(data["entry"]["text"])
        return found

    def requests(self) -> list[str]:
        """Addresses the page asked for."""
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]

    def close(self) -> None:
        self._process.terminate()
        self._process.wait()
        os.close(self._read)
        os.close(self._write)
        shutil.rmtree(self._folder, ignore_errors=True)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            data = os.read(self._read, 1 << 20)
            if not data:
                raise RuntimeError("the browser ended")
            self._rest += data
        message, _, self._rest = self._rest.partition(b"\0")
        return dict(json.loads(message))
