"""A headless Chromium driven over its DevTools protocol through a pipe: no package, no port, no network.

Keys and clicks are real input events; the accessibility tree is the one that a screen reader is given.
"""

import base64
import json
import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_QUIET = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-extensions",
    "--disable-dev-shm-usage", "--remote-debugging-pipe", "--force-color-profile=srgb",
    "--disable-ipc-flooding-protection",  # or it ignores the 201st change of address within ten seconds
)  # fmt: skip
_KEYS = {
    "Tab": 9, "Enter": 13, "Escape": 27, "End": 35, "Home": 36, "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39,
    "ArrowDown": 40,
}  # fmt: skip


def installed() -> str | None:
    """The browser of this machine, if it has one."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Browser:
    """One process with one page."""

    def __init__(self, program: str) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="board-", ignore_cleanup_errors=True)
        commands_read, self._commands = os.pipe()
        self._answers, answers_write = os.pipe()
        # The protocol speaks on file descriptors 3 and 4; the shell puts the pipes there, whatever their numbers are.
        redirect = f'exec "$0" "$@" 3<&{commands_read} 4>&{answers_write}'
        self._process = subprocess.Popen(
            ["bash", "-c", redirect, program, *_QUIET, f"--user-data-dir={self._folder.name}", "about:blank"],
            pass_fds=(commands_read, answers_write), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        os.close(commands_read)
        os.close(answers_write)
        self._rest, self._number, self._session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
        page = next(item for item in self.send("Target.getTargets")["targetInfos"] if item["type"] == "page")
        self._session = self.send("Target.attachToTarget", targetId=page["targetId"], flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network", "DOM", "Accessibility"):
            self.send(f"{domain}.enable")

    def send(self, method: str, **parameters: Any) -> dict[str, Any]:
        """One command and its answer; events that come before it are kept."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._commands, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                result: dict[str, Any] = answer["result"]
                return result
            self.events.append(answer)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            block = os.read(self._answers, 1 << 20)
            if not block:
                raise RuntimeError("the browser has ended")
            self._rest += block
        text, self._rest = self._rest.split(b"\0", 1)
        answer: dict[str, Any] = json.loads(text)
        return answer

    def open(self, path: Path, address: str = "") -> None:
        """A file as a new page; returns when it is loaded and drawn."""
        self.send("Page.navigate", url="about:blank")
        self.events.clear()
        self.send("Page.navigate", url=f"{path.as_uri()}{address}")
        self.wait("document.readyState === 'complete'")
        self.settle()

    def js(self, expression: str) -> Any:
        """The value of an expression; a fault in it is raised here."""
        answer = self.send("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(answer["exceptionDetails"].get("exception", {}).get("description", "fault in the page"))
        return answer["result"].get("value")

    def wait(self, condition: str, seconds: float = 10.0) -> None:
        """Until a condition holds."""
        end = time.monotonic() + seconds
        while not self.js(condition):
            if time.monotonic() > end:
                raise TimeoutError(condition)
            time.sleep(0.02)

    def settle(self) -> None:
        """Until what was asked for is drawn."""
        self.js("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done))))")

    def go(self, address: str) -> None:
        self.js(f"location.hash = {json.dumps(address)}")
        self.settle()

    def press(self, key: str, shift: bool = False) -> None:
        """A key, down and up."""
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        code = _KEYS.get(key, ord(key[0].upper()))
        common = {"key": key, "windowsVirtualKeyCode": code, "modifiers": 8 if shift else 0}
        self.send("Input.dispatchKeyEvent", type="keyDown", text=text, **common)
        self.send("Input.dispatchKeyEvent", type="keyUp", **common)
        self.settle()

    def point(self, kind: str, x: float, y: float, pressed: bool = True) -> None:
        """The mouse: mouseMoved, mousePressed or mouseReleased."""
        button = "left" if pressed else "none"
        self.send("Input.dispatchMouseEvent", type=kind, x=x, y=y, button=button, buttons=int(pressed), clickCount=1)

    def click(self, x: float, y: float) -> None:
        self.point("mouseMoved", x, y, pressed=False)
        self.point("mousePressed", x, y)
        self.point("mouseReleased", x, y)
        self.settle()

    def click_on(self, selector: str) -> None:
        """The middle of an element, brought into view first."""
        find = f"const e = document.querySelector({json.dumps(selector)})"
        middle = "const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]"
        x, y = self.js(f"(() => {{ {find}; e.scrollIntoView({{block: 'center'}}); {middle}; }})()")
        self.click(x, y)

    def size(self, width: int, height: int, scale: float = 1) -> None:
        self.send(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=scale, mobile=False
        )
        self.settle()

    def media(self, kind: str = "", **features: str) -> None:
        """Emulates print, or features such as prefers_color_scheme="dark"."""
        wanted = [{"name": name.replace("_", "-"), "value": value} for name, value in features.items()]
        self.send("Emulation.setEmulatedMedia", media=kind, features=wanted)
        self.settle()

    def picture(self, whole: bool = False) -> bytes:
        """What is seen, or the whole page, as PNG."""
        return base64.b64decode(self.send("Page.captureScreenshot", captureBeyondViewport=whole)["data"])

    def printed(self) -> bytes:
        """The page as its PDF on A4."""
        printed = self.send("Page.printToPDF", preferCSSPageSize=True, paperWidth=8.27, paperHeight=11.69)
        return base64.b64decode(printed["data"])

    def read_aloud(self) -> list[dict[str, str]]:
        """The accessibility tree, flat: role, name, value and description of all that is not ignored."""
        nodes = self.send("Accessibility.getFullAXTree")["nodes"]
        return [
            {part: str(node.get(part, {}).get("value", "")) for part in ("role", "name", "value", "description")}
            for node in nodes if not node["ignored"]
        ]  # fmt: skip

    def complaints(self) -> list[str]:
        """Errors and warnings of the page since it was opened."""
        self.settle()
        complaints = []
        for event in self.events:
            method, parameters = event.get("method"), event.get("params", {})
            if method == "Runtime.exceptionThrown":
                complaints.append(str(parameters["exceptionDetails"].get("exception", {}).get("description")))
            elif method == "Log.entryAdded":
                complaints.append(parameters["entry"]["text"])
            elif method == "Runtime.consoleAPICalled" and parameters["type"] in ("error", "warning", "assert"):
                complaints.append(str(parameters["args"]))
        return complaints

    def requests(self) -> list[str]:
        """Addresses that the page asked for since it was opened, its own file and data inside it left out."""
        asked = [e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"]
        return [address for address in asked[1:] if not address.startswith("data:")]

    def close(self) -> None:
        self._session = ""
        try:
            self.send("Browser.close")
            self._process.wait(5)
        except (RuntimeError, OSError, subprocess.TimeoutExpired):
            self._process.kill()
        self._process.wait()
        os.close(self._commands)
        os.close(self._answers)
        self._folder.cleanup()
