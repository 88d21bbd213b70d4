"""Wanted crops, beds and covers, fitted together for one year."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.decide.calendar import shade_need
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.crop_plan import (
    assign_beds,
    bed_classes,
    cover_use,
    growing_windows,
    milp,
    shortfall,
    sowings,
)
from fieldmap.decide.crop_plan.bed_classes import BedClass, FloorBed, LitBed
from fieldmap.decide.crop_plan.cover_stock import BedSizes, CoverStock, cover_stock
from fieldmap.decide.crop_plan.demand import (
    Candidates,
    Claim,
    Demand,
    Placement,
    demands,
)
from fieldmap.decide.crop_plan.growing_windows import (
    CropOnClass,
    ShadeCloth,
    UsualYear,
)
from fieldmap.decide.crop_plan.model import (
    CropPlan,
    GreenManure,
    GrowingWindow,
    Stay,
)
from fieldmap.decide.crop_plan.sowings import fallow, income
from fieldmap.decide.crop_plan.sowings.room import Room
from fieldmap.decide.materials import sheets
from fieldmap.decide.materials.hoop_ground import HoopGround
from fieldmap.decide.materials.sheets import Laid
from fieldmap.decide.ranking import RankedBed
from fieldmap.model.crops import Crop
from fieldmap.model.season_year import week_of
from fieldmap.model.settings import Settings
from fieldmap.model.site import Site, Stood

Whole = npt.NDArray[np.int64]

# What counts in the first place: a bed for a crop that is wanted, then one for a second
# sowing, then another family than last year's. None of them is given up for days.
PLACED, PLACED_AGAIN, SAME_FAMILY = 4.0, 1.0, -0.5
# What wants warmth until frost has the first claim on a bed inside a walk-in tunnel.
TUNNEL_CLAIM = 0.25
# Days may fall short of the best by this share, beds for crops never: a hundredth is
# less than the dates know, and the proof of the rest would take most of the time.
GAP = 0.01
# Times that beds are shared out anew until pieces of a kind reach over all that want it;
# then the kind is left out (a choice).
TRIES = 5
# A cover costs as many days on a metre of bed for each week, so that none lies longer
# than it helps; and among equals the beds that come first are taken (both a choice).
COVER_WEEK, LATER_BED = 1e-3, 1e-4
# A cover with its long side to the storm counts less by the days that are no real
# difference between beds, so beds along the storm are taken where they do as well.
ACROSS_STORM_DAYS = 2.0
# The crop that earns most on a metre counts as many days there more than one that earns
# nothing (a choice). Of crops for which there are too few beds it goes first.
MONEY_DAYS = 60.0
ROUNDING_M = 1e-6
Best = Callable[[milp.Allocation, float], Whole]


def make(
    site: Site,
    ranked: Sequence[RankedBed],
    dates: Dates,
    best: Best = milp.best,
    allows: HoopGround = bed_classes.ANYWHERE,
    floor: Sequence[FloorBed] = (),
) -> CropPlan:
    """What goes where; nothing, with the reason, where that is not known.

    Parameters
    ----------
    site
        The site: wanted crops, settings, weather record and what stood there last year.
    ranked
        Beds outdoors, in the order of the dates.
    dates
        Early and late dates of the beds outdoors, then of those inside tunnels.
    best
        How beds are shared out, see `milp.best`.
    allows
        On which beds no hoops may stand, and which lie across the storm wind.
    floor
        Beds inside walk-in tunnels, whose dates follow those of the others.
    """
    beds: tuple[LitBed, ...] = (*ranked, *floor)
    wanted, season = site.settings.crops, site.season
    tended = tended_beds(ranked, floor, site.settings.hands.tended_m)
    why = shortfall.why_empty(wanted, beds, dates, tended)
    if why is not None:
        return CropPlan(remarks=(why,), season=season)
    families = _families(site.last_year, beds)
    inside = {each.bed.name: each.inner_fabric for each in floor}
    classes = bed_classes.of_beds(beds, dates, families, allows, tended, inside)
    year = growing_windows.usual_year(site.weather.days, season)
    farm = _farm(beds, classes, dates, year, site.settings)
    stock = farm.stock
    asked, ways = sowings.sowings(wanted, dates.crops, season), sowings.Ways(farm)
    # Sowings for weeks have one time each, so they choose before whole beds do.
    sown = _sown_under_pieces(asked, farm, ways)
    apart = farm._replace(classes=_apart(farm.classes, sown.rooms))
    earned = income.earned_per_metre(wanted, dates.crops, site.settings.beds)
    wishes = demands(wanted, dates.crops, income.shares(earned))
    candidates = _candidates(wishes, apart, sown.rooms, site.summer_month)
    counts, stays, laid = _under_pieces(candidates, stock, best, beds, sown)
    unlimited = _in_any_length(candidates, farm, asked, ways, best)
    lengths_m = {bed.bed.name: bed.bed.length_m for bed in beds}
    more = _laid(unlimited, stock, beds)
    grass = shortfall.in_grass(beds, tended, stays)
    green = _green(stays, grass.outdoors, dates.crops, year, site.weather.days)
    return CropPlan(
        stays=sowings.whole(stays, wanted, dates, beds),
        covers=cover_use.usage(stays, laid, unlimited, more, lengths_m, stock),
        sheets=laid.sheets,
        floor=tuple(each.bed for each in floor),
        minutes=cover_use.minutes(stays, lengths_m, stock, inside),
        hands_minutes=stock.hands,
        harvests=tuple(sowings.harvests(wanted, sown.answers, season)),
        short=(
            *sowings.short(sown.answers, season),
            *sowings.bears_late(sown.answers, season),
            *shortfall.short(counts, candidates, stock.hands),
        ),
        remarks=(
            *shortfall.assumptions(candidates, wanted, asked),
            *income.remarks(wanted, earned),
            *shortfall.families(stays, dates.crops, site.last_year),
            *shortfall.inside(floor, stays, season),
            *shortfall.about_grass(beds, grass),
            *shortfall.in_winter(grass.outdoors, stays, green),
        ),
        green=green,
        untended=grass.names,
        season=season,
    )


def _in_any_length(
    candidates: Candidates,
    farm: sowings.Farm,
    asked: Sequence[sowings.Sowing],
    ways: sowings.Ways,
    best: Best,
) -> tuple[Stay, ...]:
    """What would go where if every cover were there in any length.

    Whole beds and parts of beds each for themselves, as it is asked for metres alone.
    """
    any_length = farm._replace(stock=farm.stock.unlimited())
    free = _stays(_counts(candidates, any_length.stock, best), candidates, farm.beds)
    return _with_sown(free, sowings.sow(asked, any_length, ways).stays, farm.beds)


def _farm(
    beds: Sequence[LitBed],
    classes: Sequence[BedClass],
    dates: Dates,
    year: UsualYear,
    choices: Settings,
) -> sowings.Farm:
    """What sowings are placed on, and the covers that are owned."""
    sizes = BedSizes(
        [each.width_m for each in classes],
        max(each.length_m for each in classes),
        choices.beds.path_m,
    )
    stock = cover_stock(choices, sizes, year.tmax_c, year.season)
    return sowings.Farm(beds, classes, dates, year, stock, choices.crops)


def tended_beds(
    beds: Sequence[RankedBed], floor: Sequence[FloorBed], most_m: float | None
) -> frozenset[int] | None:
    """Places of the beds that hands are enough for; None where nothing limits them.

    Those inside tunnels first; then plot by plot, the one with the earliest bed first,
    and from the gate on in each.

    Parameters
    ----------
    beds
        Beds outdoors, with their place in the early order.
    floor
        Beds inside walk-in tunnels, which are tended in any case.
    most_m
        Length of bed that hands are enough for; None where nothing limits them.

    Returns
    -------
    places
        Of beds outdoors, then of those inside, in one list.
    """
    if most_m is None:
        return None
    most_m -= sum(each.bed.length_m for each in floor)
    first: dict[str, int] = {}
    for each in beds:
        rank = each.ranks.early
        first[each.bed.plot] = min(first.get(each.bed.plot, rank), rank)
    found, left_m = [], most_m
    # Sorting keeps the order of a plot, which is from its gate on.
    for at in sorted(range(len(beds)), key=lambda at: first[beds[at].bed.plot]):
        if beds[at].bed.length_m <= left_m + ROUNDING_M:
            found.append(at)
            left_m -= beds[at].bed.length_m
    return frozenset([*found, *range(len(beds), len(beds) + len(floor))])


def _green(
    stays: Sequence[Stay],
    beds: Sequence[LitBed],
    crops: Sequence[Crop],
    year: UsualYear,
    days: pd.DataFrame,
) -> tuple[GreenManure, ...]:
    """What is sown for the soil of beds outdoors that do not lie in grass."""
    season = fallow.season_of(year, days)
    families = {crop.name: crop.family.value for crop in crops if crop.family}
    by_bed: dict[str, list[Stay]] = {}
    for stay in stays:
        by_bed.setdefault(stay.bed, []).append(stay)
    return tuple(
        green
        for each in beds
        for green in fallow.of_bed(
            each.bed.name,
            each.bed.length_m,
            by_bed.get(each.bed.name, ()),
            families,
            season,
        )
    )


def _apart(classes: Sequence[BedClass], rooms: Mapping[int, Room]) -> list[BedClass]:
    """Classes in which each bed that bears sowings on parts of it stands alone."""
    left = [
        each._replace(beds=tuple(at for at in each.beds if at not in rooms))
        for each in classes
    ]
    alone = [
        each._replace(beds=(at,), length_m=rooms[at].length_m)
        for each in classes
        for at in each.beds
        if at in rooms
    ]
    return [*(each for each in left if each.beds), *alone]


def _with_sown(
    stays: Sequence[Stay], sown: Sequence[Stay], beds: Sequence[LitBed]
) -> tuple[Stay, ...]:
    """By bed, then by day, then from the gate end on."""
    place = {bed.bed.name: at for at, bed in enumerate(beds)}
    return tuple(
        sorted(
            (*stays, *sown),
            key=lambda stay: (
                place[stay.bed],
                stay.from_day,
                0.0 if stay.part is None else stay.part.start_m,
            ),
        )
    )


def _families(
    last_year: Sequence[Stood], beds: Sequence[LitBed]
) -> dict[str, frozenset[str]]:
    """Families of last year by the name of the bed, however the file writes it."""
    stood: dict[str, set[str]] = {}
    for each in last_year:
        if each.family is not None:
            stood.setdefault(each.bed.casefold(), set()).add(each.family)
    return {
        bed.bed.name: frozenset(stood.get(bed.bed.name.casefold(), ())) for bed in beds
    }


# ------------------------------------------------------------------ what may be chosen
def _candidates(
    wishes: Sequence[Demand],
    farm: sowings.Farm,
    rooms: Mapping[int, Room],
    summer_month: int,
) -> Candidates:
    """Every way to meet every demand, and those that sowings on parts leave none to."""
    found = tuple(_placements(wishes, farm, rooms, summer_month))
    placed = {each.demand for each in found}
    lacking = [at for at in range(len(wishes)) if at not in placed and rooms]
    alone = _placements([wishes[at] for at in lacking], farm, {}, summer_month)
    crowded = frozenset(lacking[each.demand] for each in alone)
    return Candidates(farm.classes, wishes, found, crowded)


def _placements(
    wishes: Sequence[Demand],
    farm: sowings.Farm,
    rooms: Mapping[int, Room],
    summer_month: int,
) -> Iterator[Placement]:
    """Every way to meet every demand, with what the place is worth for it.

    Parameters
    ----------
    rooms
        Beds that bear sowings on parts of them: whole beds in the weeks that are left.
    """
    year, classes = farm.year, farm.classes
    for at, demand in enumerate(wishes):
        covers = farm.wanted[demand.number].covers
        hot = shade_need.hot_days(year.tmax_c, demand.crop.heat_limit_c.value)
        own_days = growing_windows.own_days(demand.crop, year)
        cloths: dict[tuple[bool, float], ShadeCloth | None] = {}
        found: list[tuple[int, GrowingWindow, float]] = []
        for number, here in enumerate(classes):
            if not demand.may_have(here):
                continue
            # Alike in what cloth hangs on: asked once, and not for each class.
            key = here.may_have_hoops, round(here.light_mj_m2_day[summer_month], 1)
            if key not in cloths:
                cloths[key] = growing_windows.shade_cloth(
                    demand.crop, here, year, covers, farm.stock.kinds
                )
            where = CropOnClass(
                demand.crop,
                demand.number,
                here,
                own_days,
                here.night_covers(farm.dates.covers, covers),
                cloths[key],
            )
            days = where.bare_days(demand.season)
            for window in _windows(demand.season, where, year, hot):
                if _is_free(window, demand, rooms.get(here.beds[0])):
                    lost = growing_windows.lost_to_light(window, where, year, hot)
                    found.append((number, window, days - lost))
        # Against the worst, so that no crop counts more for having long seasons.
        least = min((worth for _, _, worth in found), default=0.0)
        for number, window, worth in found:
            here = classes[number]
            same = _stood_last_year(window, demand, here, rooms.get(here.beds[0]))
            yield Placement(
                at, number, window, worth - least, demand.family if same else ""
            )


def _is_free(window: GrowingWindow, demand: Demand, room: Room | None) -> bool:
    return room is None or room.takes_whole(window.held, demand.family)


def _stood_last_year(
    window: GrowingWindow, demand: Demand, here: BedClass, room: Room | None
) -> bool:
    """Whether its family stood there last year, and nothing did since."""
    if room is None:
        return demand.family in here.families
    return room.follows_last_year(room.whole, window.held, demand.family)


def _windows(
    season: str, where: CropOnClass, year: UsualYear, hot: Sequence[float]
) -> Iterator[GrowingWindow]:
    for window in growing_windows.WINDOWS[season](where):
        yield window
        under = growing_windows.shaded(window, where, year, hot)
        if under is not None:
            yield under


# ------------------------------------------------------------------ what is chosen
def _counts(
    candidates: Candidates,
    stock: CoverStock,
    best: Best,
    used: Mapping[str, Sequence[float]] | None = None,
) -> Whole:
    """Beds that take each placement, beside what is used already."""
    if not candidates.classes:
        return np.zeros(0, np.int64)
    limits = stock.limits()
    usual_m = float(np.mean([each.length_m for each in candidates.classes]))
    options, places = [], []
    for place, placement in enumerate(candidates.placements):
        option = _option(placement, candidates, stock, usual_m)
        # What one bed alone asks too much for needs no column in the search.
        if all(use.amount <= limits.get(use.of, np.inf) for use in option.uses):
            places.append(place)
            options.append(option)
    counts = np.zeros(len(candidates.placements), np.int64)
    asked = milp.Allocation(
        options,
        [len(each.beds) for each in candidates.classes],
        [demand.beds for demand in candidates.demands],
        limits,
        used or {},
    )
    counts[places] = best(asked, GAP)
    if not assign_beds.keeps_beds(counts, candidates):
        counts[places] = best(replace(asked, is_closed=True), GAP)
    return counts


def _sown_under_pieces(
    asked: Sequence[sowings.Sowing], farm: sowings.Farm, ways: sowings.Ways
) -> sowings.Sown:
    """Sowings on parts of beds, so that a piece is there for every cover."""
    tries = Counter[str]()
    while True:
        sown = sowings.sow(asked, farm, ways)
        laid = _laid(sown.stays, farm.stock, farm.beds)
        if not laid.left:
            return sown
        farm = farm._replace(stock=_with_less(farm.stock, laid, tries, farm.beds))


def _under_pieces(
    candidates: Candidates,
    stock: CoverStock,
    best: Best,
    beds: Sequence[LitBed],
    sown: sowings.Sown,
) -> tuple[Whole, tuple[Stay, ...], Laid]:
    """Beds that take each placement, so that a piece is there for every cover.

    The solver counts metres. Where pieces as they are owned do not reach over the beds
    that it names, it is asked again with the length that they did reach over.
    """
    tries = Counter[str]()
    while True:
        counts = _counts(candidates, stock, best, sown.used)
        stays = _with_sown(_stays(counts, candidates, beds), sown.stays, beds)
        laid = _laid(stays, stock, beds)
        if not laid.left:
            return counts, stays, laid
        stock = _with_less(stock, laid, tries, beds)


def _with_less(
    stock: CoverStock, laid: Laid, tries: Counter[str], beds: Sequence[LitBed]
) -> CoverStock:
    """A stock that promises no more than its pieces did reach over."""
    for kind in dict.fromkeys(each.kind for each in laid.left):
        tries[kind] += 1
        fits_m = cover_use.reached_m(kind, laid, [each.bed for each in beds])
        stock = stock.at_most(kind, fits_m if tries[kind] < TRIES else 0.0)
    return stock


def _laid(stays: Sequence[Stay], stock: CoverStock, beds: Sequence[LitBed]) -> Laid:
    """Owned pieces over the beds of stays."""
    sizes = {
        each.bed.name: (at, each.bed.length_m, each.bed.width_m)
        for at, each in enumerate(beds)
    }
    wanted = cover_use.covered(stays, sizes)
    # Where every piece is cut for its bed it does not matter which beds are neighbours.
    keeps_whole = any(not piece.may_cut for piece in stock.covers)
    paths_m = (
        sheets.paths_between([each.bed for each in beds])
        if keeps_whole
        else (None,) * len(beds)
    )
    return sheets.lay(wanted, paths_m, stock.covers, stock.hoops)


def _option(
    placement: Placement, candidates: Candidates, stock: CoverStock, usual_m: float
) -> milp.Option:
    """A placement as the solver sees it."""
    here, window = candidates.classes[placement.bed_class], placement.window
    demand = candidates.demands[placement.demand]
    weeks = sum(
        week_of(use.to_day) - week_of(use.from_day) + 1 for use in window.covers
    )
    in_storm = ACROSS_STORM_DAYS if weeks and here.across_storm else 0.0
    return milp.Option(
        bed_class=placement.bed_class,
        demand=placement.demand,
        weeks=window.held,
        first=(PLACED_AGAIN if demand.is_again else PLACED)
        + (SAME_FAMILY if placement.same_family else 0.0)
        + (TUNNEL_CLAIM if here.in_tunnel and demand.claim is Claim.FIRST else 0.0),
        then=(window.days_by_cover - COVER_WEEK * weeks - in_storm) * here.length_m
        + MONEY_DAYS * demand.earns * here.length_m
        + (placement.place_days - LATER_BED * placement.bed_class) * usual_m,
        uses=tuple(
            stock.uses(
                window.covers, here.length_m, here.width_m, inside=here.in_tunnel
            )
        ),
    )


# ------------------------------------------------------------------ on beds
def _stays(
    counts: Whole, candidates: Candidates, beds: Sequence[LitBed]
) -> tuple[Stay, ...]:
    """Stays on single beds, in the order of the beds and of their days."""
    placed = assign_beds.beds(counts, candidates)
    order = sorted(placed, key=lambda each: (each[0], each[1].window.from_day))
    return tuple(
        Stay(
            bed=beds[bed].bed.name,
            crop=candidates.demands[placement.demand].crop.name,
            days_by_place=placement.place_days,
            family_of_last_year=placement.same_family,
            **vars(placement.window),
        )
        for bed, placement in order
    )
