"""What was asked for by metres, plants or weeks, and what came of it."""

import itertools
from collections.abc import Iterator, Sequence

from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.decide.crop_plan.model import Stay
from fieldmap.decide.crop_plan.sowings.asked import Sowing, harvest_span
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, SeasonYear
from fieldmap.model.settings import CropChoice

FOUND = 1 - 1e-6

# A sowing, the stays that come of it, the share that found room, and why not all did.
Answer = tuple[Sowing, Sequence[Stay], float, str | None]


def harvests(
    wanted: Sequence[CropChoice], answers: Sequence[Answer], season: SeasonYear
) -> Iterator[Fact]:
    """The sowings of each crop that is asked for by metres, plants or weeks.

    Parameters
    ----------
    wanted
        What the grower wants of each crop, in the order by which sowings count them.
    answers
        Each sowing with what came of it; of a crop without stays nothing is said.
    season
        The year of growing, in which days are numbered.
    """
    for number, choice in enumerate(wanted):
        stays = [
            stay
            for sowing, found, _, _ in answers
            if sowing.number == number
            for stay in found
        ]
        if not stays:
            continue
        # A sowing that lies on several beds, or in several parts, is one.
        sown = len({(stay.from_day, stay.picked) for stay in stays})
        length_m = sum(stay.part.length_m for stay in stays if stay.part is not None)
        seeds = [stay.amounts.seeds for stay in stays if stay.amounts is not None]
        values = {
            "crop": stays[0].crop,
            "number": sown,
            "length_m": length_m,
            "begins": season.month_day(min(stay.from_day for stay in stays)),
            "ends": season.month_day(max(stay.from_day for stay in stays)),
            "plants": sum(stay.amounts.plants for stay in stays if stay.amounts),
            "seeds": sum(each for each in seeds if each is not None),
            "losses": round(choice.losses_percent),
        }
        if choice.harvest is None:
            yield Fact("sown_by_size", **values)
            continue
        first, last = harvest_span(choice, season)
        yield Fact(
            f"sown_for_{choice.harvest.unit}",
            **values,
            amount_kg=choice.harvest.amount,
            heads=round(choice.harvest.amount),
            first=season.month_day_of_any_year(first),
            last=season.month_day_of_any_year(last),
        )


def short(answers: Sequence[Answer], season: SeasonYear) -> Iterator[Fact]:
    """Weeks, and shares of an amount, for which there is no sowing, and why."""
    lacking = [each for each in answers if each[2] < FOUND]
    for sowing, _, share, why in lacking:
        if sowing.picked is None and not (sowing.is_again and share == 0):
            crop: object = sowing.crop.name
            if sowing.season == AUTUMN:
                crop = Fact("crop_for_autumn", crop=crop)
            kind = f"{why}_for_part"
            yield Fact("part_short", crop=crop, got=round(100 * share), why=Fact(kind))
    # Of one crop and one reason, so that weeks in a row are said as one span.
    weekly = [each for each in lacking if each[0].picked is not None]
    weekly.sort(key=lambda each: each[0].number)
    for (_, why), same in itertools.groupby(
        weekly, lambda each: (each[0].number, each[3])
    ):
        for run in _runs([each[0] for each in same]):
            first, last = _picked(run[0])[0], _picked(run[-1])[1]
            yield Fact(
                "weeks_short",
                crop=run[0].crop.name,
                first=season.month_day_of_any_year(first),
                last=season.month_day_of_any_year(last),
                why=Fact(f"{why}_then"),
            )


def _picked(sowing: Sowing) -> tuple[int, int]:
    assert sowing.picked is not None
    return sowing.picked


def _runs(sowings: Sequence[Sowing]) -> Iterator[list[Sowing]]:
    """Sowings whose weeks follow each other."""
    run: list[Sowing] = []
    for sowing in sowings:
        if run and _picked(sowing)[0] != _picked(run[-1])[1] + 1:
            yield run
            run = []
        run.append(sowing)
    if run:
        yield run


def bears_late(answers: Sequence[Answer], season: SeasonYear) -> Iterator[Fact]:
    """Crops that bear until frost, and begin or end within the days that are wanted."""
    for sowing, stays, _, _ in answers:
        if sowing.a_week is None or not stays:
            continue
        first, last = _picked(sowing)
        begins = min(stay.harvest_day for stay in stays)
        ends = max(stay.to_day for stay in stays)
        if begins >= first + 7 or ends <= min(last, DAYS) - 7:
            yield Fact(
                "bears_for_part",
                crop=sowing.crop.name,
                first=season.month_day(begins),
                last=season.month_day(ends),
            )
