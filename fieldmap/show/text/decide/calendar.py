"""What dates rest on, why there are none, and what soil makes of them."""

from fieldmap.model.fact import Fact
from fieldmap.show.text import names
from fieldmap.show.text.language import _, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say_all


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
    "dates_few_springs": _few_springs,
    "dates_soil_later": _soil_later,
    "dates_soil_seen_early": _dates_soil_seen_early,
    "soil_seen_early": _soil_seen_early,
}
