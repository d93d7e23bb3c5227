"""Drives a headless Chromium over its DevTools pipe (Chrome DevTools Protocol, --remote-debugging-pipe).

Only the Python standard library: messages are JSON texts, each ended by a zero byte, on two pipes.
"""

import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time


class PageError(Exception):
    pass


def find_browser():
    for name in ("chromium", "chromium-browser"):
        if shutil.which(name):
            return shutil.which(name)
    return None


class Browser:
    """One browser with one page. Collects console messages and requests from the start."""

    def __init__(self, folder):
        self.folder = folder
        self.profile = tempfile.mkdtemp(prefix="page-test-")
        to_browser, self._out = os.pipe()
        self._in, from_browser = os.pipe()

        def wire():
            # 3 and 4 are where the browser looks for its pipes.
            a, b = os.dup(to_browser), os.dup(from_browser)
            os.dup2(a, 3)
            os.dup2(b, 4)

        self._process = subprocess.Popen(
            [find_browser(), "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
             "--disable-background-networking", "--disable-component-update", "--disable-sync",
             "--disable-dev-shm-usage", "--hide-scrollbars", "--remote-debugging-pipe",
             "--user-data-dir=" + self.profile, "about:blank"],
            preexec_fn=wire, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self._rest, self._number, self._events = b"", 0, []
        self.console, self.requests = [], []
        self._session = None
        target = next(t for t in self.send("Target.getTargets")["targetInfos"] if t["type"] == "page")
        self._session = self.send("Target.attachToTarget", targetId=target["targetId"], flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(domain + ".enable")
        self.send("Browser.setDownloadBehavior", behavior="allow", downloadPath=folder)

    def close(self):
        self._process.terminate()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        shutil.rmtree(self.profile, ignore_errors=True)

    def _take(self, seconds):
        end = time.monotonic() + seconds
        while b"\0" not in self._rest:
            left = end - time.monotonic()
            if left <= 0 or not select.select([self._in], [], [], left)[0]:
                return None
            piece = os.read(self._in, 1 << 20)
            if not piece:
                raise PageError("the browser went away")
            self._rest += piece
        text, self._rest = self._rest.split(b"\0", 1)
        message = json.loads(text)
        if "method" in message:
            self._note(message)
        return message

    def _note(self, message):
        what, about = message["method"], message["params"]
        if what == "Runtime.consoleAPICalled":
            self.console.append(about["type"] + ": " + " ".join(str(a.get("value", a.get("description"))) for a in about["args"]))
        elif what == "Runtime.exceptionThrown":
            detail = about["exceptionDetails"]
            self.console.append("exception: " + str(detail.get("exception", {}).get("description", detail.get("text"))))
        elif what == "Log.entryAdded":
            self.console.append("log: " + about["entry"]["text"])
        elif what == "Network.requestWillBeSent":
            self.requests.append(about["request"]["url"])
        self._events.append(what)

    def send(self, method, seconds=120, **params):
        self._number += 1
        message = {"id": self._number, "method": method, "params": params}
        if self._session and not method.startswith(("Target.", "Browser.")):
            message["sessionId"] = self._session
        os.write(self._out, json.dumps(message).encode() + b"\0")
        end = time.monotonic() + seconds
        while True:
            answer = self._take(end - time.monotonic())
            if answer is None:
                raise PageError(method + ": no answer in " + str(seconds) + " s")
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise PageError(method + ": " + answer["error"]["message"])
                return answer["result"]

    def open(self, path, width=1280, height=900, dark=False):
        self.size(width, height)
        self.colours(dark)
        self._events.clear()
        self.send("Page.navigate", url="file://" + path)
        end = time.monotonic() + 120
        while "Page.loadEventFired" not in self._events:
            if time.monotonic() > end:
                raise PageError("the page was not loaded in 120 s")
            self._take(1)
        self.settle()

    def size(self, width, height):
        self.send("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)

    def colours(self, dark):
        self.send("Emulation.setEmulatedMedia", media="", features=[
            {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
            {"name": "prefers-reduced-motion", "value": "reduce"}])  # else a click may miss what still scrolls

    def ask(self, expression, seconds=120):
        """The value of a JavaScript expression; a promise is waited for."""
        answer = self.send("Runtime.evaluate", seconds, expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            detail = answer["exceptionDetails"]
            raise PageError(expression[:120] + ": " + str(detail.get("exception", {}).get("description", detail["text"])))
        return answer["result"].get("value")

    def settle(self):
        """Waits until two frames have been drawn, and all pictures of the page."""
        self.ask("new Promise(r => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(r, 30))))")
        self.wait_for("!document.body || document.body.dataset.drawing === undefined")

    def wait_for(self, expression, seconds=20):
        end = time.monotonic() + seconds
        while not self.ask(expression):
            if time.monotonic() > end:
                raise PageError("never: " + expression)
            time.sleep(0.05)

    def key(self, key, code=None, text=None, ctrl=False, shift=False):
        numbers = {"Tab": 9, "Enter": 13, " ": 32, "ArrowDown": 40, "ArrowUp": 38}
        about = {"key": key.upper() if shift else key, "code": code or key, "windowsVirtualKeyCode": numbers.get(key, 0),
                 "modifiers": (2 if ctrl else 0) + (8 if shift else 0)}
        text = {"Enter": "\r", " ": " "}.get(key, text)
        self.send("Input.dispatchKeyEvent", type="keyDown", **about, **({"text": text} if text else {}))
        self.send("Input.dispatchKeyEvent", type="keyUp", **about)

    def type(self, text):
        self.send("Input.insertText", text=text)

    def mouse(self, kind, x, y, pressed=True):
        self.send("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left" if pressed else "none",
                  buttons=1 if pressed and kind != "mouseReleased" else 0, clickCount=1)

    def click(self, x, y):
        self.mouse("mouseMoved", x, y, False)
        self.mouse("mousePressed", x, y)
        self.mouse("mouseReleased", x, y)
        self.settle()

    def drag(self, x1, y1, x2, y2, steps=8):
        self.mouse("mouseMoved", x1, y1, False)
        self.mouse("mousePressed", x1, y1)
        for k in range(1, steps + 1):
            self.mouse("mouseMoved", x1 + (x2 - x1) * k / steps, y1 + (y2 - y1) * k / steps)
        self.mouse("mouseReleased", x2, y2)
        self.settle()

    def picture(self, path, clip=None):
        shot = {"clip": dict(clip, scale=1)} if clip else {}
        got = self.send("Page.captureScreenshot", format="png", captureBeyondViewport=True, **shot)
        with open(path, "wb") as file:
            file.write(base64.b64decode(got["data"]))

    def pdf(self, **paper):
        return base64.b64decode(self.send("Page.printToPDF", printBackground=False, **paper)["data"])
