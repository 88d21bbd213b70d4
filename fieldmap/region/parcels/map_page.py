"""`region.html`: one page on which parcels are chosen by a sentence, offline."""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from importlib import resources
from typing import Any, NamedTuple

import numpy as np
import shapely

from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.region.parcels import choice
from fieldmap.region.parcels.facts import ONE_WAY_SHARE
from fieldmap.region.parcels.ranking import SHOWN_SHARE
from fieldmap.region.parcels.season import USUAL, YEARS
from fieldmap.region.parcels.tables import Chosen
from fieldmap.show import html, layer_styles
from fieldmap.show.map import fonts
from fieldmap.show.map.offline import POLICY, sealed
from fieldmap.show.map.scene import contours, ground
from fieldmap.show.map.scene.frame import Frame, frame_around
from fieldmap.show.map.scene.looks import looks
from fieldmap.show.map.scene.packed import lines
from fieldmap.show.text import language
from fieldmap.show.text.language import written
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all
from fieldmap.show.text.site import parcels as words

# Files of the page by the names that its template knows them by.
OWN = "region/"
SCRIPTS = (
    *(
        f"map/scripts/draw_{name}.js"
        for name in ("frame", "palette", "ground", "labels", "furniture")
    ),
    "map/scripts/page_data.js",
    f"{OWN}parcel_map.js",
    "map/scripts/page_looks.js",
    f"{OWN}parcel_choice.js",
)
# Off its outline by less than so much of the region's longer side is not seen.
WITHIN = 1 / 4000
KNOWN_SHARE = 0.995  # from which a parcel's ground is called known


class Shown(NamedTuple):
    """A region as its page shows it.

    Attributes
    ----------
    heights_m
        Of the whole region, coarse.
    folder
        Of the region, as one types it.
    """

    name: str
    heights_m: Raster
    units: Units
    folder: str


class Words(NamedTuple):
    """A parcel in the list of the page."""

    at: int
    rank: str
    heading: str
    season: str
    reason: str
    said: list[str]


def page(chosen: Chosen, shown: Shown, remarks: Sequence[Fact] = ()) -> str:
    """One file that asks no network for anything.

    The same parcels give the same text. Names from files are shown as text, whatever
    they hold.

    Parameters
    ----------
    chosen
        All that is known of the parcels.
    shown
        Name, ground and units of the region.
    remarks
        What to say below of how the figures came about.
    """
    units, names = shown.units, chosen.frame["name"].tolist()
    outlines = chosen.frame.geometry
    frame = frame_around(tuple(outlines.total_bounds), chosen.frame.crs)
    about = words.of_page("about", number=len(names), name=shown.name)
    made = _environment().get_template(f"{OWN}page.html")
    text = made.render(
        policy=POLICY,
        language=language.current(),
        title=words.of_page("title", name=shown.name),
        look_css=fonts.css() + layer_styles.css_looks(),
        texts={
            "about": about,
            "asked": words.of_page("asked"),
            "map": words.of_page("map", name=shown.name),
        },
        say=words.words(),
        ties=words.words()["ties_nights" if chosen.seasons is None else "ties"],
        sentence=list(choice.sentence(chosen.facts, chosen.seasons, units)),
        parcels=list(_parcels(chosen, names, units)),
        cautions=words.cautions(shown.folder, names[chosen.order[0]]),
        remarks=say_all(remarks, units),
        scene=html.safe_json(_scene(chosen, frame, shown)),
        data=html.safe_json(_data(chosen, frame, names, units)),
        scripts=SCRIPTS,
    )
    return sealed(text)


@cache
def _environment() -> Any:
    return html.environment(_text_of)


def _text_of(name: str) -> str:
    """A file of this page, or one that it shares with the map."""
    if not name.startswith(OWN):
        return html.text_of(name)
    folder = resources.files("fieldmap.region.parcels") / "page"
    return (folder / name.removeprefix(OWN)).read_text("utf-8")


def _scene(chosen: Chosen, frame: Frame, shown: Shown) -> dict[str, Any]:
    """What is drawn: the ground, and how the looks colour it."""
    crs = chosen.frame.crs
    hull = shapely.convex_hull(shapely.union_all(chosen.frame.geometry.to_numpy()))
    shapely.prepare(hull)
    west, south, east, north = shapely.total_bounds(frame.shape(hull, crs)).tolist()
    return {
        "frame": frame.origin(),
        "ground": ground.ground_picture(shown.heights_m, frame),
        "contours": contours.contours(
            shown.heights_m, hull, frame, shown.units, contours.WIDE_LADDERS
        ),
        "view": [west, south, east, north],
        "units": shown.units,
        "looks": looks(),
        "say": words.words(),
    }


