"""Places drawn so that their pictures can be held beside each other."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import RankedBed
from fieldmap.model.season_year import SeasonYear
from fieldmap.show.layer_styles import ramp_colours
from fieldmap.show.map import still
from fieldmap.show.map.questions import early
from fieldmap.show.map.questions.early import RAMP, Days
from fieldmap.show.map.questions.view import BedRamp, Picture, Tick
from fieldmap.show.text.map import beds as bed_words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.review import compare as words
from fieldmap.show.text.sentence import phrase

TICKS, SAMPLES = 4, 17  # of the ramp of days: labels that have room on a phone; colours


class Ground(NamedTuple):
    """What is drawn of a plan.

    Attributes
    ----------
    days
        First day of each bed for the crop; None where none are known.
    """

    site_name: str
    scenery: still.Scenery
    days: Days | None
    crop: str
    season: SeasonYear


class Drawn(NamedTuple):
    """Pictures that can be held beside each other, and what they mean.

    Attributes
    ----------
    pictures
        Each with its text in place of it, and what stands under it.
    ticks
        Of the ramp of days; empty where the places have none in common.
    colours
        Along that ramp.
    """

    about: str
    pictures: tuple[tuple[str, str, still.Still], ...]
    ticks: tuple[Tick, ...] = ()
    colours: tuple[str, ...] = ()


def ground(
    site_name: str, scenery: still.Scenery, beds: Sequence[RankedBed], dates: Dates
) -> Ground:
    """What is drawn of a plan, by its beds and their dates.

    Parameters
    ----------
    site_name
        Name of the site, for the caption.
    scenery
        Plots, surroundings, beds and ground of the plan, to be drawn.
    beds
        The beds of the plan, in its order.
    dates
        Planting dates of these beds. The picture shows those of its reference crop.
    """
    return Ground(
        site_name,
        scenery,
        early.first_days(beds, dates),
        dates.reference_crop,
        dates.season,
    )


def drawn(places: Sequence[Ground], names: Sequence[str], units: Units) -> Drawn:
    """One picture of each place, to one scale, its beds by days that all have in common.

    Plots of one site stand on one picture.

    Parameters
    ----------
    places
        What is drawn of each plan, at least one.
    names
        Captions, one for each plan. A single plan has the name of its site instead.
    units
        "metric" or "us", for the lengths in the texts and the lines of height.

    Returns
    -------
    drawn
        The pictures. Beds have no colour where a plan has no first days, or where the
        plans differ in crop or season.
    """
    called = names if len(places) > 1 else [places[0].site_name]
    days, scenery = _common_days(places), [place.scenery for place in places]
    width_m = still.width_m(scenery)
    if not days:
        return Drawn(
            phrase("compare_drawn_undated", units, width_m=width_m),
            _captioned(
                called,
                [""] * len(places),
                still.side_by_side(scenery, [Picture()] * len(places), units),
                places,
            ),
        )
    ends = Days(np.concatenate([each.of_beds for each in days]), days[0].season)
    shown = [
        Picture(BedRamp(RAMP, np.array([ends.at(day) for day in each.of_beds])))
        for each in days
    ]
    about = phrase("compare_drawn_about", units, width_m=width_m, crop=places[0].crop)
    if not np.isfinite(ends.of_beds).all():
        about = phrase("in_two_lines", first=about, second=phrase("compare_grey"))
    steps = np.unique(np.linspace(*ends.ends, TICKS).round())
    return Drawn(
        about,
        _captioned(
            called,
            [*map(_span, days)],
            still.side_by_side(scenery, shown, units),
            places,
        ),
        tuple(Tick(ends.at(day), ends.said(day)) for day in steps),
        ramp_colours(RAMP, np.linspace(0.0, 1.0, SAMPLES), "print"),
    )


def _captioned(
    called: Sequence[str],
    spans: Sequence[str],
    pictures: Sequence[still.Still],
    places: Sequence[Ground],
) -> tuple[tuple[str, str, still.Still], ...]:
    return tuple(
        (
            phrase("compare_picture_of", place=name),
            words.of_picture(name, len(place.scenery.beds), span),
            picture,
        )
        for name, span, picture, place in zip(
            called, spans, pictures, places, strict=True
        )
    )


def _common_days(places: Sequence[Ground]) -> list[Days]:
    """First days of the beds of each place, empty unless of one crop and one season."""
    known = [place.days for place in places if place.days is not None]
    alike = {(place.crop, place.season) for place in places}
    return known if len(known) == len(places) and len(alike) == 1 else []


def _span(days: Days) -> str:
    first, last = (days.month_day(day) for day in days.ends)
    return bed_words.span_of_days(first, last)
