"""How one plot looks through the year: its beds seen from the gate, season by season."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.season_year import DAYS
from fieldmap.show.layer_styles import ON_PAPER, PAPER, PaperStyle
from fieldmap.show.print.ground.drawing import PlanDrawing, bounds_of
from fieldmap.show.print.ground.site_plan import SitePlan, cover_style

# Of the season-year: 10 April, 19 July, 10 October and 20 January, or half a year on in
# the south; a picture shows a day so near to them, by weeks, on which most lies covered.
SEASON_DAYS = (100, 200, 283, 20)
WEEKS_NEAR = 4
SPARE_M, MARGIN_MM = 1.0, 2.0
GROWS = PaperStyle(PAPER, 0.25, hatch="leaves")
BARE, GREEN = "bare", "green"
# Share of a plot's beds that must look otherwise for another picture to be worth it.
VISIBLE_SHARE = 0.1


class Season(NamedTuple):
    """What stands on a plot on one day.

    Attributes
    ----------
    day
        Of the season-year.
    looks
        By bed: "bare", "green", or the kind of its cover.
    """

    day: int
    looks: Mapping[str, str]

    def number(self, *, covered: bool) -> int:
        """Beds that lie under a cover, or that carry a crop, covered or not."""
        seen = [look for look in self.looks.values() if look != BARE]
        return sum(look != GREEN for look in seen) if covered else len(seen)


def look_of(crop_plan: CropPlan, bed: str, day: int) -> str:
    """What one sees of a bed on a day of any year; grass and clover are green.

    Parameters
    ----------
    crop_plan
        Which crop or green manure stands on which bed, and under which cover.
    bed
        Name of the bed.
    day
        Number of the day in the season-year, from 1.

    Returns
    -------
    look
        "bare", "green", or the kind of the cover that lies there.
    """
    stays = crop_plan.by_bed.get(bed, ())
    for stay in stays:
        for use in stay.covers:
            if _is_within(day, use.from_day, use.to_day):
                return use.kind
    spans = [(stay.from_day, stay.to_day) for stay in stays]
    green = crop_plan.green_by_bed.get(bed, ())
    spans += [(each.from_day, each.to_day) for each in green]
    is_green = any(_is_within(day, *span) for span in spans)
    is_green |= not spans and bed in crop_plan.untended
    return GREEN if is_green else BARE


def _is_within(day: int, from_day: int, to_day: int) -> bool:
    """What begins late in a year may end in the next."""
    return from_day <= day <= to_day or from_day <= day + DAYS <= to_day


def seasons(beds: Sequence[Bed], crop_plan: CropPlan) -> list[Season]:
    """The four days on which a plot is drawn."""
    return [_most_covered(beds, crop_plan, day) for day in SEASON_DAYS]


def _most_covered(beds: Sequence[Bed], crop_plan: CropPlan, middle: int) -> Season:
    """The day about the middle of a season on which most covers lie, so none is hidden."""
    weeks = sorted(range(-WEEKS_NEAR, WEEKS_NEAR + 1), key=abs)
    days = [(middle + 7 * week - 1) % DAYS + 1 for week in weeks]
    looks = [
        Season(day, {bed.name: look_of(crop_plan, bed.name, day) for bed in beds})
        for day in days
    ]
    return max(looks, key=lambda season: season.number(covered=True))


def differ(one: Season, other: Season) -> bool:
    """Whether two pictures differ so that one sees it."""
    others = [name for name, look in one.looks.items() if other.looks[name] != look]
    return len(others) > VISIBLE_SHARE * len(one.looks)


def pictured(found: Sequence[Season]) -> list[list[Season]]:
    """Seasons that one picture shows: two at the most, or each by itself."""
    groups = _alike(found)
    return groups if len(groups) < 3 else [[season] for season in found]


def _alike(found: Sequence[Season]) -> list[list[Season]]:
    """Seasons that look alike and follow each other, as one."""
    groups = [[found[0]]]
    for season in found[1:]:
        if differ(groups[-1][0], season):
            groups.append([season])
        else:
            groups[-1].append(season)
    return groups


def plot_to_show(beds: Sequence[Bed], crop_plan: CropPlan) -> tuple[str, list[Season]]:
    """The plot with most different pictures, then most beds that change; its seasons."""
    plots = list(dict.fromkeys(bed.plot for bed in beds))
    best: tuple[tuple[int, int], str, list[Season]] = ((-1, -1), "", [])
    for plot in plots:
        found = seasons([bed for bed in beds if bed.plot == plot], crop_plan)
        changes = sum(
            len({season.looks[name] for season in found}) - 1 for name in found[0].looks
        )
        seen = len(_alike(found)), changes
        if seen > best[0]:
            best = seen, plot, found
    return best[1], best[2]


def picture(
    drawn: SitePlan, plot: str, season: Season, room_mm: tuple[float, float]
) -> PlanDrawing:
    """A plot on one day, turned so that its long side lies across the page.

    Parameters
    ----------
    drawn
        What drawings of the ground show.
    plot
        Name of the plot.
    season
        What stands on each of its beds on that day.
    room_mm
        Width and height of the paper that it may take, its margins included [mm].
    """
    outline = next(
        shape
        for shape, name in zip(drawn.plots.geometry, drawn.plots["name"], strict=True)
        if str(name) == plot
    )
    turn_deg = _level_deg(outline)
    middle = outline.centroid

    def turned(shape: BaseGeometry) -> BaseGeometry:
        return affinity.rotate(shape, turn_deg, origin=middle)

    # A picture and no plan: as large as it can be.
    bounds = bounds_of([turned(outline)], SPARE_M)
    made = PlanDrawing(bounds, room_mm, MARGIN_MM, ())
    things = drawn.surroundings
    for shape, kind in zip(things.geometry, things["kind"], strict=True):
        if kind not in ("gate", "water point", "overhead line"):
            made.add(turned(shape), ON_PAPER[kind])
    made.add(turned(outline), ON_PAPER["plot"]._replace(line_mm=0.55))
    for bed in drawn.beds:
        if bed.plot == plot:
            look = season.looks[bed.name]
            made.add(turned(bed.outline), style_of(look))
    for place in drawn.tunnels:
        made.add(turned(place.outline), ON_PAPER["tunnel"])
    made.frame()
    return made


def style_of(look: str) -> PaperStyle:
    """How a bed is drawn by what one sees of it."""
    if look == BARE:
        return ON_PAPER["bed"]
    return GROWS if look == GREEN else cover_style(look)


def signs(looks: Collection[str]) -> list[str]:
    """How beds are filled by which of these looks is seen: what a key explains."""
    seen = {style_of(look).hatch or BARE for look in looks}
    return [sign for sign in ("leaves", "hoops", "mesh", BARE) if sign in seen]


def _level_deg(outline: BaseGeometry) -> float:
    """By how much an outline is turned so that its long side is level."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))
    sides = np.diff(corners[:3], axis=0)
    east, north = sides[int(np.argmax(np.hypot(*sides.T)))]
    turn = -float(np.degrees(np.arctan2(north, east)))
    return (turn + 90.0) % 180.0 - 90.0
