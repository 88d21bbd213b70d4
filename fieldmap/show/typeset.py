"""What is set or drawn by typst, in a font that comes as a package.

So every machine sets the same pages and draws the same pictures, whatever its fonts.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

import fontpkg_source_sans_3
import typst

from fieldmap.show.kept import drawn

FONT: str = fontpkg_source_sans_3.FAMILY
# Drawings: what is asked to be regular comes out in the thinnest weight of this font.
FONT_OF_DRAWINGS = f'font-family="{FONT}" font-weight="500"'
FONT_FOLDER = Path(fontpkg_source_sans_3.ROOT) / "files"


def typeset(
    template: bytes, inputs: Mapping[str, str], form: Literal["pdf", "png"]
) -> bytes:
    """A document as PDF, or the one page of it as PNG with a pixel for each point.

    Parameters
    ----------
    template
        In typst's language; takes texts from `sys.inputs` as texts, whatever they hold.
    """

    def draw() -> bytes:
        made: bytes = typst.compile(  # type: ignore[misc]  # its stub needs an output
            template,
            sys_inputs=dict(inputs),
            font_paths=[FONT_FOLDER],
            ignore_system_fonts=True,
            format=form,
            ppi=72.0,
        )
        return made

    asked = {"template": template.decode(), "inputs": dict(inputs), "form": form}
    return drawn("typeset", asked, draw)
