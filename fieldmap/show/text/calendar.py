"""What dates rest on, why there are none, and what soil makes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text import names
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.sentence import say_all

if TYPE_CHECKING:
    from fieldmap.model.fact import Fact
    from fieldmap.show.text.quantities import Units
    from fieldmap.show.text.sentence import Sentence


def _few_springs(fact: Fact, _units: Units) -> str:
    return plural(
        "Dates rest on {number} spring; under {enough} they are told on the safe "
        "side of their spread, and a longer record would tell more.",
        "Dates rest on {number} springs; under {enough} they are told on the "
        "safe side of their spread, and a longer record would tell more.",
        fact["springs"],
        enough=f"{fact['enough']}",
    )


def _soil_later(fact: Fact, units: Units) -> str:
    return _(
        "Soil is taken to warm later by {said} (common practice, no source)."
    ).format(said=names.listed(say_all(fact["said"], units)))


def _soil_seen_early(fact: Fact, _units: Units) -> str:
    return plural(
        "snow or wet was seen to leave its ground first, worth about {number} day",
        "snow or wet was seen to leave its ground first, worth about {number} days",
        fact["days"],
    )


def _dates_soil_seen_early(fact: Fact, _units: Units) -> str:
    return plural(
        "Where you saw snow leave or the ground dry first, soil is taken to "
        "warm up to {number} day earlier.",
        "Where you saw snow leave or the ground dry first, soil is taken to "
        "warm up to {number} days earlier.",
        fact["days"],
    )


SENTENCES: dict[str, Sentence] = {
    "no_dates_typical_year": later(
        "The weather is a made-up typical year, from which no odds follow: no dates "
        "are told."
    ),
    "no_dates_without_crops": later("No crop is named: no dates are told."),
    "no_dates_too_few_springs": later(
        "{file} holds fewer than two springs without long gaps: no dates are told."
    ),
    "dates_few_springs": _few_springs,
    "dates_still_nights": later(
        "The middle last freeze of spring at the station is on {day}; of the "
        "nights about that date {share} in 10 are clear and calm, and what is "
        "said of still nights holds for these."
    ),
    "dates_wind_height": later(
        "Wind takes off part of what the ground makes of a still night. At what "
        "height the station measures it is not told: it is taken as {height} "
        "above the ground. Were it lower, the wind would count for more."
    ),
    "dates_station_height_unknown": later(
        "As the place of the weather station is not told, dates take the record "
        "as kept at the height of the plots."
    ),
    "dates_bias_unknown": later(
        "How the plots run against the weather station on still nights is not "
        "known: dates allow {degrees} either way."
    ),
    "dates_soil_later": _soil_later,
    "dates_soil_seen_early": _dates_soil_seen_early,
    "soil_days_on_clay": later("{days} days on clay"),
    "soil_days_where_wet": later("{days} days where it is wet in March"),
    "soil_seen_early": _soil_seen_early,
    "soil_wet": later("its ground is wet in March and warms about {days} days later"),
    "soil_clay": later("its ground is clay and warms about {days} days later"),
}
