"""Candidates side by side: several sites, the plots of one, or changes around it.

What is better or worse is marked only where it is known to be. Within one site the
draws are shared, so a difference is taken draw by draw and must go one way in nine
tenths of them and come to two days; between sites the told ranges must not overlap.
Light must differ by a twentieth, and so must areas. What has no range (wind, slope,
pockets, wet ground) is told and not marked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from fieldmap.analyse import wind
from fieldmap.decide.calendar import monte_carlo, soil_warming
from fieldmap.decide.ranking import FEWEST_DAYS, SAME_LIGHT
from fieldmap.errors import PlanError
from fieldmap.model.site import DRIES_FIRST, PUDDLES
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.model.site import Site
    from fieldmap.plan import Plan

    Floats = npt.NDArray[np.float64]

BETTER, WORSE, ALIKE = "better", "worse", ""
FIRST_DAY = later("{crop}: first day")
LAST_DAY = later("{crop}: last day")
SEASON = later("{crop}: days from the first to the last")
NOT_KNOWN = later("not known")
HOW_MARKED = later(
    "▲ better than some and ▼ worse than the best stand only where the difference is "
    "larger than what is not known: for dates within one site, nine tenths of the "
    "draws and two days or more; for dates of different sites, ranges that do not "
    "overlap; for light and area, a twentieth. All else is told and not marked."
)


@dataclass(frozen=True)
class Value:
    """One fact of one candidate.

    Attributes
    ----------
    text
        For people.
    low, central, high
        In the unit of the row; NaN where not known.
    mark
        "better" (none is known to be better, and it is better than some), "worse"
        (some are known to be better) or "".
    """

    text: str
    low: float
    central: float
    high: float
    mark: str = ALIKE


@dataclass(frozen=True)
class Row:
    """One fact of all candidates; `key` holds the unit of the numbers."""

    key: str
    name: str
    values: tuple[Value, ...]


@dataclass(frozen=True)
class Comparison:
    """All facts of all candidates, and what must be said of them."""

    names: tuple[str, ...]
    rows: tuple[Row, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class _Candidate:
    """A plan, and the beds and plots of it that count."""

    name: str
    plan: Plan
    plots: tuple[str, ...]

    @property
    def beds(self) -> list[int]:
        """Their numbers in the plan."""
        return [
            number
            for number, ranked in enumerate(self.plan.beds)
            if ranked.bed.plot in self.plots
        ]


def check(sites: Sequence[Site]) -> None:
    """Raise PlanError when there is one site with one plot: nothing to compare."""
    plots = list(sites[0].plots["name"])
    if len(sites) == 1 and len(plots) == 1:
        raise PlanError(
            _(
                "{site} has one plot, {plot}: there is nothing to compare; name a second "
                "site, or draw a second plot"
            ).format(site=sites[0].folder, plot=plots[0])
        )


def check_changes(site: Site) -> None:
    """Raise PlanError where no change around the place is thought of."""
    if not site.alternatives:
        raise PlanError(
            _(
                "{site}: site.toml asks about no change around the place; add a "
                "[[what_if]] to compare with it as it is"
            ).format(site=site.folder)
        )


def compare(plans: Sequence[Plan]) -> Comparison:
    """Set several sites side by side, or the plots of one."""
    return _compared(_candidates(plans), paired=len(plans) == 1)


def compare_changes(as_it_is: Plan, changed: Sequence[Plan]) -> Comparison:
    """Set a place as it is beside what each change around would make of it."""
    plots = tuple(as_it_is.site.plots["name"])
    names = [each.name for each in as_it_is.site.alternatives]
    candidates = [
        _Candidate(_("As it is"), as_it_is, plots),
        *(
            _Candidate(name, plan, plots)
            for name, plan in zip(names, changed, strict=True)
        ),
    ]
    # Tunnels and what is bought are those of the place as it is: no change is in them.
    return _compared(candidates, paired=True, planned=False)


def _compared(
    candidates: list[_Candidate], *, paired: bool, planned: bool = True
) -> Comparison:
    """All rows.

    Parameters
    ----------
    paired
        Whether the candidates share their draws.
    planned
        Whether each has tunnels and materials of its own.
    """
    plans = [one.plan for one in candidates]
    units = plans[0].site.settings.units
    same_sky = len({plan.analysis.light.sky for plan in plans}) == 1
    rows = [
        _area(candidates, units),
        *_dates(candidates, paired=paired),
        *_light(candidates, comparable=same_sky),
        *_told(candidates),
        _deepest(candidates, units),
        *(_tunnels(candidates, units) if planned else ()),
        *(_materials(candidates, units) if planned else ()),
    ]
    remarks = [_(HOW_MARKED)]
    if not any(row.key.startswith(("order", "hardy")) for row in rows):
        remarks.append(
            _("No dates stand here: they are not told for all, or not of one crop.")
        )
    if not same_sky:
        remarks.append(
            _(
                "Light is for a clear sky at some and a typical sky at others: not "
                "marked."
            )
        )
    return Comparison(
        tuple(one.name for one in candidates), tuple(rows), tuple(remarks)
    )


def _candidates(plans: Sequence[Plan]) -> list[_Candidate]:
    if len(plans) > 1:
        names = [plan.site.settings.name for plan in plans]
        return [
            _Candidate(
                name
                if names.count(name) == 1
                else f"{name} ({plan.site.folder.resolve().name})",
                plan,
                tuple(plan.site.plots["name"]),
            )
            for name, plan in zip(names, plans, strict=True)
        ]
    plots = list(plans[0].site.plots["name"])
    return [_Candidate(str(plot), plans[0], (plot,)) for plot in plots]


# ------------------------------------------------------------------ marks
def _marked(values: list[Value], beats: npt.NDArray[np.bool_]) -> tuple[Value, ...]:
    """Values with marks; `beats[i, j]` says that i is known to be better than j."""
    marks = [
        WORSE if beats[:, one].any() else BETTER if beats[one].any() else ALIKE
        for one in range(len(values))
    ]
    return tuple(
        Value(each.text, each.low, each.central, each.high, mark)
        for each, mark in zip(values, marks, strict=True)
    )


def beats_by_share(central: Floats) -> npt.NDArray[np.bool_]:
    """Whether more is known to be more, by a twentieth of the larger."""
    ours, theirs = central[:, np.newaxis], central[np.newaxis]
    return np.asarray(ours * (1 - SAME_LIGHT) > theirs)


def beats_apart(low: Floats, high: Floats) -> npt.NDArray[np.bool_]:
    """Whether all of a range lies above another."""
    return np.asarray(low[:, np.newaxis] > high[np.newaxis])


def beats_paired(days: Floats) -> npt.NDArray[np.bool_]:
    """Whether more days are known to be more, on (candidates, draws) that are shared."""
    with np.errstate(invalid="ignore"):
        more = days[:, np.newaxis] - days[np.newaxis]
    low, central, _high = monte_carlo.told(more)
    known = ~np.isnan(more).any(axis=-1)
    return np.asarray(known & (low >= 0) & (central >= FEWEST_DAYS))


# ------------------------------------------------------------------ rows
def _exact(number: float, text: str) -> Value:
    return Value(text, number, number, number)


def _area(candidates: list[_Candidate], units: quantities.Units) -> Row:
    areas = [
        sum(one.plan.beds[bed].bed.area_m2 for bed in one.beds) for one in candidates
    ]
    values = [_exact(area, quantities.area(area, units)) for area in areas]
    return Row(
        "growing_area_m2",
        _("Growing area in beds"),
        _marked(values, beats_by_share(np.array(areas))),
    )


def _dates(candidates: list[_Candidate], *, paired: bool) -> list[Row]:
    """Days of the stand-in crop by draws, then those of the first hardy crop."""
    rows = []
    first = candidates[0].plan.dates
    if not all(one.plan.dates.are_told and one.beds for one in candidates):
        return []
    if all(one.plan.dates.stand_in == first.stand_in for one in candidates):
        early = [_middle(one.plan.dates.early_draws[one.beds]) for one in candidates]
        late = [_middle(one.plan.dates.late_draws[one.beds]) for one in candidates]
        lasts = [b - a for a, b in zip(early, late, strict=True)]
        rows = [
            _by_draws(
                candidates,
                kind,
                _(name).format(crop=_(first.stand_in)),
                days,
                paired=paired,
            )
            for kind, name, days in (
                ("early", FIRST_DAY, early),
                ("late", LAST_DAY, late),
                ("season", SEASON, lasts),
            )
        ]
    hardy = next(
        (
            crop.name
            for crop in first.crops
            if crop.crop_class.value == "hardy" and crop.name != first.stand_in
        ),
        None,
    )
    names = [[crop.name for crop in one.plan.dates.crops] for one in candidates]
    if hardy is not None and all(hardy in here for here in names):
        told = [
            np.median(
                one.plan.dates.early[:, here.index(hardy), 0][:, one.beds], axis=1
            )
            for one, here in zip(candidates, names, strict=True)
        ]
        spans = np.array(told).T
        values = [
            _day(one, "early", *spans[:, number])
            for number, one in enumerate(candidates)
        ]
        rows.append(
            Row(
                "hardy_early_day",
                _(FIRST_DAY).format(crop=_(hardy)),
                _marked(values, beats_apart(-spans[2], -spans[0])),
            )
        )
    return rows


def _middle(days: Floats) -> Floats:
    """The middle bed, draw by draw."""
    with np.errstate(invalid="ignore"):
        return np.asarray(np.median(days, axis=0))


def _by_draws(
    candidates: list[_Candidate],
    kind: str,
    name: str,
    days: list[Floats],
    *,
    paired: bool,
) -> Row:
    spans = [monte_carlo.told(each) for each in days]
    values = [
        _day(one, kind, *(float(day) for day in span))
        for one, span in zip(candidates, spans, strict=True)
    ]
    sign = -1.0 if kind == "early" else 1.0
    if paired:
        beats = beats_paired(sign * np.array(days))
    else:
        ends = sign * np.array([[span[0], span[2]] for span in spans])
        beats = beats_apart(ends.min(axis=1), ends.max(axis=1))
    return Row(f"order_{kind}_days", name, _marked(values, beats))


def _day(one: _Candidate, kind: str, low: float, central: float, high: float) -> Value:
    if kind == "season":
        known = np.isfinite([low, central, high]).all()
        text = (
            _("{likely} ({low} to {high})").format(
                likely=f"{central:.0f}", low=f"{low:.0f}", high=f"{high:.0f}"
            )
            if known
            else _(NOT_KNOWN)
        )
        return Value(text, low, central, high)
    season = one.plan.dates.season
    on = season.early_date if kind == "early" else season.late_date
    told = [on(day) for day in (central, low, high)]
    shown = [_("none") if each is None else quantities.day(*each) for each in told]
    text = _("{likely} ({low} to {high})").format(
        likely=shown[0], low=shown[1], high=shown[2]
    )
    return Value(text, low, central, high)


def _light(candidates: list[_Candidate], *, comparable: bool) -> list[Row]:
    rows = []
    for key, name, north in (
        ("winter_light_mj_m2_day", _("Light in the darkest month (MJ/m² a day)"), 12),
        ("summer_light_mj_m2_day", _("Light in high summer (MJ/m² a day)"), 7),
    ):
        light = np.array(
            [
                _mean(
                    [
                        one.plan.beds[bed].sun_mj_m2_day[
                            one.plan.site.season.month_index(north)
                        ]
                        for bed in one.beds
                    ]
                )
                for one in candidates
            ]
        )
        values = [_exact(each, _number(each, "{:.1f}")) for each in light]
        beats = beats_by_share(light) & comparable
        rows.append(Row(key, name, _marked(values, beats)))
    return rows


def _mean(values: Sequence[float]) -> float:
    return float(np.mean(values)) if len(values) else float("nan")


def _number(value: float, form: str) -> str:
    return form.format(value) if np.isfinite(value) else _(NOT_KNOWN)


def _told(candidates: list[_Candidate]) -> list[Row]:
    """What has no range and so gets no marks."""
    facts = (
        ("pocket_percent", _("Bed ground in cold pockets"), _in_pockets),
        ("open_wind_percent", _("Share of the open prevailing wind"), _wind),
        ("slope_percent", _("Slope, middle of the beds"), _slope),
        ("wet_percent", _("Bed ground said to be wet in March"), _wet),
        ("water_percent", _("Bed ground where rain water gathers"), _water),
    )
    return [
        Row(
            key,
            name,
            tuple(
                _exact(value, _number(value, "{:.0f} %"))
                for value in map(fact, candidates)
            ),
        )
        for key, name, fact in facts
    ]


def _deepest(candidates: list[_Candidate], units: quantities.Units) -> Row:
    """Cold air of a still night over the bed on which it stands deepest."""
    values = []
    for one in candidates:
        beds = [one.plan.beds[bed].bed for bed in one.beds]
        if not one.plan.means.is_flow_known or not beds:
            values.append(_exact(float("nan"), _(NOT_KNOWN)))
            continue
        depth_m = one.plan.means.cold_air_m[list(one.beds)]
        at = int(np.argmax(depth_m))
        deepest = float(depth_m[at])
        told = quantities.height(round(deepest, 1), units)
        text = _("{depth} on {bed}").format(depth=told, bed=beds[at].name)
        values.append(_exact(deepest, text))
    return Row("cold_air_m", _("Deepest cold air on a still night"), tuple(values))


def _in_pockets(one: _Candidate) -> float:
    outlines = [one.plan.beds[bed].bed.outline for bed in one.beds]
    if not outlines:
        return float("nan")
    ground = shapely.union_all(outlines)
    cold = shapely.union_all(list(one.plan.cold_pockets.geometry))
    return float(100 * ground.intersection(cold).area / ground.area)


def _wind(one: _Candidate) -> float:
    if not one.beds:
        return float("nan")
    share = one.plan.means.wind_share[wind.WINDS.index("prevailing")]
    return 100 * _mean(share[list(one.beds)])


def _slope(one: _Candidate) -> float:
    slopes = [one.plan.beds[bed].slope_percent for bed in one.beds]
    return float(np.median(slopes)) if slopes else float("nan")


def _wet(one: _Candidate) -> float:
    """Share of bed ground that is told, or was seen, to be wet; NaN if nobody said."""
    site = one.plan.site
    plots = site.plots[site.plots["name"].isin(one.plots)]
    said = [isinstance(wet, bool | np.bool_) for wet in plots["wet_in_march"]]
    beds = [one.plan.beds[bed].bed for bed in one.beds]
    if not beds or not (any(said) or not site.seen(PUDDLES, DRIES_FIRST).is_empty):
        return float("nan")
    areas = np.array([bed.area_m2 for bed in beds])
    return float(100 * soil_warming.wet_in_march(site, beds) @ areas / areas.sum())


def _water(one: _Candidate) -> float:
    ranked = [one.plan.beds[bed] for bed in one.beds]
    areas = np.array([each.bed.area_m2 for each in ranked])
    shares = np.array([each.water_share for each in ranked])
    return float(100 * shares @ areas / areas.sum()) if len(areas) else float("nan")


def _tunnels(candidates: list[_Candidate], units: quantities.Units) -> list[Row]:
    places = [
        [place for place in one.plan.tunnels if place.plot in one.plots]
        for one in candidates
    ]
    areas = [sum(each.length_m * each.width_m for each in here) for here in places]
    return [
        Row(
            "tunnel_places",
            _("Places for walk-in tunnels"),
            tuple(_exact(len(here), str(len(here))) for here in places),
        ),
        Row(
            "tunnel_area_m2",
            _("Ground under them"),
            tuple(_exact(area, quantities.area(area, units)) for area in areas),
        ),
    ]


def _materials(candidates: list[_Candidate], units: quantities.Units) -> list[Row]:
    """What low tunnels take; and what is bought, where it is known site by site."""
    low = [
        [
            each
            for each in one.plan.materials.low_tunnels
            if each.bed in {one.plan.beds[bed].bed.name for bed in one.beds}
        ]
        for one in candidates
    ]
    hoops = [sum(each.hoops for each in here) for here in low]
    cover_m = [sum(each.cover_length_m for each in here) for here in low]
    rows = [
        Row(
            "hoops",
            _("Hoops for low tunnels"),
            tuple(_exact(count, str(count)) for count in hoops),
        ),
        Row(
            "cover_m",
            _("Cover for them"),
            tuple(
                _exact(each, quantities.length(round(each), units)) for each in cover_m
            ),
        ),
    ]
    if len({id(one.plan) for one in candidates}) == len(candidates):
        costs = [one.plan.materials.cost for one in candidates]
        rows.append(
            Row(
                "cost",
                _("Cost of what is bought"),
                tuple(
                    _exact(float("nan"), _("not known: prices are missing"))
                    if cost is None
                    else _exact(cost, f"{cost:,.0f}")
                    for cost in costs
                ),
            )
        )
    return rows
