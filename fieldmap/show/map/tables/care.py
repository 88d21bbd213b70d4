"""Water by month, and weeks in which closed covers overheat."""

from collections.abc import Sequence

from fieldmap.decide.materials.watering import MonthOfWater, Watering
from fieldmap.decide.weekly_jobs.venting import Venting
from fieldmap.model.season_year import SeasonYear
from fieldmap.show.map.tables.table import Columns, Table, table
from fieldmap.show.text.decide.care import venting, watering
from fieldmap.show.text.language import month_name
from fieldmap.show.text.quantities import Units


def water(found: Watering, units: Units) -> Table:
    """Litres a day by month."""
    columns: Columns[MonthOfWater] = {
        "month": lambda month: month_name(month.month),
        "grass_gives_off": lambda month: watering.reference(month, units),
        "all_beds_a_day": lambda month: watering.litres(month.litres_day, units),
        "film_a_day": lambda month: watering.litres(month.film_litres_day, units),
    }
    return table("water", columns, found.months, watering.about(found, units))


def vents(found: Sequence[Venting], season: SeasonYear, units: Units) -> Table:
    """When each tunnel and low cover overheats.

    Parameters
    ----------
    found
        Tunnels and low covers, each with the weeks in which it overheats.
    season
        Season-year in which these weeks are counted.
    units
        "metric" or "us", for degrees and lengths.
    """
    columns: Columns[Venting] = {
        "cover": lambda each: venting.name(each, units),
        "may_overheat": lambda each: venting.weeks(each.maybe, season),
        "overheats": lambda each: venting.weeks(each.surely, season),
        "hotter_by": lambda each: venting.lift(each, units),
    }
    return table("venting", columns, found, venting.notes(found, units))
