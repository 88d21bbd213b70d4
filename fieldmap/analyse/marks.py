"""What the grower saw on the ground beside what was reckoned of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from fieldmap.decide.ranking import SAME_LIGHT
from fieldmap.model.offset import rounded_c
from fieldmap.model.site import (
    DRIES_FIRST,
    PUDDLES,
    SNOW_LEAVES_FIRST,
    WHITE_AT_DAWN,
    Mark,
    cells_in,
    marked_cells,
    plot_cells,
)
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.analyse.fields import Analysis
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]

Answer = Literal["agrees", "disagrees", "unclear"]

# Ground on which it is that much more so counts as more (choices: half the step that
# people are shown; 1 of the wetness index is three times the water).
MORE_C, MORE_WETNESS = 0.25, 1.0
MOST = 0.5
AGREES = {
    WHITE_AT_DAWN: later(
        "What was reckoned agrees: on still nights it is colder there than on most of "
        "the rest of the plots."
    ),
    SNOW_LEAVES_FIRST: later(
        "What was reckoned agrees: it gets more sun there in early spring than most of "
        "the rest of the plots."
    ),
    PUDDLES: later(
        "What was reckoned agrees: by the shape of the ground more water gathers there "
        "than on most of the rest of the plots."
    ),
    DRIES_FIRST: later(
        "What was reckoned agrees: by the shape of the ground less water gathers there "
        "than on most of the rest of the plots."
    ),
}
DISAGREES = {
    WHITE_AT_DAWN: later(
        "What was reckoned says otherwise: on still nights it is warmer there than on "
        "most of the rest of the plots. Hang a thermometer there."
    ),
    SNOW_LEAVES_FIRST: later(
        "What was reckoned says otherwise: it gets less sun there in early spring than "
        "most of the rest of the plots. Look again next spring, and feel the soil."
    ),
    PUDDLES: later(
        "The shape of the ground says otherwise: less water gathers there than on most "
        "of the rest of the plots. Look for a broken drain, a spring or packed soil."
    ),
    DRIES_FIRST: later(
        "The shape of the ground says otherwise: more water gathers there than on most "
        "of the rest of the plots. Light soil or a drain may carry it off."
    ),
}
UNCLEAR = later(
    "What was reckoned sees no real difference there to the rest of the plots."
)
COVERS_ALL = later(
    "Such marks cover all of the plots: there is nothing to compare with."
)


class Weighed(NamedTuple):
    """A mark, whether what was reckoned agrees with it, and what follows, in words."""

    mark: Mark
    answer: Answer
    sentence: str


@dataclass(frozen=True)
class _Reckoned:
    """What was reckoned of one kind of thing seen: more is more so."""

    values: Floats
    more: float


def weigh(site: Site, analysis: Analysis) -> tuple[Weighed, ...]:
    """Each mark beside what was reckoned without it, in the order of the site.

    It agrees where half of the plots or more, off all marks of that kind, is less so by
    a margin; it disagrees where half or more is more so.
    """
    return tuple(_weighed(site, analysis, mark) for mark in site.marks)


def _weighed(site: Site, analysis: Analysis, mark: Mark) -> Weighed:
    reckoned = _reckoned(site, analysis, mark.seen)
    ground = analysis.terrain.elevation_m
    known = ~np.isnan(reckoned.values)
    here = cells_in([mark.outline], ground) & known
    others = plot_cells(site, ground) & known & ~marked_cells(site, ground, mark.seen)
    answer: Answer = "unclear"
    said = UNCLEAR if others.any() else COVERS_ALL
    if here.any() and others.any():
        apart = reckoned.values[here].mean() - reckoned.values[others]
        if np.mean(apart >= reckoned.more) >= MOST:
            answer, said = "agrees", AGREES[mark.seen]
        elif np.mean(apart <= -reckoned.more) >= MOST:
            answer, said = "disagrees", DISAGREES[mark.seen]
    told = [
        _("{name}: you saw “{seen}”. {compared}").format(
            name=mark.name, seen=_(mark.seen), compared=_(said)
        ),
        *_follows(site, analysis, mark, here),
    ]
    return Weighed(mark, answer, " ".join(told))


def _reckoned(site: Site, analysis: Analysis, seen: str) -> _Reckoned:
    if seen == WHITE_AT_DAWN:
        offset_c = (
            analysis.cold_air.offset_c.values[1] - analysis.cold_air.seen_c.values
        )
        return _Reckoned(-offset_c, MORE_C)
    if seen == SNOW_LEAVES_FIRST:
        light = analysis.light.sun_mj_m2_day.values[site.spring_month]
        return _Reckoned(light, SAME_LIGHT * float(np.nanmedian(light)))
    wetness = analysis.wetness_index.values
    return _Reckoned(wetness if seen == PUDDLES else -wetness, MORE_WETNESS)


def _follows(
    site: Site, analysis: Analysis, mark: Mark, here: npt.NDArray[np.bool_]
) -> list[str]:
    """What the plan makes of a mark, beyond the dates of beds."""
    if mark.seen != WHITE_AT_DAWN or not here.any():
        return []
    colder_c = float(analysis.cold_air.seen_c.values[here].mean())
    if rounded_c(colder_c) == 0:
        return []
    return [
        _("By what you saw, its still nights are taken {difference}.").format(
            difference=quantities.difference(colder_c, site.settings.units)
        )
    ]
