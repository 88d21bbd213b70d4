"""Colours that eyes of every kind can tell apart, light to dark for grey printers."""

from __future__ import annotations

import matplotlib as mpl
import numpy as np
from matplotlib.colors import to_hex

# Bright is early: three steps of viridis, far apart for the common kinds of colour
# blindness and in grey.
GROUP_COLOURS = dict(
    zip(
        ("first", "no real difference", "last"),
        (to_hex(mpl.colormaps["viridis"](at)) for at in (0.98, 0.52, 0.1)),
        strict=True,
    )
)


def ramp(palette: str, steps: int, start: float = 0.0, end: float = 1.0) -> list[str]:
    """Evenly spaced colours of one of matplotlib's palettes.

    Examples
    --------
    >>> ramp("cividis", 2)
    ['#00224e', '#fee838']
    """
    return [
        to_hex(mpl.colormaps[palette](at))
        for at in np.linspace(start, end, steps).tolist()
    ]
