"""README is one page, and what it shows is there."""

import re
import runpy

from pages import README, ROOT
from PIL import Image

TEXT = README.read_text("utf-8")
JOB = "Someone hands you a new plot."


def test_readme_is_a_page_and_a_half_and_begins_with_the_job():
    assert len(TEXT.encode()) <= 9000
    assert TEXT.split("\n\n")[1].startswith(JOB)


def shown_pictures():
    """Path and text of every picture."""
    written = re.findall(r"!\[(.*?)\]\((.*?)\)", TEXT)
    tags = re.findall(r"<img [^>]*>", TEXT)
    return [(path, text) for text, path in written] + [
        (
            re.search(r'src="([^"]*)"', tag)[1],
            (re.search(r'alt="([^"]*)"', tag) or ["", ""])[1],
        )
        for tag in tags
    ]


def test_the_pictures_are_those_that_the_command_makes_and_are_described_in_words():
    script = runpy.run_path(str(ROOT / "demo_site/pictures.py"))
    made = {f"demo_site/pictures/{name}" for name in script["NAMES"]}
    there = {path.relative_to(ROOT).as_posix() for path in script["FOLDER"].iterdir()}
    shown = shown_pictures()
    assert sorted(path for path, _ in shown) == sorted(made)
    assert there == made
    assert all(len(text.split()) > 5 for _, text in shown)


def test_the_pictures_are_small_and_whole():
    sizes = []
    for path, _ in shown_pictures():
        with Image.open(ROOT / path) as picture:
            picture.load()
        sizes.append((ROOT / path).stat().st_size)
    assert max(sizes) < 150_000
    assert sum(sizes) < 600_000
