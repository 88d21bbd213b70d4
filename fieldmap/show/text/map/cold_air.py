"""Cold air: pockets, what holds it back, and the hours of a night."""

from fieldmap.analyse.cold_air.barriers import Barrier
from fieldmap.model.estimate import Estimate
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, plural
from fieldmap.show.text.map import labels, signs, spots
from fieldmap.show.text.quantities import Units


def night(offset_c: Estimate, units: Units, *, by_station: bool) -> str:
    """An offset range in words, and against what."""
    said = (
        _("{difference}, against the weather station")
        if by_station
        else _("{difference}, against the middle of the plots")
    )
    return said.format(difference=quantities.night(*offset_c, units))


def pocket(metres: float, behind: str, units: Units) -> str:
    """Depth of cold air in a pocket, and what holds it back."""
    told = spots.cold_air(metres, units)
    if not behind:
        return _("{cold_air} at its deepest").format(cold_air=told)
    return _("{cold_air} at its deepest, behind the {thing}").format(
        cold_air=told, thing=behind
    )


def pocket_area(shown: str, *, cut_off: bool) -> str:
    """Area of a pocket, and whether it goes on beyond the map."""
    if not cut_off:
        return shown
    return _("{area} on this map, and more beyond it").format(area=shown)


def at_deepest(told: str) -> str:
    """What holds of the deepest spot of a pocket alone."""
    return _("at its deepest, {night}").format(night=told)


def barrier(held: Barrier, units: Units) -> str:
    """What cold air stands behind, on which side, and how much deeper."""
    said = (
        _(
            "Cold air stands behind the {thing} ({side} side), up to {depth} deeper than "
            "right across."
        )
        if held.name
        else _(
            "Cold air stands behind a {thing} ({side} side), up to {depth} deeper than "
            "right across."
        )
    )
    return said.format(
        thing=held.name or signs.kind(held.kind),
        side=quantities.direction(held.side_deg),
        depth=spots.depth(held.deeper_m, units),
    )


def after_sunset(hours_after: float) -> str:
    """A moment of the night."""
    minutes = round(hours_after * 60)
    if minutes == 0:
        return labels.label("at_sunset")
    if minutes < 60:
        return plural(
            "{number} minute after sunset", "{number} minutes after sunset", minutes
        )
    if minutes % 60 == 0:
        return plural(
            "{number} hour after sunset", "{number} hours after sunset", minutes // 60
        )
    return _("{hours} h {minutes} min after sunset").format(
        hours=minutes // 60, minutes=minutes % 60
    )


def until_morning(moment: str) -> str:
    """The moment at which the air on the plots came to rest."""
    return _("{moment}; so it lies until morning, coldest near sunrise").format(
        moment=moment
    )
