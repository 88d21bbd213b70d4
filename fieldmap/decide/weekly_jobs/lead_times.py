"""How long before and after planting jobs are due (common practice, no source)."""

from collections.abc import Mapping

from fieldmap.model.crops import Crop

# Weeks from the early date to the first flower of crops that bees must reach, by all names
# of each in crops.toml, as a grower may call it by any. Cucumbers that need no bees are
# grown where none come, in walk-in tunnels.
FLOWER_WEEKS = {
    **dict.fromkeys(("squash", "winter squash", "butternut", "hokkaido"), 6),
    **dict.fromkeys(("pumpkin", "pumpkins"), 6),
    **dict.fromkeys(("courgette", "zucchini", "summer squash", "marrow"), 5),
    **dict.fromkeys(("melon", "muskmelon", "cantaloupe"), 5),
    **dict.fromkeys(("cucumber", "cucumbers"), 4),
    **dict.fromkeys(("strawberry", "strawberries"), 4),
}
ORDER_WEEKS = 4  # before seed or cloth is wanted
HOOP_WEEKS = {"film": 2, "fabric": 1}
FILM_WEEKS = 1  # film warms the soil before planting
HARDEN_WEEKS = 1
READY_WEEKS = 1
SECOND_SOWING_DAYS = 21  # a last sowing sooner after the first is no other sowing
WORTH_DAYS = 7.0  # a cover that gains less is not worth hoops
STORE_WEEKS = 1
SNOW_WEEKS = 2


def weeks_by_name(crop: Crop, weeks: Mapping[str, int]) -> int | None:
    """Weeks of a crop under whichever of its names the table has."""
    folded = {name.casefold(): number for name, number in weeks.items()}
    names = (name.casefold() for name in (crop.name, *crop.also))
    return next((folded[name] for name in names if name in folded), None)


def wants_bees(name: str) -> bool:
    """Whether bees must reach a crop, by the name that the grower gave it.

    Examples
    --------
    >>> wants_bees("Zucchini"), wants_bees("carrot")
    (True, False)
    """
    return name.casefold() in FLOWER_WEEKS
