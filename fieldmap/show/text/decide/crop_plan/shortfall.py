"""Why a crop plan falls short, and what it takes for granted, in sentences."""

from collections.abc import Sequence

from fieldmap.model.fact import Fact
from fieldmap.show.text import names
from fieldmap.show.text.decide.crop_plan.cover_use import cover_name
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say

MOST_NAMED = 8


def _short(fact: Fact, units: Units) -> str:
    crop = _(fact["crop"])
    if fact["for_autumn"]:
        crop = _("{crop} for autumn").format(crop=crop)
    return plural(
        "{crop}: {got} of {number} bed, since {why}.",
        "{crop}: {got} of {number} beds, since {why}.",
        fact["wanted"],
        crop=names.started(crop),
        got=f"{fact['got']}",
        why=say(fact["why"], units),
    )


def _only_under(text: str) -> Sentence:
    return lambda fact, _units: _(text).format(
        covers=names.either(list(dict.fromkeys(map(cover_name, fact["covers"]))))
    )


def _of_crops(text: str, *, starts: bool = False) -> Sentence:
    def sentence(fact: Fact, _units: Units) -> str:
        crops = names.listed([_(crop) for crop in fact["crops"]])
        return _(text).format(crops=names.started(crops) if starts else crops)

    return sentence


def _some(beds: Sequence[str]) -> str:
    if len(beds) <= MOST_NAMED:
        return names.listed(beds)
    return _("{beds} and {number} more").format(
        beds=", ".join(beds[:MOST_NAMED]), number=len(beds) - MOST_NAMED
    )


def _same_family(fact: Fact, _units: Units) -> str:
    return _(
        "{crop} stands on {beds} for all that {family} stood there last year: no "
        "other bed was free for it in its weeks."
    ).format(
        crop=names.started(_(fact["crop"])),
        beds=_some(fact["beds"]),
        family=fact["family"],
    )


def _follows_itself(fact: Fact, _units: Units) -> str:
    return _(
        "{after} follows {before} on {beds} within the year, both of one family; "
        "change beds if you can."
    ).format(
        after=names.started(_(fact["after"])),
        before=_(fact["before"]),
        beds=_some(fact["beds"]),
    )


def _unknown_beds(fact: Fact, _units: Units) -> str:
    beds = fact["beds"]
    said = (
        _(
            "{file} names {beds}, which is no bed of this plan: what stood there is "
            "left out."
        )
        if len(beds) == 1
        else _(
            "{file} names {beds}, which are no beds of this plan: what stood there "
            "is left out."
        )
    )
    return said.format(file=fact["file"], beds=_some(beds))


SENTENCES: dict[str, Sentence] = {
    "crop_short": _short,
    "no_cover_free": _only_under(
        later(
            "it ripens here only under {covers}, and no more of that is free and wide "
            "enough in its weeks"
        )
    ),
    "no_cover_or_hands_free": _only_under(
        later(
            "it ripens here only under {covers}, and no more of that is free and wide "
            "enough in its weeks or no more hands in the morning"
        )
    ),
    "too_few_days": lambda fact, _units: plural(
        "at most {number} day lies between its first and its last, and it wants more",
        "at most {number} days lie between its first and its last, and it wants more",
        fact["days"],
    ),
    "second_sowings": _of_crops(
        later(
            "A second sowing for autumn was thought of for {crops}, where beds and weeks "
            'allow; seasons = ["spring"] under [[crops]] leaves it out.'
        )
    ),
    "crops_share_beds": _of_crops(
        later(
            "{crops}: you did not say how many beds, so what the other crops leave was "
            "shared."
        ),
        starts=True,
    ),
    "same_family_again": _same_family,
    "families_unknown": _of_crops(
        later(
            "The family of {crops} is not known; beds that bore it last year are taken "
            "as free for any crop."
        )
    ),
    "family_follows_itself": _follows_itself,
    "beds_of_last_year_unknown": _unknown_beds,
}
