"""Make the pictures that README shows: the map and one printed sheet of the demo site.

Run as `make pictures`: it plans a copy of this folder and writes `pictures/` anew. The
same plan gives the same pictures as far as the browser and its fonts are the same.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pypdfium2
from PIL import Image
from playwright.sync_api import Browser
from playwright.sync_api import Page as Tab

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests" / "support"))
from browser import PHONE, Page, ask, chromium  # noqa: E402

FOLDER = HERE / "pictures"
DESK = {"viewport": {"width": 1280, "height": 860}}
QUALITY = 70  # letters are clear, and a picture stays under 150 kB
BED = "B20"  # whose reasons are shown
SETTLED_MS = 1000  # until the map has moved and its tiles are drawn
PAGE_WIDTH = 800
FINE = 6.0  # finer than is kept, or hairlines of the sheet grow to whole pixels


def cold(tab: Tab) -> None:
    """Where cold air lies, and the ways it runs."""
    ask(tab, "cold")


def first(tab: Tab) -> None:
    """Which beds can be planted first, and why one of them."""
    tab.get_by_role("searchbox").fill(BED)
    tab.keyboard.press("Enter")
    tab.get_by_role("searchbox").fill("")


def tonight(tab: Tab) -> None:
    """What to cover on the first evening of the year on which 0 °C asks for a cover."""
    evening = tab.evaluate(
        """() => {
            const { evenings, lists, lows } = fieldPage.data.tonight;
            // A value and its unit are kept on one line by a blank that does not break.
            const low = lows.findIndex((each) => each.replace("\\u00a0", " ") === "0 °C");
            const tasks = ({ lists: of }) => lists[of.still_night[low]].tasks;
            return evenings.find((each) => tasks(each).length > 1).from;
        }"""
    )
    # On any other day this evening would be an example.
    tab.clock.set_fixed_time(f"{evening}T18:00")
    tab.reload()
    tab.wait_for_function("window.fieldmap !== undefined")
    ask(tab, "tonight")


SHOTS: dict[str, tuple[dict[str, object], Callable[[Tab], None]]] = {
    "cold.webp": (DESK, cold),
    "first.webp": (DESK, first),
    "tonight.webp": (PHONE, tonight),
}
SHEETS = {"landowner.webp": "landowner.pdf"}  # the first page of each
NAMES = (*SHOTS, *SHEETS)


def planned(folder: Path) -> Path:
    """The plan of a copy of the demo site."""
    site = folder / HERE.name
    left_out = shutil.ignore_patterns("plan", ".fieldmap", FOLDER.name)
    shutil.copytree(HERE, site, ignore=left_out)
    command = Path(sys.executable).with_name("fieldmap")
    subprocess.run([command, "plan", site], check=True, stdout=subprocess.DEVNULL)
    return site / "plan"


def shoot(browser: Browser, plan: Path, name: str) -> Image.Image:
    """One picture of the map."""
    window, look = SHOTS[name]
    page = Page(browser, plan / "map.html", **window)
    look(page.page)
    page.page.wait_for_timeout(SETTLED_MS)
    taken = page.page.screenshot()
    page.close()
    return Image.open(io.BytesIO(taken)).convert("RGB")


def photograph(plan: Path, name: str) -> Image.Image:
    """The first page of a sheet."""
    document = pypdfium2.PdfDocument(plan / "sheets" / SHEETS[name])
    page = document[0].render(scale=FINE).to_pil().convert("RGB")
    height = round(page.height * PAGE_WIDTH / page.width)
    return page.resize((PAGE_WIDTH, height), Image.Resampling.LANCZOS)


def main() -> None:
    """Make all pictures anew."""
    with tempfile.TemporaryDirectory() as made:
        plan = planned(Path(made))
        with chromium() as browser:
            pictures = {name: shoot(browser, plan, name) for name in SHOTS}
        pictures |= {name: photograph(plan, name) for name in SHEETS}
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.mkdir()
    for name, picture in pictures.items():
        picture.save(FOLDER / name, quality=QUALITY, method=6)
        print(f"{name}: {(FOLDER / name).stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