def _data(
    chosen: Chosen, frame: Frame, names: Sequence[str], units: Units
) -> dict[str, Any]:
    facts = chosen.facts
    return {
        "say": words.words(),
        "units": {"us": units == "us"},
        "acres_per_hectare": choice.ACRES_PER_HECTARE,
        "names": names,
        "ids": chosen.frame["id"].tolist(),
        "outlines": _outlines(chosen, frame),
        "hectares": choice.columns(facts.area_ha[np.newaxis], 3)[0],
        "days": choice.of_seasons(chosen.seasons),
        "night": choice.columns(facts.offset_c, 2),
        "dry": choice.columns(facts.dry_ha, 3),
    }


def _outlines(chosen: Chosen, frame: Frame) -> dict[str, Any]:
    """Rings of all parcels, whose each is, and a point on each parcel."""
    shapes = [frame.shape(each, chosen.frame.crs) for each in chosen.frame.geometry]
    west, south, east, north = shapely.total_bounds(shapes).tolist()
    within_m = WITHIN * max(east - west, north - south)
    rings, of = [], []
    for at, shape in enumerate(shapes):
        for part in shapely.get_parts(shapely.simplify(shape, within_m)):
            for ring in shapely.get_rings(part):
                rings.append(shapely.get_coordinates(ring)[:-1])
                of.append(at)
    middles = shapely.get_coordinates(shapely.point_on_surface(shapes))
    return {
        "lines": lines(rings, within_m / 4),
        "of": of,
        "middles": np.round(middles, 1).tolist(),
    }


def _parcels(chosen: Chosen, names: Sequence[str], units: Units) -> Iterator[Words]:
    heading = words.words()["heading"]
    for at in chosen.order:
        rank = chosen.ranks[at]
        yield Words(
            at,
            "" if rank is None else words.words()["ranked"].format(rank=written(rank)),
            heading.format(
                name=names[at], area=_area(float(chosen.facts.area_ha[at]), units)
            ),
            _season(chosen, at),
            words.reason_in_words(_beside_nights(chosen.reasons[at]), units),
            list(_facts(chosen, at, units)),
        )


def _beside_nights(reasons: Iterable[Fact]) -> tuple[Fact, ...]:
    """What sets a parcel apart; its nights have a sentence of their own, with a range."""
    return tuple(each for each in reasons if each.kind != "parcel_nights")


def _area(hectares: float, units: Units) -> str:
    key, times = (
        ("acres", choice.ACRES_PER_HECTARE) if units == "us" else ("hectares", 1.0)
    )
    return words.words()[key].format(number=written(round(hectares * times, 1)))


def _season(chosen: Chosen, at: int) -> str:
    if chosen.seasons is None or np.isnan(chosen.seasons.days[USUAL, 1, at]):
        return ""
    low, likely, high = (
        written(each, ".0f") for each in chosen.seasons.days[USUAL, :, at]
    )
    good, of = YEARS[USUAL]
    years = words.blanks()["of_years"].format(good=good, of=of)
    return words.words()["season"].format(
        low=low, likely=likely, high=high, years=years
    )


def _facts(chosen: Chosen, at: int, units: Units) -> Iterator[str]:
    """What is known of a parcel, a sentence each; what is not is left out."""
    facts = chosen.facts
    if np.isnan(facts.slope_percent[1, at]):
        yield words.plain("not_known")
        return
    low_c, likely_c, high_c = facts.offset_c[:, at].tolist()
    if not np.isnan(likely_c):
        yield words.night(low_c, likely_c, high_c, units)
    yield words.lie(facts.slope_percent[:, at].tolist(), _faces_deg(chosen, at))
    yield from _light(chosen, at)
    if facts.wet_share[at] >= SHOWN_SHARE:
        yield words.share_of("wet", float(facts.wet_share[at]))
    if facts.known_share[at] < KNOWN_SHARE:
        yield words.share_of("partly_known", float(facts.known_share[at]))
    yield words.plain("not_shown")


def _light(chosen: Chosen, at: int) -> Iterator[str]:
    facts = chosen.facts
    year, dark = facts.sun_mj_m2_day[:, at], facts.dark_sun_mj_m2_day[:, at]
    if np.isnan([*year, *dark]).any():
        return
    yield words.sun(year.tolist(), dark.tolist(), facts.dark_months)
    if facts.shaded_share[at] >= SHOWN_SHARE:
        yield words.share_of("shaded", float(facts.shaded_share[at]))


def _faces_deg(chosen: Chosen, at: int) -> float | None:
    faces_deg = float(chosen.facts.faces_deg[at])
    agrees = chosen.facts.one_way_share[at] >= ONE_WAY_SHARE
    return faces_deg if agrees and not np.isnan(faces_deg) else None
