"""Crops: what cold, soil, light and heat they stand, each value with its source."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from fieldmap.errors import Problem, problem
from fieldmap.model.estimate import Estimate
from fieldmap.model.settings import Choices, CropClass, Listed

# Leaves near the ground run colder than the screen on a clear calm night (a range of
# 2-4 °C is common; 2 and 0-4 are taken: common practice, no source).
PLANT_BELOW_SCREEN_C = Estimate(0.0, 2.0, 4.0)

# For each class the crop whose limits stand in for it when no crop is named: those whose
# frost limit is that of most crops of the class, and that are sown as well as set out
# where the class is, so that a date can be given for either way. The hardiest (spinach)
# would promise too much for a whole class, the softest (potato leaves) nothing.
STAND_INS: Mapping[CropClass, str] = {
    "hardy": "kale",
    "half_hardy": "cabbage",
    "tender": "tomato",
    "warm_loving": "cucumber",
}
CLASS_NAMES: Mapping[CropClass, str] = {
    "hardy": "hardy crops",
    "half_hardy": "half-hardy crops",
    "tender": "tender crops",
    "warm_loving": "warm-loving crops",
}

# Weeks from seed to setting out of crops that do not say (common practice, no source).
TRAY_WEEKS_OF_CLASS: Mapping[CropClass, float] = {
    "hardy": 5,
    "half_hardy": 6,
    "tender": 6,
    "warm_loving": 4,
}

# Days from the first harvest to the last of crops that do not say; None: it bears until
# frost (common practice, no source).
READY_DAYS_OF_CLASS: Mapping[CropClass, int | None] = {
    "hardy": 21,
    "half_hardy": 21,
    "tender": None,
    "warm_loving": None,
}

Text = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=400)
]
Celsius = Annotated[float, Field(ge=-30, le=45, allow_inf_nan=False)]


class Sourced(Choices):
    """Where a value comes from: a named work, "common practice" or "from memory"."""

    source: Text
    note: Text | None = None


class ClassValue(Sourced):
    """How much cold a crop stands, in four classes."""

    value: CropClass


class Family(Sourced):
    """A botanical family."""

    value: Text


class Temperature(Sourced):
    """A temperature [°C]."""

    value: Celsius


class DamageTemperature(Sourced):
    """A temperature that does damage [°C], as its source gives it.

    Attributes
    ----------
    at
        Where it is felt: by the plant, or at the screen of a weather station.
    """

    value: Celsius
    at: Literal["plant", "screen"]

    @property
    def screen_c(self) -> Estimate:
        """The same at the screen on a clear calm night [°C].

        High is the safest to plan with. The one place where what lies between plant and
        screen is added.
        """
        if self.at == "screen":
            return Estimate(self.value, self.value, self.value)
        return PLANT_BELOW_SCREEN_C.map(lambda colder: self.value + colder)


class LateDamage(DamageTemperature):
    """What ends a crop in autumn, where that is not the damage to its leaves.

    Attributes
    ----------
    of
        What stands there then: a plant whose harvest is lost before its leaves are, a
        root in the soil, or a plant that cold has hardened for the winter.
    """

    of: Literal["bearing plant", "root", "overwintered plant"]


class Emergence(Sourced):
    """Days from sowing until seedlings are seen, at temperatures of the soil.

    Attributes
    ----------
    at_c
        Rising temperatures of the soil [°C].
    days
        At each of them.
    """

    at_c: Annotated[Listed[Celsius], Field(min_length=2, max_length=9)]
    days: Annotated[
        Listed[Annotated[float, Field(gt=0, le=400)]], Field(min_length=2, max_length=9)
    ]

    def faults(self) -> Iterator[Problem]:
        """One number of days for each temperature, and temperatures rise."""
        if len(self.at_c) != len(self.days):
            yield problem(
                "at_c has {temperatures} numbers and days has {days}; give the same number"
                " of both",
                temperatures=len(self.at_c),
                days=len(self.days),
            )
        if list(self.at_c) != sorted(set(self.at_c)):
            yield problem("at_c must rise from one temperature to the next")


class Spacing(Sourced):
    """How far apart it stands [m].

    Attributes
    ----------
    in_row_m, rows_m
        From plant to plant in the row, once thinned; from row to row.
    """

    in_row_m: Annotated[float, Field(ge=0.005, le=5)]
    rows_m: Annotated[float, Field(ge=0.05, le=5)]

    @property
    def plants_per_m(self) -> float:
        """Plants that stand on a metre of row."""
        return 1 / self.in_row_m


class Amount(Sourced):
    """A number of weeks, or of seeds on a metre of row."""

    value: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]


class Ready(Sourced):
    """Days from the first harvest to the last.

    Attributes
    ----------
    picked
        All of it at once, whenever in these days; or bit by bit all through them.
    """

    value: Annotated[float, Field(ge=1, le=300, allow_inf_nan=False)]
    picked: Literal["once", "repeatedly"]


class SoldBy(Sourced):
    """What a harvest is counted in: a head is one plant."""

    value: Literal["head", "kg"]


class Share(Sourced):
    """A share of the growth of a crop, 0-1."""

    value: Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


class ColdCheck(Sourced):
    """What cold above freezing does to young plants."""

    value: Literal["bolts", "buttons", "chills"]


class Span(Sourced):
    """A range whose ends may be equal."""

    low: Annotated[float, Field(ge=0, le=5000, allow_inf_nan=False)]
    high: Annotated[float, Field(ge=0, le=5000, allow_inf_nan=False)]

    def faults(self) -> Iterator[Problem]:
        """Its ends are in order."""
        if self.low > self.high:
            yield problem("low is {low:g} and more than high, {high:g}", **dict(self))


class Yield(Span):
    """What a metre of row usually bears in a season [kg], from poor to good."""

    high: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]


class Light(Span):
    """Daily light integral [mol/m² a day]."""

    high: Annotated[float, Field(gt=0, le=70, allow_inf_nan=False)]


class Shade(Span):
    """Share of the light that a cloth should take [%]; 0 to 0 is none.

    Attributes
    ----------
    stage
        The only part of its time on the bed in which it wants that: until it is up, while
        it is young, or once fruit has set; None: all of it.
    """

    high: Annotated[float, Field(ge=0, le=80, allow_inf_nan=False)]
    stage: Literal["until_up", "young", "fruiting"] | None = None


class Growth(Span):
    """Days, or degree days [°C d] above `base_c`, until the first harvest."""

    low: Annotated[float, Field(ge=10, le=5000, allow_inf_nan=False)]
    counted_from: Literal["sowing", "setting_out"]


class LeastLight(Sourced):
    """Daily light integral under which a crop hardly grows [mol/m² a day]."""

    value: Annotated[float, Field(gt=0, le=40, allow_inf_nan=False)]


# Leaves hardly grow under 5 to 6 mol/m² a day, fruit hardly sets and ripens under about
# twice that (both from memory); the upper figure of leaves is kept.
LEAST_LIGHT_MOL = {"hardy": 6.0, "half_hardy": 6.0, "tender": 12.0, "warm_loving": 12.0}


# Tubers, cloves and sets are laid by hand one by one, where others are sown or set out.
PLANTED = frozenset({"potato", "garlic", "onion sets", "winter onion"})


def is_planted(name: str) -> bool:
    """Whether a crop is laid piece by piece, by the name that the grower gave it.

    Examples
    --------
    >>> is_planted("Potatoes"), is_planted("carrot")
    (True, False)
    """
    return packaged_name(name) in PLANTED


def packaged_name(name: str) -> str:
    """The name of a crop in crops.toml, by any of its names; a crop of the grower's own as it is.

    Examples
    --------
    >>> packaged_name("Beetroot"), packaged_name("chicory")
    ('beet', 'chicory')
    """
    return _packaged_names().get(name.casefold(), name)


@cache
def _packaged_names() -> Mapping[str, str]:
    text = resources.files(__package__).joinpath("crops.toml").read_text("utf-8")
    return {
        each.casefold(): name
        for name, table in tomllib.loads(text).items()
        for each in (name, *table.get("also", ()))
    }


class Crop(Choices):
    """What one crop stands and needs.

    Attributes
    ----------
    also
        Other names it goes by.
    damage_c
        Of plants that were hardened before they were set out, and of grown plants, as
        the source gives it; plan with its `screen_c`.
    seedling_c, soft_c
        Of seedlings as they come up, and of plants that were not hardened; None where
        they are taken to stand as much.
    first_flower
        Of a crop whose `damage_c` is that of its flowers: the least share of its growth
        from sowing to the first harvest after which these may open. Until then its leaves
        stand what seedlings do. None where `damage_c` is that of its leaves.
    late_c
        What ends it in autumn; None where damage to its leaves does.
    emergence
        None where frost is judged on the day of sowing.
    sow_soil_c
        Lowest soil temperature to sow, or to plant sets and tubers; None where it is
        always set out.
    set_out_soil_c, set_out_night_c
        Lowest soil temperature, and lowest mean of the night minima at the screen, at
        which plants are set out; None where there is no such limit.
    autumn_soil_c
        Of a crop that is planted in autumn for the year after: highest temperature of
        the soil then.
    bears_night_c
        Mean of the night minima under which a crop that bears until frost slackens.
    tray_weeks
        From seed to setting out; None for those of its class.
    base_c
        Below it, nothing grows.
    least_light_mol
        Where it is not that of its class.
    heat_limit_c
        Days with a higher maximum do harm.
    spacing, seeds_per_m, yield_kg_m
        How far apart it stands, seeds sown on a metre of row, and what that bears.
    ready_days
        None for those of its class, see `harvest_days`.
    sold_by
        None where it is sold by weight.
    """

    name: Text
    also: Listed[Text] = ()
    crop_class: Annotated[ClassValue, Field(alias="class")]
    family: Family | None = None
    damage_c: DamageTemperature
    seedling_c: DamageTemperature | None = None
    soft_c: DamageTemperature | None = None
    first_flower: Share | None = None
    late_c: LateDamage | None = None
    emergence: Emergence | None = None
    sow_soil_c: Temperature | None = None
    set_out_soil_c: Temperature | None = None
    set_out_night_c: Temperature | None = None
    autumn_soil_c: Temperature | None = None
    bears_night_c: Temperature | None = None
    tray_weeks: Amount | None = None
    cold_check: ColdCheck | None = None
    base_c: Temperature
    degree_days: Growth | None = None
    days_to_maturity: Growth | None = None
    best_light_mol: Light
    least_light_mol: LeastLight | None = None
    heat_limit_c: Temperature
    shade_percent: Shade
    spacing: Spacing | None = None
    seeds_per_m: Amount | None = None
    yield_kg_m: Yield | None = None
    ready_days: Ready | None = None
    sold_by: SoldBy | None = None

    def faults(self) -> Iterator[Problem]:
        """It has a start and an end."""
        if not (self.sow_soil_c or self.set_out_soil_c):
            yield problem("give sow_soil_c, set_out_soil_c or both")
        if not (self.degree_days or self.days_to_maturity):
            yield problem("give days_to_maturity, degree_days or both")

    @property
    def least_light(self) -> float:
        """Daily light integral under which it hardly grows [mol/m² a day]."""
        if self.least_light_mol is not None:
            return self.least_light_mol.value
        return LEAST_LIGHT_MOL[self.crop_class.value]

    @property
    def harvest_days(self) -> int | None:
        """Days from its first harvest to its last; None where it bears until frost."""
        if self.ready_days is not None:
            return round(self.ready_days.value)
        return READY_DAYS_OF_CLASS[self.crop_class.value]

    @property
    def is_picked_once(self) -> bool:
        """All of a sowing is ripe at a time, and waits for whoever picks it."""
        return self.ready_days is not None and self.ready_days.picked == "once"

    @property
    def harvest_unit(self) -> Literal["head", "kg"]:
        """What its harvest is counted in."""
        return "kg" if self.sold_by is None else self.sold_by.value

    @property
    def is_set_out(self) -> bool:
        """Raised in trays and set out, not sown in place."""
        return self.set_out_soil_c is not None

    @property
    def tray_days(self) -> int:
        """Days from seed to setting out; 0 of a crop that is sown in place."""
        if not self.is_set_out:
            return 0
        own = self.tray_weeks
        return round(
            7
            * (TRAY_WEEKS_OF_CLASS[self.crop_class.value] if own is None else own.value)
        )

    def early_damage_c(self, *, soft: bool = False) -> DamageTemperature:
        """What frost does to it as it begins: as seedlings, or as plants set out."""
        if not self.is_set_out:
            return self.seedling_c or self.damage_c
        return (self.soft_c if soft else None) or self.damage_c

    @property
    def leaf_damage_c(self) -> DamageTemperature:
        """What frost does to its leaves before it flowers, past the first weeks."""
        if self.first_flower is None:
            return self.damage_c
        return self.seedling_c or self.damage_c

    @property
    def late_damage_c(self) -> DamageTemperature:
        """What ends it in autumn."""
        return self.late_c or self.damage_c

    @property
    def standing_damage_c(self) -> DamageTemperature:
        """What a single night does to what stands: a root keeps where leaves are lost.

        Hardening for the winter is not counted on.
        """
        late = self.late_c
        return self.damage_c if late is None or self.overwinters else late

    @property
    def overwinters(self) -> bool:
        """Whether hardened plants of it may stand through the winter."""
        return self.late_c is not None and self.late_c.of == "overwintered plant"


class ClassDefault(Crop):
    """A whole class of crops, where the grower names no crop.

    Attributes
    ----------
    like
        The crop whose limits stand in for the class.
    """

    like: Text


def class_defaults(crops: Mapping[str, Crop]) -> tuple[ClassDefault, ...]:
    """One record for each class, with the limits of the crop that stands in for it."""
    return tuple(
        ClassDefault.model_validate(
            crops[like].model_dump(by_alias=True, exclude={"also", "family"})
            | {"name": CLASS_NAMES[crop_class], "like": like}
        )
        for crop_class, like in STAND_INS.items()
    )
