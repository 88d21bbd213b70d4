"""Sowings on the ground of a site: where each goes, the stays that come of it, and why not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from fieldmap.decide.calendar import shade_need
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.crop_plan import growing_windows
from fieldmap.decide.crop_plan.bed_classes import BedClass, LitBed
from fieldmap.decide.crop_plan.cover_stock import CoverStock
from fieldmap.decide.crop_plan.demand import Claim, claim
from fieldmap.decide.crop_plan.growing_windows import (
    WINTER,
    CropOnClass,
    OwnDays,
    ShadeCloth,
    UsualYear,
)
from fieldmap.decide.crop_plan.model import GrowingWindow, Stay
from fieldmap.decide.crop_plan.sowings import amounts, asked, windows
from fieldmap.decide.crop_plan.sowings.answer import FOUND, Answer
from fieldmap.decide.crop_plan.sowings.asked import SUCCESSION, Sowing
from fieldmap.decide.crop_plan.sowings.place import (
    NO_BED_FREE,
    NO_COVER_FREE,
    NO_COVER_OR_HANDS_FREE,
    Claims,
    Placed,
    place,
)
from fieldmap.decide.crop_plan.sowings.room import ROUNDING, Room
from fieldmap.model.settings import CropChoice


class Sown(NamedTuple):
    """All sowings that found room.

    Attributes
    ----------
    answers
        One for each sowing.
    rooms
        Beds that bear some of them, by their places.
    used
        Of each scarce thing, by week.
    """

    answers: tuple[Answer, ...]
    rooms: Mapping[int, Room]
    used: Mapping[str, Sequence[float]]

    @property
    def stays(self) -> tuple[Stay, ...]:
        """Of all sowings."""
        return tuple(stay for _, stays, _, _ in self.answers for stay in stays)


class Farm(NamedTuple):
    """What sowings are placed on.

    Attributes
    ----------
    wanted
        Crops, in the order of the dates.
    """

    beds: Sequence[LitBed]
    classes: Sequence[BedClass]
    dates: Dates
    year: UsualYear
    stock: CoverStock
    wanted: Sequence[CropChoice]

    def where(
        self,
        sowing: Sowing,
        number: int,
        own_days: OwnDays,
        cloth: ShadeCloth | None,
    ) -> CropOnClass:
        """A crop on a class of beds, with the covers of nights that it may have.

        Parameters
        ----------
        sowing
            The sowing, for its crop.
        number
            Place of the class of beds.
        own_days
            Day on which the crop starts -> days to its first harvest.
        cloth
            Shade cloth that may be used and its months; None for none.
        """
        here, covers = self.classes[number], self.wanted[sowing.number].covers
        nights = here.night_covers(self.dates.covers, covers)
        return CropOnClass(sowing.crop, sowing.number, here, own_days, nights, cloth)

    def claims(self) -> Mapping[Claim, Claims]:
        """Beds by what a crop may ask of tunnels.

        Leaves go inside where nothing is free outdoors for their weeks; where whole beds
        of what comes first are still to be shared out, they do not.
        """
        inside, outside = (
            sorted(at for e in self.classes if e.in_tunnel is within for at in e.beds)
            for within in (True, False)
        )
        # Whole beds are shared out once all sowings lie, so leaves would be in the tunnel first.
        waits = any(
            not asked.is_in_parts(choice) and claim(crop, choice) is Claim.FIRST
            for crop, choice in zip(self.dates.crops, self.wanted, strict=True)
        )
        return {
            Claim.FIRST: (inside, outside),
            Claim.AFTER: (outside,) if waits else (outside, inside),
            Claim.NONE: (outside,),
        }


def sow(wishes: Sequence[Sowing], farm: Farm, ways: Ways) -> Sown:
    """Each sowing on parts of beds, in the order in which they choose.

    Parameters
    ----------
    wishes
        Sowings, those that choose first in front.
    farm
        What they are placed on.
    ways
        Growing windows on the same farm, whatever length of its covers there is.
    """
    claims = farm.claims()
    found = place(
        wishes,
        ways.of,
        farm.beds,
        farm.classes,
        farm.stock,
        lambda sowing: claims[sowing.claim],
    )
    answers = tuple(
        _answer(
            sowing, [each for each in found.placed if each.sowing == at], farm, ways
        )
        for at, sowing in enumerate(wishes)
    )
    return Sown(answers, found.rooms, found.used)


class Ways:
    """Growing windows of sowings on a farm, each worked out once.

    They hang on the kinds of cover that are owned, and not on their length.
    """

    def __init__(self, farm: Farm) -> None:
        """Nothing is worked out yet."""
        self.farm = farm
        self._windows: dict[tuple[object, ...], list[GrowingWindow]] = {}
        self._where: dict[tuple[int, int], CropOnClass] = {}
        self._cloths: dict[tuple[int, bool, tuple[float, ...]], ShadeCloth | None] = {}
        self._hot: dict[int, windows.Bools] = {}
        self._hot_days: dict[int, tuple[float, ...]] = {}
        self._own_days: dict[int, OwnDays] = {}

    def where(self, sowing: Sowing, number: int) -> CropOnClass:
        """The crop of a sowing on a class of beds."""
        key = sowing.number, number
        if key not in self._where:
            if sowing.number not in self._own_days:
                own_days = growing_windows.own_days(sowing.crop, self.farm.year)
                self._own_days[sowing.number] = own_days
            days = self._own_days[sowing.number]
            cloth = self._cloth(sowing, number)
            self._where[key] = self.farm.where(sowing, number, days, cloth)
        return self._where[key]

    def _cloth(self, sowing: Sowing, number: int) -> ShadeCloth | None:
        """Shade cloth for its crop: of classes in the same light the same."""
        farm, here = self.farm, self.farm.classes[number]
        light = tuple(round(month, 1) for month in here.light_mj_m2_day)
        key = sowing.number, here.may_have_hoops, light
        if key not in self._cloths:
            self._cloths[key] = growing_windows.shade_cloth(
                sowing.crop,
                here,
                farm.year,
                farm.wanted[sowing.number].covers,
                farm.stock.kinds,
            )
        return self._cloths[key]

    def hot(self, sowing: Sowing) -> windows.Bools:
        """Weeks that are too hot for its crop."""
        if sowing.number not in self._hot:
            limit_c = sowing.crop.heat_limit_c.value
            found = windows.hot_weeks(self.farm.year, limit_c)
            self._hot[sowing.number] = found
        return self._hot[sowing.number]

    def hot_days(self, sowing: Sowing) -> tuple[float, ...]:
        """Days of each month that are too hot for its crop."""
        if sowing.number not in self._hot_days:
            limit_c = sowing.crop.heat_limit_c.value
            found = shade_need.hot_days(self.farm.year.tmax_c, limit_c)
            self._hot_days[sowing.number] = found
        return self._hot_days[sowing.number]

    def of(self, sowing: Sowing, number: int) -> list[GrowingWindow]:
        """Windows of a sowing on a class of beds, the best first."""
        key = sowing.number, sowing.season, sowing.picked, number
        if key not in self._windows:
            self._windows[key] = self._found(sowing, number)
        return self._windows[key]

    def _found(self, sowing: Sowing, number: int) -> list[GrowingWindow]:
        where = self.where(sowing, number)
        if sowing.season == SUCCESSION:
            found = windows.for_weeks(sowing, where, self.hot(sowing))
            # Cover is scarce and bare ground is not, so a bare window goes first.
            bare_first = sorted(found, key=lambda window: len(window.covers))
            hot = self.hot_days(sowing)
            return [
                each
                for window in bare_first
                for each in (
                    growing_windows.shaded(window, where, self.farm.year, hot),
                    window,
                )
                if each is not None
            ]
        # Asked for by size, it has no week to meet: the window that wins most days is best.
        made = growing_windows.WINDOWS[sowing.season](where)
        return sorted(made, key=lambda window: -window.days_by_cover)

    def why_not(self, sowing: Sowing) -> str:
        """Why it found no room: what keeps it from the beds that come nearest."""
        numbers = self._asked_of(sowing)
        ways = [window for number in numbers for window in self.of(sowing, number)]
        if any(not window.covers for window in ways):
            return NO_BED_FREE
        if ways:
            is_open = self.farm.stock.hands is None
            return NO_COVER_FREE if is_open else NO_COVER_OR_HANDS_FREE
        if sowing.season == WINTER:
            classes = [self.farm.classes[number] for number in numbers]
            return growing_windows.why_no_winter(sowing.crop, sowing.number, classes)
        if sowing.season != SUCCESSION:
            return windows.TOO_EARLY
        reasons = (
            windows.why_not(sowing, self.where(sowing, number), self.hot(sowing))
            for number in numbers
        )
        found = [why for why in reasons if why is not None]
        return min(found, key=windows.REASONS.index, default=NO_BED_FREE)

    def _asked_of(self, sowing: Sowing) -> list[int]:
        """Classes with beds on which it has a claim: a tunnel is not open to all."""
        beds = {at for claim in self.farm.claims()[sowing.claim] for at in claim}
        classes = enumerate(self.farm.classes)
        return [number for number, each in classes if not beds.isdisjoint(each.beds)]


def _answer(sowing: Sowing, placed: Sequence[Placed], farm: Farm, ways: Ways) -> Answer:
    stays = tuple(_stay(sowing, each, farm) for each in placed)
    share = sum(each.share for each in placed)
    return sowing, stays, share, None if share >= FOUND else ways.why_not(sowing)


def _stay(sowing: Sowing, placed: Placed, farm: Farm) -> Stay:
    bed = farm.beds[placed.bed].bed
    stood = next(each.families for each in farm.classes if placed.bed in each.beds)
    return Stay(
        bed=bed.name,
        crop=sowing.crop.name,
        days_by_place=0.0,
        family_of_last_year=sowing.family if sowing.family in stood else "",
        part=placed.part,
        picked=sowing.picked,
        amounts=amounts.of_length(
            sowing.crop, placed.rows, placed.part.length_m, sowing.losses
        ),
        **vars(placed.window),
    )


def whole(
    stays: Sequence[Stay],
    wanted: Sequence[CropChoice],
    dates: Dates,
    beds: Sequence[LitBed],
) -> tuple[Stay, ...]:
    """Stays with what goes into the ground and what may come of it.

    A part that is all of its bed is none.

    Parameters
    ----------
    stays
        Stays on whole beds and on parts of them.
    wanted
        What the grower wants of each crop, in the order of the dates: here its losses.
    dates
        Dates, for their crops.
    beds
        All beds, with their lengths and widths.
    """
    by_name = {bed.bed.name: bed.bed for bed in beds}
    crops = {
        crop.name: (crop, choice.losses_percent / 100)
        for crop, choice in zip(dates.crops, wanted, strict=True)
    }
    found = []
    for stay in stays:
        (crop, losses), bed = crops[stay.crop], by_name[stay.bed]
        if stay.part is not None:
            is_all = stay.part.length_m >= bed.length_m - ROUNDING
            found.append(replace(stay, part=None) if is_all else stay)
            continue
        rows = 1
        if crop.spacing is not None:
            rows = amounts.rows_on(bed.width_m, bed.path_within_m, crop.spacing.rows_m)
        of_bed = amounts.of_length(crop, rows, bed.length_m, losses)
        found.append(replace(stay, amounts=of_bed))
    return tuple(found)
