"""Headless Chromium with the network cut, for tests that look at the map."""

import shutil
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
            self.page.wait_for_function("window.fieldmap !== undefined")

    def outside_requests(self):
        """Addresses asked for that are not inside the file itself."""
        inside = ("data:", "blob:")
        return [url for url in self.requests[1:] if not url.startswith(inside)]

    def close(self):
        self.context.close()


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
