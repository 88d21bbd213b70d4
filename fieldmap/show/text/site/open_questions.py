"""Which questions stay open for want of something that the grower could add."""

from collections.abc import Iterable

from fieldmap.model.fact import Fact

# Kinds of fact that say what is missing, what it costs and how to add it.
KINDS = frozenset(
    (
        "no_weather",
        "dates_first_worked_unknown",
        "no_station",
        "no_surroundings",
        "no_wind_direction",
        "light_of_clear_sky",
        "air_not_run_edge",
        "very_coarse_heights",
    )
)


# Kinds of fact that say how numbers were worked out, for whoever checks them.
WORKED_OUT = frozenset(
    (
        "air_at_rest",
        "air_still_rising",
        "moves_with_reach",
        "night_of_autumn",
        "night_of_winter",
        "dates_soil_later",
        "dates_soil_seen_early",
        "gaps_bridged",
        "dates_still_nights",
        "dates_wind_height",
        "dates_no_wind",
        "dates_in_valley",
        "dates_valley_unknown",
        "valley_beyond_limits",
        "published_rule",
    )
)


def split(facts: Iterable[Fact]) -> tuple[list[Fact], list[Fact]]:
    """What is missing, and all other facts."""
    every = list(facts)
    return (
        [fact for fact in every if fact.kind in KINDS],
        [fact for fact in every if fact.kind not in KINDS],
    )


def of_check(
    remarks: Iterable[Fact],
    records: Iterable[str],
    *,
    is_clear_sky: bool,
    is_work_known: bool,
) -> tuple[list[Fact], list[Fact]]:
    """The same for a site that is only read, of which no plan says anything yet.

    Parameters
    ----------
    remarks
        What was remarked while the site was read.
    records
        Names of weather files that are left out.
    is_clear_sky
        Whether no cloud of the place is known.
    is_work_known
        Whether it is known from when every plot can be worked.
    """
    missing = [Fact("no_weather", file=name) for name in records]
    cloud = [Fact("light_of_clear_sky")] if is_clear_sky else []
    work = [] if is_work_known else [Fact("dates_first_worked_unknown")]
    still_open, others = split(remarks)
    return [*missing, *still_open, *cloud, *work], others
