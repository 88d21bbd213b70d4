"""Colours that eyes of every kind can tell apart, light to dark for grey printers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import matplotlib as mpl
from matplotlib.colors import to_hex

if TYPE_CHECKING:
    from collections.abc import Iterable

# Bright is early: three steps of viridis, far apart for the common kinds of colour
# blindness and in grey.
GROUP_COLOURS = dict(
    zip(
        ("first", "no real difference", "in between", "last"),
        (to_hex(mpl.colormaps["viridis"](at)) for at in (0.98, 0.52, 0.52, 0.1)),
        strict=True,
    )
)


def ramp(palette: str, places: Iterable[float]) -> list[str]:
    """Colours at places from 0 to 1 of one of matplotlib's palettes.

    Examples
    --------
    >>> ramp("cividis", (0.0, 1.0))
    ['#00224e', '#fee838']
    """
    return [to_hex(mpl.colormaps[palette](float(at))) for at in places]
