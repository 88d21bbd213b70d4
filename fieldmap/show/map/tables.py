"""What is told of each bed, tunnel and pocket: once in a table, read by the popups."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.decide import what_if
from fieldmap.decide.ranking import GROUPS
from fieldmap.model.estimate import Estimate
from fieldmap.show.colours import GROUP_COLOURS
from fieldmap.show.map.shapes import row_id
from fieldmap.show.text import crop_plan, map
from fieldmap.show.text import layout as layout_text
from fieldmap.show.text import quantities as numbers
from fieldmap.show.text.language import _, month_name, translated
from fieldmap.show.text.sentence import say_all
from layers import sunlight
from layers.odds import risk_over_years

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldmap.decide.ranking import RankedBed
    from fieldmap.decide.what_if import BedChange, Outcome
    from fieldmap.plan import Plan


PLAIN = ("tonight", "layout", "station", "tunnel-light", "materials", "hoops", "pegs")
MOST_ROWS_OPEN = 500  # a choice
YEARS_TOLD = 5  # over which a risk is told


@dataclass(frozen=True)
class Row:
    """A line of a table; the first cell is the name.

    Attributes
    ----------
    shows
        The row whose thing on the map this one shows, where it is not its own.
    """

    id: str
    cells: tuple[str, ...]
    colour: str = ""
    shows: str = ""


@dataclass(frozen=True)
class Table:
    """A heading, its columns and its rows."""

    id: str
    heading: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    if_empty: str
    notes: tuple[str, ...] = ()

    @property
    def long(self) -> bool:
        """Whether it is shut at first: laid out, thousands of rows stop a phone."""
        return len(self.rows) > MOST_ROWS_OPEN

    @property
    def plain(self) -> bool:
        """Whether its rows show nothing on the map."""
        return self.id.startswith(PLAIN)


def beds(plan: Plan) -> Table:
    """Beds in the order of planting."""
    units = plan.site.settings.units
    by_station = plan.site.station_cell is not None
    month = plan.site.spring_month
    count = len(plan.beds)
    early = Counter(bed.early_group for bed in plan.beds)
    late = Counter(bed.late_rank for bed in plan.beds)
    shade = Counter(bed.shade_rank for bed in plan.beds)
    cool = Counter(bed.cool_rank for bed in plan.beds)
    order = sorted(
        range(count),
        key=lambda at: (
            GROUPS.index(plan.beds[at].early_group),
            plan.beds[at].early_rank,
            at,
        ),
    )
    return Table(
        "beds",
        map.text("beds"),
        _bed_columns(plan),
        tuple(
            Row(
                row_id("bed", at),
                (
                    bed.bed.name,
                    map.planted(bed.early_group, count, early[bed.early_group]),
                    *_grows_here(plan, bed.bed.name),
                    *_out_from(plan, at),
                    map.night(bed.offset_c, units, by_station=by_station),
                    map.sun(
                        bed.direct_hours[month],
                        bed.sun_mj_m2_day[month],
                        month_name(month + 1),
                        bed.morning_share[month],
                    ),
                    *_on_the_day(plan, bed.bed.name),
                    _tomatoes(plan, bed),
                    map.lie(bed.slope_percent, bed.faces_deg, bed.along_percent, units),
                    *_wind(plan, bed),
                    map.rain_water(bed.water_share),
                    map.place(bed.late_rank, count, late[bed.late_rank]),
                    map.place(bed.shade_rank, count, shade[bed.shade_rank]),
                    map.place(bed.cool_rank, count, cool[bed.cool_rank]),
                    " ".join(say_all(bed.reasons, units)),
                ),
                GROUP_COLOURS.get(bed.early_group, ""),
            )
            for at, bed in ((at, plan.beds[at]) for at in order)
        ),
        map.text("no_beds"),
        _about_dates(plan),
    )


def _wind(plan: Plan, bed: RankedBed) -> tuple[str, ...]:
    """What is left of the prevailing wind; no cell where its direction is not told."""
    if plan.site.settings.wind.prevailing_from_deg is None:
        return ()
    return (map.wind_left(bed.wind_share),)


def _bed_columns(plan: Plan) -> tuple[str, ...]:
    """Headings; the hours of one day only where the site names a day."""
    day = plan.site.settings.sun.day
    at = map.BED_COLUMNS.index("Sun") + 1
    added = () if day is None else (map.sun_on(day),)
    dates = (map.text("out_from"),) if plan.dates.are_told else ()
    grows = (map.text("grows_here"),) if plan.crop_plan.is_known else ()
    columns = translated(map.BED_COLUMNS)
    told = plan.site.settings.wind.prevailing_from_deg is not None
    wind = (map.text("prevailing_wind"),) if told else ()
    after = map.BED_COLUMNS.index(map.WATER_COLUMN)
    return (
        *columns[:2],
        *grows,
        *dates,
        *columns[2:at],
        *added,
        *columns[at:after],
        *wind,
        *columns[after:],
    )


def _out_from(plan: Plan, at: int) -> tuple[str, ...]:
    """A line for each crop, without a cover; no cell where no dates are told."""
    dates = plan.dates
    if not dates.are_told:
        return ()
    lines = [
        map.out_from(
            crop.name, [dates.season.early_date(day) for day in dates.early_of(at, k)]
        )
        for k, crop in enumerate(dates.crops)
    ]
    return ("\n".join(lines),)


def _grows_here(plan: Plan, bed: str) -> tuple[str, ...]:
    """What grows on a bed and under what; no cell where that is not told."""
    return (
        (crop_plan.of_bed(plan.crop_plan, bed) or "–",)
        if plan.crop_plan.is_known
        else ()
    )


def _about_dates(plan: Plan) -> tuple[str, ...]:
    """The risk behind the dates, and the question behind the risk."""
    dates = plan.dates
    if not dates.are_told:
        return ()
    by_risk: dict[float, list[str]] = {}
    for crop, risk in zip(dates.crops, dates.risks, strict=True):
        by_risk.setdefault(risk, []).append(crop.name)
    return (
        *(map.risk(risk, crops) for risk, crops in by_risk.items()),
        *translated(map.ABOUT_DATES),
    )


def _on_the_day(plan: Plan, name: str) -> tuple[str, ...]:
    if plan.site.settings.sun.day is None:
        return ()
    return (map.spells(plan.sun_spells[name]),)


def _tomatoes(plan: Plan, bed: RankedBed) -> str:
    """Light enough for tomatoes in the warmest month: yes, just, or no."""
    summer = plan.site.summer_month
    mol = float(sunlight.daily_light_integral_mol(bed.sun_mj_m2_day[summer]))
    band = sunlight.LIGHT_INTEGRAL_BAND
    return map.tomatoes(mol, band, month_name(summer + 1), plan.analysis.light.sky)


def tunnels(plan: Plan) -> Table:
    """Places for tunnels, with what to mind before building one."""
    units = plan.site.settings.units
    by_station = plan.site.station_cell is not None
    return Table(
        "tunnels",
        map.text("tunnels"),
        translated(map.TUNNEL_COLUMNS),
        tuple(
            Row(
                row_id("tunnel", number),
                (
                    tunnel.name,
                    map.tunnel_size(tunnel, units),
                    map.points(tunnel.bearing_deg),
                    map.tunnel_slope(tunnel, units),
                    map.tunnel_earth(tunnel, units),
                    map.tunnel_ways(tunnel, units),
                    numbers.area(round(tunnel.taken_m2), units),
                    map.night(tunnel.offset_c, units, by_station=by_station),
                    " ".join(say_all(tunnel.reasons, units)),
                ),
            )
            for number, tunnel in enumerate(plan.tunnels)
        ),
        map.text("no_tunnels"),
        translated(map.TUNNEL_CAUTIONS),
    )


def layout(plan: Plan) -> Table:
    """Which way beds run on each plot, why, and what else would do."""
    units = plan.site.settings.units
    return Table(
        "layout",
        map.text("layout"),
        translated(map.LAYOUT_COLUMNS),
        tuple(
            Row(
                row_id("layout", number),
                (
                    map.layout_part(here.plot, here.part, here.parts),
                    map.layout_beds(
                        here.blocks,
                        len(here.beds),
                        numbers.area(round(here.area_m2), units),
                    ),
                    " ".join(layout_text.reasons(here, units)),
                    layout_text.runner_up(here, units),
                ),
            )
            for number, here in enumerate(plan.layouts)
        ),
        map.text("no_layout"),
        translated(layout_text.NOTES),
    )


def pockets(plan: Plan) -> Table:
    """Places that cold air collects in."""
    units = plan.site.settings.units
    by_station = plan.site.station_cell is not None
    frame = plan.cold_pockets
    return Table(
        "pockets",
        map.text("pockets"),
        translated(map.POCKET_COLUMNS),
        tuple(
            Row(
                row_id("pocket", number),
                (
                    str(name),
                    map.pocket(depth_m, behind, units),
                    map.pocket_area(
                        numbers.area(round(area_m2), units), cut_off=bool(cut_off)
                    ),
                    map.at_deepest(
                        map.night(
                            Estimate(low, central, high),
                            units,
                            by_station=by_station,
                        )
                    ),
                ),
            )
            for number, (
                name,
                depth_m,
                area_m2,
                low,
                central,
                high,
                behind,
                cut_off,
            ) in enumerate(
                zip(
                    frame["name"],
                    frame["depth_m"],
                    frame["area_m2"],
                    frame["offset_low_c"],
                    frame["offset_central_c"],
                    frame["offset_high_c"],
                    frame["behind"],
                    frame["cut_off"],
                    strict=True,
                )
            )
        ),
        map.text("no_pockets"),
    )


def what_ifs(plan: Plan) -> tuple[Table, ...]:
    """What each alternative does to each bed; beds in a row that fare alike share one."""
    units = plan.site.settings.units
    return tuple(
        Table(
            row_id("what-if", number),
            map.what_if_heading(outcome.name),
            (
                *translated(map.WHAT_IF_COLUMNS),
                *((_(map.PLANTING_COLUMN),) if plan.dates.are_told else ()),
                *((_(map.WIND_COLUMN),) if _is_wind_told(outcome) else ()),
            ),
            tuple(_changed_beds(plan, outcome, number)),
            map.text("no_beds_changed"),
            (*outcome.changes, *what_if.sentences(outcome, units), outcome.below),
        )
        for number, outcome in enumerate(plan.what_ifs)
    )


def _changed_beds(plan: Plan, outcome: Outcome, number: int) -> Iterator[Row]:
    """A row for each run of beds of one plot whose cells are the same."""
    with_wind = _is_wind_told(outcome)

    def told(at: int) -> tuple[str, tuple[str, ...]]:
        change = outcome.beds[at]
        cells = _change(change, plan.site.settings.units)
        if plan.dates.are_told:
            cells = (*cells, _planting(change))
        if with_wind:
            cells = (*cells, what_if.wind_words(change) or _(map.AS_NOW))
        return plan.beds[at].bed.plot, cells

    for (_plot, cells), run in itertools.groupby(range(len(outcome.beds)), told):
        here = list(run)
        name = map.run([outcome.beds[at].bed for at in here])
        yield Row(
            f"what-if-{number}-{here[0]}",
            (name, *cells),
            shows=row_id("bed", here[0]),
        )


def _change(change: BedChange, units: numbers.Units) -> tuple[str, ...]:
    light = numbers.compared_light(change.spring_light_percent / 100.0)
    hardly = abs(change.spring_light_percent) < what_if.LEAST_PERCENT
    return (
        numbers.night(*change.offset_c, units),
        what_if.depth_words(change, units) or _(map.AS_NOW),
        _(map.AS_NOW) if hardly else light,
    )


def _planting(change: BedChange) -> str:
    return what_if.days_words(change) or _(map.NEVER_WARM_ENOUGH)


def _is_wind_told(outcome: Outcome) -> bool:
    """Whether any wind is known whose share could change."""
    return any(not np.isnan(change.wind_share).all() for change in outcome.beds)


def station(plan: Plan) -> tuple[Table, ...]:
    """The station's own dates, counted and by theory; none where no dates are told."""
    dates, units = plan.dates, plan.site.settings.units
    if not dates.are_told:
        return ()
    rows = []
    for number, (crop, odds) in enumerate(zip(dates.crops, dates.station, strict=True)):
        counted, theory = (
            map.on_days([dates.season.date(day) for day in days])
            for days in (odds.counted, odds.by_theory)
        )
        cells = (counted[0], theory[0], counted[1], theory[1])
        limit = numbers.temperature(odds.limit_c, units)
        rows.append(Row(f"station-{number}", (crop.name, limit, *cells)))
    over = [
        map.over_years(risk, YEARS_TOLD, risk_over_years(risk, YEARS_TOLD))
        for risk in sorted(set(dates.risks))
    ]
    return (
        Table(
            "station",
            map.text("station"),
            translated(map.STATION_COLUMNS),
            tuple(rows),
            "",
            (map.text("station_note"), *over),
        ),
    )


def tunnel_light(plan: Plan) -> tuple[Table, ...]:
    """Light on the floor of each tunnel for eight ways it could point, and its own."""
    tables = []
    for number, (curve, place) in enumerate(
        zip(plan.tunnel_light, plan.tunnels, strict=True)
    ):
        ways = sorted({*(22.5 * step for step in range(8)), place.bearing_deg})
        rows = []
        for at, bearing_deg in enumerate(ways):
            low, central, high = (
                float(np.interp(bearing_deg, curve.bearing_deg, part, period=180.0))
                for part in (
                    curve.low_percent,
                    curve.central_percent,
                    curve.high_percent,
                )
            )
            mol = central / 100 * curve.open_mol_m2_day
            here = bearing_deg == place.bearing_deg
            rows.append(
                Row(
                    f"tunnel-light-{number}-{at}",
                    (
                        map.way(bearing_deg, is_planned=here),
                        map.light_share(low, central, high),
                        map.light_of_day(mol),
                    ),
                )
            )
        tables.append(
            Table(
                f"tunnel-light-{number}",
                map.tunnel_light(place.name),
                translated(map.LIGHT_COLUMNS),
                tuple(rows),
                "",
                (map.text("tunnel_light_note"),),
            )
        )
    return tuple(tables)
