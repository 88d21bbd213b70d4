"""Headless Chromium with the network cut, for tests that look at the map."""

import itertools
import shutil
import time
from contextlib import contextmanager

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)
FLICK_STEP_S = 0.016  # from one touch to the next, as screens send them
PATIENT_MS = 120_000  # of a machine that is busy with others
DESKTOP = {"viewport": {"width": 1280, "height": 800}}
PHONE = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
}
PHONE_SIDEWAYS = PHONE | {"viewport": {"width": 844, "height": 390}}


@contextmanager
def chromium():
    """A browser; a missing one is a failure that says what to install."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        raise RuntimeError("install a Chromium (Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=QUIET)
        yield browser
        browser.close()


def heard(page):
    """Two lists that grow: addresses that a page asks for, and what it complains of."""
    requests, complaints = [], []
    page.on("request", lambda request: requests.append(request.url))
    page.on(
        "console",
        lambda said: (
            complaints.append(said.text) if said.type in ("error", "warning") else None
        ),
    )
    page.on("pageerror", lambda error: complaints.append(str(error)))
    return requests, complaints


class Page:
    """A page of one file, with everything it asked for and complained of."""

    def __init__(self, browser, path, **context):
        self.context = browser.new_context(**context)
        self.context.set_offline(True)
        self.context.set_default_timeout(PATIENT_MS)
        self.page = self.context.new_page()
        self.requests, self.complaints = heard(self.page)
        self.page.goto(path.as_uri())
        if context.get("java_script_enabled", True):
            wait_until(self.page, READY)

    def outside_requests(self):
        """Addresses asked for that are not inside the file itself."""
        inside = ("data:", "blob:")
        return [url for url in self.requests[1:] if not url.startswith(inside)]

    def close(self):
        self.context.close()


READY = "window.fieldmap !== undefined"


def wait_until(page, script, arg=None):
    """Ask a page again and again until a script is true there.

    From outside, as a page that lets no text run as a script lets no waiting one in.
    """
    ends = time.monotonic() + PATIENT_MS / 1000
    while not page.evaluate(script, arg):
        assert time.monotonic() < ends, script
        page.wait_for_timeout(25)


TWO_FRAMES = """() => new Promise((done) =>
  requestAnimationFrame(() => requestAnimationFrame(() => done(null))))"""


def painted(page):
    """What was asked for so far is drawn: pages draw once a frame."""
    page.evaluate(TWO_FRAMES)


class Finger:
    """One finger, or two, on the screen of a phone; the browser sees touches and no mouse."""

    def __init__(self, context, page):
        self.page = page
        self.session = context.new_cdp_session(page)

    def _send(self, kind, *places, **at):
        points = [
            {"x": x, "y": y, "id": number} for number, (x, y) in enumerate(places)
        ]
        touch = {"type": kind, "touchPoints": points, **at}
        self.session.send("Input.dispatchTouchEvent", touch)

    def down(self, *places):
        self._send("touchStart", *places)

    def move(self, *places):
        self._send("touchMove", *places)

    def up(self):
        self._send("touchEnd")

    def drag(self, start, end, steps=6):
        """From one place to another, and off."""
        self.down(start)
        for place in between(start, end, steps):
            self.move(place)
        self.up()

    def flick(self, start, end):
        """As a drag, so quick that a browser lets a page roll on; as quick on a busy machine."""
        times_s = itertools.count(time.time(), FLICK_STEP_S)
        self._send("touchStart", start, timestamp=next(times_s))
        for place in between(start, end, steps=4):
            self._send("touchMove", place, timestamp=next(times_s))
        self._send("touchEnd", timestamp=next(times_s))


def between(start, end, steps):
    """Places on the way from one to another, without the first."""
    return [
        [one + step / steps * (to - one) for one, to in zip(start, end, strict=True)]
        for step in range(1, steps + 1)
    ]


def ask(page, key):
    """Ask a question of the map as its list does."""
    assert page.evaluate("key => fieldmap.ask(key)", key)


# Rows of a table are alike, so three of each are looked at.
LOOKED_AT = {"exclude": [["tbody tr:nth-child(n+4)"]]}


def faults_of_access(page):
    """What axe-core, an open checker of pages, finds: name, where, why."""
    found = Axe().run(page, LOOKED_AT, {"resultTypes": ["violations"]})
    return [
        (each["id"], each["nodes"][0]["target"], each["nodes"][0]["failureSummary"])
        for each in found.response["violations"]
    ]


def faults_in_file(browser, path):
    """The same of a page without scripts, at the desk and on a phone."""
    faults = []
    for size in (DESKTOP, PHONE):
        context = browser.new_context(**size)
        page = context.new_page()
        page.goto(path.as_uri())
        faults += faults_of_access(page)
        context.close()
    return faults
