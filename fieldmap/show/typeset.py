"""What is set or drawn by typst, in a font that lies in this package.

So every machine sets the same pages and draws the same pictures, whatever its fonts.
"""

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Literal

import typst

from fieldmap.show.kept import drawn

FONT = "DejaVu Sans"  # its licence lies beside it


def typeset(
    template: bytes, inputs: Mapping[str, str], form: Literal["pdf", "png"]
) -> bytes:
    """A document as PDF, or the one page of it as PNG with a pixel for each point.

    Parameters
    ----------
    template
        In typst's language; takes texts from `sys.inputs` as texts, whatever they hold.
    """
    fonts = resources.files("fieldmap.show").joinpath("fonts")

    def draw() -> bytes:
        made: bytes = typst.compile(  # type: ignore[misc]  # its stub needs an output
            template,
            sys_inputs=dict(inputs),
            font_paths=[Path(str(fonts))],
            ignore_system_fonts=True,
            format=form,
            ppi=72.0,
        )
        return made

    asked = {"template": template.decode(), "inputs": dict(inputs), "form": form}
    return drawn("typeset", asked, draw)
