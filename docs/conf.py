"""How the pages become a site that can be searched: `make docs`.

Sphinx builds it, MyST reads Markdown, Furo gives the look. Nothing in the site asks another
host: fonts are the reader's own, scripts and search lie beside the pages.
"""

import re
from pathlib import Path

from sphinx.application import Sphinx

DOCS = Path(__file__).parent

project = "fieldmap"
author = "the makers of fieldmap"
copyright = "the makers of fieldmap; BSD-3-Clause"
extensions = ["myst_parser"]
exclude_patterns = ["generate"]
nitpicky = True
smartquotes = False
myst_heading_anchors = 4
# `text` and `console` are read as they are; `csv` has no reader.
highlight_language = "none"
html_theme = "furo"
html_title = "fieldmap"
html_show_sourcelink = False
html_copy_source = False
html_static_path = ["look"]
html_css_files = ["pages.css"]
# The buttons that a build host would add.
html_theme_options = {"top_of_page_buttons": []}


def _contents(_app: Sphinx, page: str, text: list[str]) -> None:
    """Give the first page a table of contents, which its lists of links already are."""
    if page == "index":
        for title, links in re.findall(
            r"^## (.*)\n\n((?:.|\n)*?)(?=^## |\Z)", text[0], re.M
        ):
            listed = re.findall(r"\]\((.*?)\.md\)", links)
            text[0] += _toctree(title, listed)


def _toctree(title: str, pages: list[str]) -> str:
    lines = "\n".join(pages)
    return f"\n```{{toctree}}\n:hidden:\n:caption: {title}\n\n{lines}\n```\n"


def setup(app: Sphinx) -> None:
    """Called by Sphinx."""
    app.connect("source-read", _contents)
