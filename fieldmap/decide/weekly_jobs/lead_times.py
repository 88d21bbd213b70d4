"""How long before and after planting jobs are due (common practice, no source)."""

from collections.abc import Mapping

from fieldmap.model.crops import Crop

# Weeks from seed to setting out.
TRAY_WEEKS = {
    "tomato": 7,
    "pepper": 9,
    "aubergine": 9,
    "cucumber": 3,
    "squash": 3,
    "melon": 4,
    "celery": 11,
    "basil": 6,
    "lettuce": 4,
    "chard": 4,
    "beet": 4,
}
TRAY_WEEKS_OF_CLASS = {"hardy": 5, "half_hardy": 6, "tender": 6, "warm_loving": 4}
# Weeks from the early date to the first flower of crops that bees must reach.
FLOWER_WEEKS = {"squash": 6, "melon": 5, "strawberry": 4}
ORDER_WEEKS = 4  # before seed or cloth is wanted
HOOP_WEEKS = {"film": 2, "fabric": 1}
FILM_WEEKS = 1  # film warms the soil before planting
HARDEN_WEEKS = 1
READY_WEEKS = 1
SECOND_SOWING_DAYS = 21  # a last sowing sooner after the first is no other sowing
WORTH_DAYS = 7.0  # a cover that gains less is not worth hoops
STORE_WEEKS = 1
SNOW_WEEKS = 2


def tray_days(crop: Crop) -> int:
    """Days from seed to setting out; 0 of a crop that is sown in place."""
    if crop.set_out_soil_c is None:
        return 0
    usual = TRAY_WEEKS_OF_CLASS[crop.crop_class.value]
    return 7 * (weeks_by_name(crop, TRAY_WEEKS) or usual)


def weeks_by_name(crop: Crop, weeks: Mapping[str, int]) -> int | None:
    """Weeks of a crop under whichever of its names the table has."""
    names = (crop.name.casefold(), *crop.also)
    return next((weeks[name] for name in names if name in weeks), None)
