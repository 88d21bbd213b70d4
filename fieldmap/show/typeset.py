"""What is set or drawn by typst, in a font that comes as a package.

So every machine sets the same pages and draws the same pictures, whatever its fonts.
"""

import sys
import unicodedata
from collections.abc import Mapping
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Literal

import fontpkg_source_sans_3
import numpy as np
import typst

from fieldmap.cache import Arrays, of_user
from fieldmap.show.kept import drawn

FONT: str = fontpkg_source_sans_3.FAMILY
# Drawings: what is asked to be regular comes out in the thinnest weight of this font.
# In quotes: a name that ends in a number is none otherwise.
FONT_OF_DRAWINGS = f'font-family="\'{FONT}\'" font-weight="500"'
FONT_FOLDER = Path(fontpkg_source_sans_3.ROOT) / "files"


@cache
def font_folders() -> tuple[Path, ...]:
    """Of our font, then of every other that is installed as a package of its kind.

    Letters that ours has not are set in these.
    """
    packages = {
        entry.parent / entry.name.partition("-")[0]
        for place in sys.path
        for entry in Path(place).glob("fontpkg_*.dist-info")
    }
    folders = {package / "files" for package in packages}
    return (FONT_FOLDER, *sorted(folders - {FONT_FOLDER}))


@cache
def _letters() -> frozenset[int]:
    """Code points that some font has, read once for all sites of a user."""
    files = [
        file for place in font_folders() for file in sorted(place.rglob("*.[ot]tf"))
    ]

    def compute() -> Arrays:
        from fontTools.ttLib import TTFont  # takes long to load

        found: set[int] = set()
        for file in files:
            with TTFont(file, lazy=True) as font:
                found.update(font.getBestCmap())
        return {"letters": np.array(sorted(found))}

    inputs = {
        "fonts": [[file.name, file.stat().st_size] for file in files],
        "fonttools": metadata.version("fonttools"),
    }
    return frozenset(of_user().reuse("letters", inputs, compute)["letters"].tolist())


def not_drawn(text: str) -> str:
    """Letters that no font here has, each once; spaces and joiners need none.

    Examples
    --------
    >>> not_drawn("Qaanso, łuk, дуга"), not_drawn("\N{ETHIOPIC SYLLABLE HA} hoop")
    ('', 'ሀ')
    """
    seen = dict.fromkeys(
        each for each in text if unicodedata.category(each)[0] not in "ZC"
    )
    return "".join(each for each in seen if ord(each) not in _letters())


def typeset(
    template: bytes, inputs: Mapping[str, str], form: Literal["pdf", "png"]
) -> bytes:
    """A document as PDF, or the one page of it as PNG with a pixel for each point.

    Parameters
    ----------
    template
        In typst's language; takes texts from `sys.inputs` as texts, whatever they hold.
    inputs
        Texts by the names under which the template asks for them.
    form
        "pdf" for all pages, "png" for a document of one page.
    """

    def draw() -> bytes:
        made: bytes = typst.compile(  # type: ignore[misc]  # its stub needs an output
            template,
            sys_inputs=dict(inputs),
            font_paths=list(font_folders()),
            ignore_system_fonts=True,
            format=form,
            ppi=72.0,
        )
        return made

    asked = {"template": template.decode(), "inputs": dict(inputs), "form": form}
    return drawn("typeset", asked, draw)
