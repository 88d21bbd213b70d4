"""The pages lead where they say, and become a site that asks no other host."""

import re
import subprocess
import sys

import pytest
from pages import DOCS, ROOT, pages

LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")


def anchor(heading):
    """The name under which GitHub shows a heading (its published rule)."""
    plain = re.sub(r"[^\w\- ]", "", heading.strip().lower())
    return plain.replace(" ", "-")


def anchors(text):
    outside = re.sub(r"(?ms)^```.*?^```$", "", text)
    return {anchor(each) for each in re.findall(r"(?m)^#+ (.*)$", outside)}


@pytest.mark.parametrize("name", pages())
def test_links_lead_to_files_and_headings_that_are_there(name):
    for link in LINK.findall(pages()[name]):
        if link.startswith(("http:", "https:")):
            continue
        file, _, heading = link.partition("#")
        path = (ROOT / name).parent / file if file else ROOT / name
        assert path.exists(), link
        if heading:
            assert heading in anchors(path.read_text("utf-8")), link


def test_every_page_is_reached_from_the_first():
    first = (DOCS / "index.md").read_text("utf-8")
    linked = {(DOCS / link).resolve() for link in LINK.findall(first)}
    left = {path for path in DOCS.rglob("*.md") if path.name != "index.md"} - linked
    assert sorted(left) == []


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """The site as `make docs` builds it, warnings as errors."""
    out = tmp_path_factory.mktemp("site")
    options = ["--quiet", "--builder", "html", "--fail-on-warning", "--keep-going"]
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "sphinx",
            *options,
            "-d",
            out / "read",
            DOCS,
            out / "html",
        ],
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return out / "html"


def test_the_site_can_be_searched(site):
    index = (site / "searchindex.js").read_text("utf-8")
    assert '"thermomet' in index
    assert "guides/thermometers" in index


def test_the_site_asks_no_other_host(site):
    """Nothing that a browser loads by itself: scripts, looks, fonts, pictures, frames."""
    loads = re.compile(
        r"<(?:script|img|iframe|source)[^>]*\ssrc=\"(.*?)\"|<link[^>]*\shref=\"(.*?)\""
    )
    found = 0
    for path in site.rglob("*.html"):
        for pair in loads.findall(path.read_text("utf-8")):
            found += 1
            assert not re.match(r"(?:https?:)?//", "".join(pair)), (path.name, pair)
    assert found > 50
    for path in site.rglob("*.css"):
        text = re.sub(r"/\*.*?\*/", "", path.read_text("utf-8"), flags=re.S)
        assert not re.search(r"url\([\"']?(?:https?:)?//|@import", text), path.name
