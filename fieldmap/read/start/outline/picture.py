"""A picture of a walk and of the outline that was made of it, as SVG."""

from collections.abc import Callable
from html import escape

import numpy as np
import shapely

from fieldmap.model.fact import Fact
from fieldmap.read.start.outline.sort import Plot

_SIDE = 720.0
_EDGE = 40.0


def svg(plot: Plot, say: Callable[[Fact], str]) -> bytes:
    """The walk in grey and the outline in black, in one picture with a scale.

    Places where the walk crossed itself are ringed.

    Parameters
    ----------
    say
        Puts a fact into words.
    """
    walked, track = plot.walked, plot.track_m
    if walked is None or track is None:
        raise ValueError("a picture is of a walk")
    ring = shapely.get_coordinates(walked.outline.exterior)
    every = np.vstack([track, ring])
    west, south = every.min(axis=0)
    size_m = float((every.max(axis=0) - (west, south)).max()) or 1.0
    scale = (_SIDE - 2 * _EDGE) / size_m
    height = float(every[:, 1].max() - south) * scale + 2 * _EDGE

    def at(places: np.ndarray) -> str:
        x = _EDGE + (places[:, 0] - west) * scale
        y = height - _EDGE - (places[:, 1] - south) * scale
        return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))

    rings = "".join(
        f'<circle cx="{x}" cy="{y}" r="9" fill="none" stroke="#b3261e" stroke-width="2"/>'
        for x, y in (
            at(np.array([place])).split(",") for place in walked.crossings[:50]
        )
    )
    bar_m = 10.0 ** np.floor(np.log10(size_m / 3))
    area = Fact("start_picture", name=plot.name or "", area_m2=walked.outline.area)
    title = say(area)
    before, after = say(Fact("start_picture_walk")), say(Fact("start_picture_outline"))
    foot = height + 70
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{_SIDE:.0f}"'
        f' height="{foot:.0f}" viewBox="0 0 {_SIDE:.0f} {foot:.0f}"'
        ' font-family="sans-serif" font-size="16">\n'
        f"<title>{escape(title)}</title>\n"
        f'<rect width="{_SIDE:.0f}" height="{foot:.0f}" fill="#fff"/>\n'
        f'<polygon points="{at(ring)}" fill="#f2e6bf"/>\n'
        f'<polyline points="{at(track)}" fill="none" stroke="#8a8a8a"'
        ' stroke-width="1.5"/>\n'
        f'<polygon points="{at(ring)}" fill="none" stroke="#111" stroke-width="3"/>\n'
        f"{rings}\n"
        f'<path d="M{_EDGE} {height + 8:.0f}v8h{bar_m * scale:.1f}v-8" fill="none"'
        ' stroke="#111" stroke-width="2"/>\n'
        f'<text x="{_EDGE + bar_m * scale + 8:.0f}" y="{height + 18:.0f}">'
        f"{bar_m:g} m</text>\n"
        f'<path d="M{_EDGE} {height + 42:.0f}h30" stroke="#8a8a8a" stroke-width="1.5"/>'
        f'<text x="{_EDGE + 38}" y="{height + 47:.0f}">{escape(before)}</text>\n'
        f'<path d="M{_SIDE / 2:.0f} {height + 42:.0f}h30" stroke="#111"'
        f' stroke-width="3"/><text x="{_SIDE / 2 + 38:.0f}" y="{height + 47:.0f}">'
        f"{escape(after)}</text>\n"
        f'<text x="{_EDGE}" y="26" font-weight="bold">{escape(title)}</text>\n'
        "</svg>\n"
    )
    return text.encode()
