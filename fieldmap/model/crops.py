"""Crops: what cold, soil, light and heat they stand, each value with its source."""

from collections.abc import Iterator, Mapping
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
# where the class is, so that a date can be told for either way. The hardiest (spinach)
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


class Light(Span):
    """Daily light integral [mol/m² a day]."""

    high: Annotated[float, Field(gt=0, le=70, allow_inf_nan=False)]


class Shade(Span):
    """Share of the light that a cloth should take [%]; 0 to 0 is none."""

    high: Annotated[float, Field(ge=0, le=80, allow_inf_nan=False)]


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


class Crop(Choices):
    """What one crop stands and needs.

    Attributes
    ----------
    also
        Other names it goes by.
    damage_c
        As the source gives it; plan with `screen_damage_c`.
    sow_soil_c
        Lowest soil temperature to sow, or to plant sets and tubers; None where it is
        always set out.
    set_out_soil_c, set_out_night_c
        Lowest soil temperature, and lowest mean of the night minima at the screen, at
        which plants are set out; None where there is no such limit.
    base_c
        Below it, nothing grows.
    least_light_mol
        Where it is not that of its class.
    heat_limit_c
        Days with a higher maximum do harm.
    """

    name: Text
    also: Listed[Text] = ()
    crop_class: Annotated[ClassValue, Field(alias="class")]
    family: Family | None = None
    damage_c: DamageTemperature
    sow_soil_c: Temperature | None = None
    set_out_soil_c: Temperature | None = None
    set_out_night_c: Temperature | None = None
    cold_check: ColdCheck | None = None
    base_c: Temperature
    degree_days: Growth | None = None
    days_to_maturity: Growth | None = None
    best_light_mol: Light
    least_light_mol: LeastLight | None = None
    heat_limit_c: Temperature
    shade_percent: Shade

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
    def screen_damage_c(self) -> Estimate:
        """The temperature at the screen that does damage on a clear calm night [°C].

        High is the safest to plan with. The one place where what lies between plant and
        screen is added.
        """
        value_c = self.damage_c.value
        if self.damage_c.at == "screen":
            return Estimate(value_c, value_c, value_c)
        return PLANT_BELOW_SCREEN_C.map(lambda colder: value_c + colder)


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
