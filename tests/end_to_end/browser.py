"""A headless Chromium, driven by the WebDriver protocol (W3C Recommendation) over plain HTTP, and its page's terminal.

The terminal draws on a canvas, so its text is not in the document: a script that runs before the page's own keeps the
terminal itself, whose buffer has the text.
"""

import json
import subprocess
import time
from base64 import b64decode
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest

from tests.on_micropython.runtimes import IS_REQUIRED, installed

ENTER = "\ue007"  # WebDriver, 17.4.2: keyboard actions
PATIENCE_S = 90.0
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--window-size=1100,700",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",  # the network is closed
)  # fmt: skip
KEEP_THE_TERMINAL = """
Object.defineProperty(Object.prototype, 'terminal', {configurable: true, set(value) {
    window.kept = value;
    Object.defineProperty(this, 'terminal', {value, writable: true, configurable: true, enumerable: true});
}});
"""
TEXT = """
const buffer = window.kept && window.kept.buffer.active, lines = [];
for (let n = 0; buffer && n < buffer.length; n++) lines.push(buffer.getLine(n).translateToString(true));
return lines.join('\\n');
"""


class Page:
    """What a person sees in the browser, and the keyboard."""

    def __init__(self, session: str) -> None:
        self._session = session

    def open(self, url: str) -> None:
        script = {"cmd": "Page.addScriptToEvaluateOnNewDocument", "params": {"source": KEEP_THE_TERMINAL}}
        post(f"{self._session}/goog/cdp/execute", script)
        post(f"{self._session}/url", {"url": url})

    def run(self, script: str) -> Any:
        return post(f"{self._session}/execute/sync", {"script": script, "args": []})

    def press(self, keys: str) -> None:
        strokes = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
        post(f"{self._session}/actions", {"actions": [{"type": "key", "id": "keyboard", "actions": strokes}]})

    def text(self) -> str:
        return str(self.run(TEXT))

    def screenshot(self) -> bytes:
        with urlopen(f"{self._session}/screenshot", timeout=PATIENCE_S) as answer:
            return b64decode(json.load(answer)["value"])

    def until(self, is_so: Callable[[str], bool]) -> str:
        """Return the text once it is so."""
        end = time.monotonic() + PATIENCE_S
        while not is_so(text := self.text()):
            assert time.monotonic() < end, f"not so after {PATIENCE_S:g} s:\n{text}"
            time.sleep(0.1)  # a browser tells nobody when it has drawn
        return text


def post(url: str, body: dict[str, Any]) -> Any:
    request = Request(url, json.dumps(body).encode(), {"Content-Type": "application/json"})
    with urlopen(request, timeout=PATIENCE_S) as answer:
        return json.load(answer)["value"]


def programs() -> tuple[str, str]:
    """Return the browser and its driver; skip the calling test, or fail it, where they are not installed."""
    browser, driver = installed("chromium"), installed("chromedriver")
    if browser and driver:
        return browser, driver
    message = "Chromium is not installed. To run this test: apt install chromium chromium-driver (Debian)"
    if IS_REQUIRED:
        pytest.fail(message)
    pytest.skip(message)


@contextmanager
def chromium(profile: Path) -> Iterator[Page]:
    """Start the browser with an empty profile in a folder of the test."""
    browser, driver = programs()
    with subprocess.Popen([driver, "--port=0"], stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            started = next(line for line in process.stdout if "started successfully on port" in line)
            address = f"http://127.0.0.1:{started.rstrip().rstrip('.').rsplit(' ', 1)[1]}"
            options = {"binary": browser, "args": [*FLAGS, f"--user-data-dir={profile}"]}
            wanted = {"capabilities": {"alwaysMatch": {"goog:chromeOptions": options}}}
            session = f"{address}/session/{post(f'{address}/session', wanted)['sessionId']}"
            try:
                yield Page(session)
            finally:
                urlopen(Request(session, method="DELETE"), timeout=PATIENCE_S).close()
        finally:
            process.terminate()
