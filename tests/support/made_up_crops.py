"""Made-up crops: round limits from which a test changes the ones it is about."""

from fieldmap.model.crops import Crop

SOURCE = {"source": "made up"}


def limit(value, **more):
    """A value with its source."""
    return {"value": value, **more} | SOURCE


def span(low, high, **more):
    """A range with its source."""
    return {"low": low, "high": high, **more} | SOURCE


def growth(low, high, counted_from="sowing"):
    """Days, or degree days, until the first harvest."""
    return span(low, high, counted_from=counted_from)


def crop(name="test crop", crop_class="tender", **changes):
    """A crop that is sown from 10 °C, harmed at 0 °C at the screen, ripe in 60 days.

    A value of None takes a limit away.
    """
    values = {
        "name": name,
        "class": limit(crop_class),
        "damage_c": limit(0.0, at="screen"),
        "sow_soil_c": limit(10.0),
        "base_c": limit(5.0),
        "days_to_maturity": growth(60, 80),
        "best_light_mol": span(15, 20),
        "heat_limit_c": limit(30.0),
        "shade_percent": span(0, 40),
    } | changes
    return Crop.model_validate({k: v for k, v in values.items() if v is not None})
