"""Headless Chromium over its own pipe, no driver in between.

The DevTools protocol, messages ended by a zero byte: https://chromedevtools.github.io/devtools-protocol.
Each page keeps what the browser said about it: console lines, exceptions, requests.
"""

import base64
import fcntl
import json
import os
import select
import subprocess
import time

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars", "--enable-unsafe-swiftshader", "--force-color-profile=srgb", "--remote-debugging-pipe",
]
# Seconds until an answer is given up.
PATIENCE = 120


class Browser:
    def __init__(self, profile):
        (to_read, self.to), (self.back, back_write) = os.pipe(), os.pipe()
        # High numbers, so that putting one in place never covers the other.
        ends = [fcntl.fcntl(fd, fcntl.F_DUPFD, 20) for fd in (to_read, back_write)]
        command = ["chromium", *FLAGS, f"--user-data-dir={profile}", "about:blank"]
        self.process = subprocess.Popen(
            ["bash", "-c", f'exec "$@" 3<&{ends[0]} 4>&{ends[1]}', "chromium", *command],
            pass_fds=ends, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        for fd in (to_read, back_write, *ends):
            os.close(fd)
        self.count, self.pending, self.events = 0, b"", []
        self.version = self.call("Browser.getVersion")["product"]

    def call(self, method, session=None, **params):
        """Says something and waits for its answer; events that come meanwhile are kept."""
        self.count += 1
        message = {"id": self.count, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self.to, data) :]
        until = time.monotonic() + PATIENCE
        while True:
            answer = self.hear(until)
            if answer.get("id") == self.count:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]

    def hear(self, until):
        """The next message, kept too when it is an event."""
        while b"\0" not in self.pending:
            if not select.select([self.back], [], [], max(0, until - time.monotonic()))[0]:
                raise TimeoutError("the browser gave no answer")
            more = os.read(self.back, 1 << 20)
            if not more:
                raise EOFError("the browser has gone")
            self.pending += more
        text, self.pending = self.pending.split(b"\0", 1)
        message = json.loads(text)
        if "method" in message:
            self.events.append(message)
        return message

    def page(self, path, width=1280, height=900, factor=1):
        return Page(self, path, width, height, factor)

    def close(self):
        try:
            self.call("Browser.close")
            self.process.wait(20)
        except Exception:
            self.process.kill()


class Page:
    """A file as opened by a person: loaded, at this window size."""

    def __init__(self, browser, path, width, height, factor):
        self.browser = browser
        target = browser.call("Target.createTarget", url="about:blank")["targetId"]
        self.target = target
        self.session = browser.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")
        self.window(width, height, factor)
        answer = self.call("Page.navigate", url=path.resolve().as_uri())
        if "errorText" in answer:
            raise RuntimeError(f"{path}: {answer['errorText']}")
        self.wait("Page.loadEventFired")

    def call(self, method, **params):
        return self.browser.call(method, self.session, **params)

    def said(self, *methods):
        """What the browser said about this page."""
        own = (event for event in self.browser.events if event.get("sessionId") == self.session)
        return [event["params"] for event in own if event["method"] in methods]

    def wait(self, method):
        until = time.monotonic() + PATIENCE
        while not self.said(method):
            self.browser.hear(until)

    def reload(self):
        """Loads it anew, and waits for that."""
        before = len(self.said("Page.loadEventFired"))
        self.call("Page.reload")
        until = time.monotonic() + PATIENCE
        while len(self.said("Page.loadEventFired")) == before:
            self.browser.hear(until)

    def window(self, width, height=900, factor=1):
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=factor, mobile=False,
        )

    def media(self, media="", **features):
        """As if shown on that medium; without one, as the browser does by itself."""
        named = [{"name": name.replace("_", "-"), "value": value} for name, value in features.items()]
        self.call("Emulation.setEmulatedMedia", media=media, features=named)

    def ask(self, expression):
        """The value of a JavaScript expression, promises awaited."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(answer["exceptionDetails"])
        return answer["result"].get("value")

    def press(self, key):
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=key)

    def drag(self, x, y, by_x, by_y, touch=False):
        """With the mouse's left button, or a finger, from this place of the window."""
        if touch:
            points = [[{"x": x + by_x * k / 4, "y": y + by_y * k / 4}] for k in range(5)]
            kinds = ["touchStart", "touchMove", "touchMove", "touchMove", "touchMove"]
            for kind, at in zip(kinds, points, strict=True):
                self.call("Input.dispatchTouchEvent", type=kind, touchPoints=at)
            self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
            return
        mouse = {"button": "left", "buttons": 1, "clickCount": 1}
        self.call("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, **mouse)
        for k in range(1, 5):
            self.call("Input.dispatchMouseEvent", type="mouseMoved", x=x + by_x * k / 4, y=y + by_y * k / 4, **mouse)
        self.call("Input.dispatchMouseEvent", type="mouseReleased", x=x + by_x, y=y + by_y, **mouse)

    def picture(self, path, width, height):
        """The top left of the page as PNG; in CSS pixels."""
        clip = {"x": 0, "y": 0, "width": width, "height": height, "scale": 1}
        shot = self.call("Page.captureScreenshot", format="png", clip=clip, captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(shot["data"]))

    def printed(self, path, width_mm, height_mm):
        """Printed as a person would, on this paper unless the page asks for another."""
        sides = {"paperWidth": width_mm / 25.4, "paperHeight": height_mm / 25.4}
        pdf = self.call("Page.printToPDF", **sides, preferCSSPageSize=True, printBackground=True)
        path.write_bytes(base64.b64decode(pdf["data"]))

    def close(self):
        self.browser.call("Target.closeTarget", targetId=self.target)
