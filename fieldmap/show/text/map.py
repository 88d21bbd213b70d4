"""Every sentence that people read in the map, in one place.

Constants are marked here and translated where they are used; functions give texts in
the current language. Numbers in words that other papers share are in `fieldmap.words`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldmap.decide import daylight
from fieldmap.model.offset import rounded_c
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, date_in_words, later, plural
from fieldmap.show.text.names import listed

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from fieldmap.analyse.cold_air_barriers import Dam
    from fieldmap.decide.materials import LowTunnel
    from fieldmap.decide.stakes import Baseline
    from fieldmap.decide.tunnels import TunnelPlace
    from fieldmap.model.estimate import Estimate
    from fieldmap.show.text.quantities import Units

TEXT = {
    "questions": later("What do you want to know?"),
    "month": later("Month"),
    "earlier": later("Month before"),
    "later": later("Month after"),
    "map": later("Map of {site}"),
    "map_keys": later(
        "Tab goes to the beds, arrow keys from bed to bed, Enter opens one."
    ),
    "north": later("North is up"),
    "here": later("Touch the map to read its numbers."),
    "here_keys": later("Numbers of the ground under the cross:"),
    "no_bed_here": later("no bed here"),
    "beside": later("Set beside it"),
    "beside_nothing": later("nothing"),
    "beside_month": later("Month beside it"),
    "nothing_here": later("Nothing was computed for this spot."),
    "too_old": later(
        "This browser is too old to read single spots; the colours, beds and "
        "tables are complete."
    ),
    "locate": later("Where am I?"),
    "locating": later("Looking for your place …"),
    "no_place": later("This phone or browser does not give its place to this page."),
    "off_map": later("You are outside this map, about {distance} from its middle."),
    "on_map": later("You are in the circle, give or take {distance}."),
    "measure": later("Measure"),
    "bright": later("In bright sun"),
    "measure_stop": later("Stop measuring"),
    "measure_start": later("Touch two or more spots on the map."),
    "measured": later("{distance} along the line"),
    "measured_area": later("{distance} around, {area} inside"),
    "signs": later("Signs on the map"),
    "beds": later("Beds, in the order of planting"),
    "tunnels": later("Places for walk-in tunnels"),
    "layout": later("Which way the beds run"),
    "no_layout": later("All beds lie there already."),
    "pockets": later("Cold pockets"),
    "weeks": later("What to do, week by week"),
    "what_where": later("What goes where, through the year"),
    "prevailing_wind": later("Prevailing wind"),
    "grows_here": later("Grows here"),
    "no_weeks": later("No dates are known, so there is no list."),
    "door": later("For the tunnel door"),
    "warnings": later("Before you rely on this"),
    "out_from": later("Out from, without cover"),
    "no_beds": later("No bed fits on these plots."),
    "no_tunnels": later("No place for a walk-in tunnel was found or asked for."),
    "no_pockets": later("No cold pocket was found."),
    "show": later("Show {name} on the map"),
    "still": later("Still picture of the map: beds by when they can be planted."),
    "cold_still": later(
        "Still picture of the map: where cold air lies on a still night."
    ),
    "no_scripts": later(
        "This viewer shows a still picture. Open the file in a web browser "
        "to choose questions and to read single spots."
    ),
    "as_it_is": later("The place as it is"),
    "which_night": later("Which night?"),
    "play": later("Play the night"),
    "pause": later("Pause"),
    "at_sunset": later("at sunset"),
    "hour": later("How long after sunset"),
    "close": later("Close"),
    "zoom_in": later("Closer"),
    "zoom_out": later("Farther"),
    "made": later(
        "Made by fieldmap {version} from the files of this site, without a network."
    ),
    "warm_end": later("more"),
    "which_change": later("Which change?"),
    "low": later("Lowest temperature forecast for the weather station"),
    "colder": later("Colder"),
    "warmer": later("Warmer"),
    "which_sky": later("Which night?"),
    "still_night": later("Clear and calm"),
    "cloudy_night": later("Cloudy and calm"),
    "windy_night": later("Windy"),
    "sign_count": later("{said} (beds: {count})"),
    "tonight": later("What to cover, by the low that is forecast"),
    "tonight_note": later(
        "For a clear and calm night, and for air without a cover; go plot by "
        "plot. On a cloudy night beds differ by their height only; on a windy one the order "
        "does not hold and covers help little."
    ),
    "materials": later("What to buy"),
    "no_materials": later(
        "Nothing needs to be bought: no bed gets a cover and no tunnel is planned."
    ),
    "hoops": later("Hoops and covers, bed by bed"),
    "materials_note": later(
        "'About' marks an order of magnitude for walk-in tunnels: the "
        "maker's plan has the numbers."
    ),
    "tunnel_light_note": later(
        "Per cent of the light on open ground there, under one clear film "
        "with its frame, dirt and drops; in brackets what is not known of these. All bearings "
        "share it, so compare them within one line's middle figures."
    ),
    "station": later("The weather station's own dates, reckoned in two ways"),
    "station_note": later(
        "At the station itself, without any bed's offset: later in spring, or "
        "earlier in autumn, in the share of years that is taken as risk. Counted is by the "
        "years of the record; the bell curve is the usual theory beside it. Where the two "
        "are far apart, trust neither to the week."
    ),
    "each_bed": later("What it does to each bed"),
    "no_beds_changed": later("There is no bed that it could change."),
    "hours_apart": later(
        "Hours of sun do not follow these classes here: ground that leans to "
        "the sun gets more light in the same hours. Touch the map to read the hours of a "
        "spot."
    ),
    "nothing_shown": later("Nothing of this was found here."),
}

QUESTIONS = {
    "early": later("Which beds can I plant first?"),
    "tonight": later("What do I cover tonight?"),
    "cold": later("Where does cold air lie on a still night?"),
    "what-if": later("What if I change what stands around?"),
    "sun": later("Where is the sun?"),
    "shade": later("Which summer ground needs shade?"),
    "steep": later("How steep is it?"),
    "water": later("Where does rain water gather?"),
    "tunnels": later("Where can a tunnel stand?"),
    "materials": later("What do I buy, cut and peg?"),
}

# From dry to wet.
WATER_CLASSES = (
    later("Runs off"),
    later("Between the two"),
    later("Gathers"),
    later("Gathers most: look for puddles"),
)

# What a bed is drawn as on the map of tonight.
SIGNS_TONIGHT = {
    "leave": later("Can be left"),
    "odds": later("Likely unharmed as it is, not surely"),
    "cover": later("Cover"),
    "part": later("Cover, and some crops no cover of yours is likely to save"),
    "lost": later("No cover of yours is likely to save what is at risk"),
}

GROUPS = {
    "first": later("Plant first"),
    "no real difference": later("No real difference"),
    "in between": later("In between"),
    "last": later("Plant last"),
}

WATER_COLUMN = later("Rain water")
BED_COLUMNS = (
    later("Bed"),
    later("Planting"),
    later("Still night"),
    later("Sun"),
    later("Enough for tomatoes"),
    later("Ground"),
    WATER_COLUMN,
    later("Holds longest"),
    later("Needs shade"),
    later("Cool in summer"),
    later("Why"),
)
TUNNEL_COLUMNS = (
    later("Tunnel"),
    later("Size"),
    later("Points"),
    later("Ground"),
    later("Earth"),
    later("Gate and water"),
    later("Takes"),
    later("Still night"),
    later("Why"),
)
MATERIAL_COLUMNS = (
    later("What"),
    later("Needed"),
    later("There already"),
    later("To buy"),
    later("Cost"),
)
HOOP_COLUMNS = (
    later("Bed"),
    later("Cover"),
    later("Hoops"),
    later("Cut each"),
    later("Into the ground"),
    later("Cover to cut"),
    later("Weights"),
)
PEG_COLUMNS = (
    later("Bed"),
    later("Tape at its edges"),
    later("Begins out from the tape"),
    later("Length"),
)
MATERIAL_CAUTIONS = (
    later(
        "Cap every stake and hoop end that stands up. Wear eye protection when you cut or "
        "bend hoops and pull film. Never pull film in wind."
    ),
    later(
        "Before any post or stake goes in, have buried lines located, and ask the owner "
        "about private water, power, septic and drains, which locators do not mark."
    ),
    later(
        "Carry pipes flat under overhead lines, and keep the longest pipe plus the legal "
        "clearance away from them; the line's owner decides."
    ),
)
NOT_ON_MAP = later("not on the map")
LAYOUT_COLUMNS = (
    later("Plot"),
    later("Beds"),
    later("Why this way"),
    later("What else would do"),
)
LIGHT_COLUMNS = (
    later("Ridge points"),
    later("Light on the floor"),
    later("In the season of use"),
)
WHAT_IF_COLUMNS = (
    later("Beds"),
    later("Still night"),
    later("Cold air"),
    later("Early spring"),
)
PLANTING_COLUMN, WIND_COLUMN = later("Planting"), later("Of the open wind")
CHANGE_LABELS = {"gone": later("taken away"), "new": later("new")}
NEVER_WARM_ENOUGH = later("not told, as the first date is not")
AS_NOW = later("as now")
STATION_COLUMNS = (
    later("Crop"),
    later("Harmed at"),
    later("Last frost of spring, counted"),
    later("by the bell curve"),
    later("First frost of autumn, counted"),
    later("by the bell curve in autumn"),
)
NEVER = later("no such frost")
TONIGHT_COLUMNS = (later("Forecast low"), later("What to do"))
POCKET_COLUMNS = (
    later("Cold pocket"),
    later("Cold air"),
    later("Area"),
    later("Still night"),
)

KINDS = {
    "plot": later("plot"),
    "bed": later("bed"),
    "tunnel": later("walk-in tunnel and its ridge"),
    "pocket": later("cold pocket"),
    "mark": later("what you saw there"),
    "drain": later("cold air runs this way"),
    "choice-a": later("choice A"),
    "choice-b": later("choice B"),
    "choice-c": later("choice C"),
    "gone": later("goes in this change"),
    "new": later("comes in this change"),
    "building": later("building"),
    "hedge": later("hedge"),
    "tree": later("tree"),
    "trees": later("trees"),
    "wall": later("wall"),
    "fence": later("fence"),
    "bank": later("bank of earth"),
    "water": later("water"),
    "water point": later("water point"),
    "gate": later("gate"),
    "overhead line": later("overhead line"),
    "road": later("road or track"),
    "keep off": later("keep off"),
}

# What must be minded where a thing stands.
NEAR = {
    "overhead line": later(
        "Keep the longest pipe plus the legal clearance away from it; carry "
        "pipes flat. The line's owner decides."
    ),
    "keep off": later("No post, stake or bed here."),
}
ABOUT_DATES = (
    later(
        "Dates are without a cover, for the first day on which both frost and soil allow it;"
        " in brackets is what the unknowns make of it, 8 times in 10. dates.csv has covers "
        "and autumn too."
    ),
    later(
        "Are spare plants or a cover ready? Then more risk may do: write it under [risk] in "
        "site.toml."
    ),
)
TUNNEL_CAUTIONS = (
    later(
        "Before a post is driven, have buried lines marked; private water, power and drains "
        "are not marked by the public services, so ask the owner."
    ),
    later(
        "Keep the longest pipe plus the legal clearance away from overhead lines; the owner "
        "of the line decides."
    ),
    later(
        "Keep off ground that floods and off the drift of sprays from fields near by: draw "
        "it as 'keep off' and plan again."
    ),
    later(
        "Think how the longest pipe gets in: by which gate, round which bend, through the deer "
        "fence."
    ),
    later(
        "Before wind close and lash every door and side, or take the film off the day before; "
        "never go in under a load of snow."
    ),
    later(
        "A closed tunnel in sun overheats: open it in time. No unvented heater and no engine "
        "in a closed tunnel."
    ),
    later(
        "In the United States the conservation practice standard NRCS 325, High Tunnel "
        "System, rules where support is asked for: its own text decides."
    ),
    later(
        "Nothing here is a structural design. Wind and snow loads are for the maker's engineer; permits and distances to "
        "boundaries are for the local code."
    ),
)

# How `Analysis.sky` is told.
CLEAR = later("clear sky")
SKIES = (CLEAR, later("typical sky"))

# Of light for tomatoes, and of sun in the halves of the day (1 morning, -1 afternoon).
ENOUGH = {"yes": later("yes"), "just": later("just"), "no": later("no")}
HALF_DAYS = {1: later("mostly morning sun"), -1: later("mostly afternoon sun"), 0: ""}

SIXTEENTHS = (
    later("north"),
    later("north-north-east"),
    later("north-east"),
    later("east-north-east"),
    later("east"),
    later("east-south-east"),
    later("south-east"),
    later("south-south-east"),
)


def kind(sign: str) -> str:
    """What a sign on the map means; one that is not known stands for itself."""
    return _(KINDS.get(sign, sign))


def foot() -> str:
    """The unit after a length that the page measures."""
    return _("ft")


def square_foot() -> str:
    """The unit after an area that the page measures."""
    return _("sq ft")


def text(key: str) -> str:
    """One of TEXT in the current language."""
    return _(TEXT[key])


def texts() -> dict[str, str]:
    """All of TEXT in the current language, for the page and its script."""
    return {key: _(said) for key, said in TEXT.items()}


def title(site: str) -> str:
    """Name of the page."""
    return _("{site}: where to plant").format(site=site)


def lead(plots: int, beds: int, tunnels: int) -> str:
    """What the page holds, under its heading."""
    return ", ".join(
        (
            plural("{number:,} plot", "{number:,} plots", plots),
            _beds(beds),
            plural(
                "{number:,} place for a tunnel",
                "{number:,} places for tunnels",
                tunnels,
            ),
        )
    )


def background_label() -> str:
    """Beside the box that shows pictures from the internet."""
    return _("Show pictures from the internet behind the map (needs signal)")


def background_failed() -> str:
    """When none of those pictures comes."""
    return _("No picture came from the internet. Is there signal?")


def _beds(number: int) -> str:
    return plural("{number:,} bed", "{number:,} beds", number)


def early_sentence() -> str:
    """What the first question shows, and its limit."""
    return _(
        "Bright beds warm first and dark ones last, by still-night cold and spring sun; "
        "the order is better known than the degrees behind it, and in a windy frost "
        "this order does not hold."
    )


def cold_sentence() -> str:
    """What the cold-air question shows, and its limit."""
    return _(
        "The darker the ground, the deeper cold air lies on a clear, still night, and "
        "dashed outlines are where it collects; which place is colder is better known "
        "than by how many degrees, and wind or cloud undoes it."
    )


def week(start: date) -> str:
    """A week by its Monday."""
    return _("Week of {day}").format(day=date_in_words(start))


def until_morning(moment: str) -> str:
    """The moment at which the air on the plots came to rest."""
    return _("{moment}; so it lies until morning, coldest near sunrise").format(
        moment=moment
    )


def what_if_sentence(changes: Sequence[str]) -> str:
    """What an alternative changes, and what the colours then show."""
    return _(
        "If {changes}: brown ground would have shallower cold air on a still night than "
        "now, violet ground deeper."
    ).format(changes=_(", and ").join(changes))


def tonight_sentence() -> str:
    """What the list for tonight is for."""
    return _(
        "Say what is forecast for the weather station: the list says what to cover, with "
        "which of your covers, in the order in which one walks."
    )


def low(degrees: int, units: Units) -> str:
    """A forecast low as a whole number.

    Examples
    --------
    >>> low(-2, "metric"), low(28, "us")
    ('−2 °C', '28 °F')
    """
    unit = "°F" if units == "us" else "°C"
    return f"{degrees} {unit}".replace("-", "−")


def lows(first: int, last: int, units: Units) -> str:
    """A run of forecast lows, the warmest first."""
    warmest, coldest = low(first, units), low(last, units)
    if first == last:
        return warmest
    return _("{low} to {high}").format(low=warmest, high=coldest)


def asked(question: str, name: str) -> str:
    """A question and which of its pictures is meant: a month, a change.

    Examples
    --------
    >>> asked("Where is the sun?", "May"), asked("How steep is it?", "")
    ('Where is the sun? May', 'How steep is it?')
    """
    return f"{question} {name}".rstrip()


def what_if_heading(name: str) -> str:
    """Heading of the table of what an alternative does to each bed."""
    return _("What if: {name}").format(name=name)


def run(beds: Sequence[str]) -> str:
    """Beds that follow each other and are alike.

    Examples
    --------
    >>> run(["A1"]), run(["A1", "A2"]), run(["A1", "A2", "A3"])
    ('A1', 'A1 and A2', 'A1 to A3')
    """
    return listed(beds) if len(beds) == 2 else names.run_of_beds(beds)


def change_class(low_m: float | None, high_m: float | None, *, us: bool) -> str:
    """A class of how much deeper or shallower the cold air would be."""
    per_metre = quantities.FEET_PER_METRE if us else 1.0
    ends = [end for end in (low_m, high_m) if end is not None and abs(end) < 1e9]
    sizes = sorted(abs(end) * per_metre for end in ends)
    if len(sizes) == 1:
        told = _over(f"{sizes[0]:.2g}", us=us)
    else:
        told = _between(f"{sizes[0]:.2g}", f"{sizes[1]:.2g}", us=us)
    said = _("{depth} shallower") if ends[0] < 0 else _("{depth} deeper")
    return said.format(depth=told)


def _over(number: str, *, us: bool) -> str:
    said = _("over {number} ft") if us else _("over {number} m")
    return said.format(number=number)


def _between(low: str, high: str, *, us: bool) -> str:
    said = _("{low}–{high} ft") if us else _("{low}–{high} m")
    return said.format(low=low, high=high)


def sun_sentence(month: str, most_mj_m2: float, direct_hours: float, sky: str) -> str:
    """What the sun question shows, and its limit."""
    if most_mj_m2 <= 0:
        return _("The sun does not reach the plots in {month}.").format(month=month)
    said = (
        _(
            "The brighter the ground, the more sun in {month}, after the shade of hills, "
            "trees and buildings and measured by the sunniest ground of the plots ({sun}); "
            "clouds are not counted, so most days give less."
        )
        if sky == CLEAR
        else _(
            "The brighter the ground, the more sun in {month}, after the shade of hills, "
            "trees and buildings and measured by the sunniest ground of the plots ({sun}); "
            "this is for a {sky}, so single days give more or less."
        )
    )
    sun = sun_of_day(direct_hours, most_mj_m2)
    return said.format(month=month, sun=sun, sky=_(sky))


def shade_sentence(
    month: str,
    most_mj_m2: float,
    direct_hours: float,
    sky: str,
    *,
    no_difference: bool,
) -> str:
    """What the shade question shows, and its limit."""
    said = (
        _(
            "The darker the ground, the more light it takes in {month} measured by the "
            "sunniest ground of the plots ({sun}, {sky}); beds need shade cloth about "
            "alike. The list by week chooses cloth or fabric by this same light and by hot "
            "days; lettuce wants shade long before squash."
        )
        if no_difference
        else _(
            "The darker the ground, the more light it takes in {month} measured by the "
            "sunniest ground of the plots ({sun}, {sky}); beds with a mesh over them come "
            "first for shade cloth. The list by week chooses cloth or fabric by this same "
            "light and by hot days; lettuce wants shade long before squash."
        )
    )
    sun = sun_of_day(direct_hours, most_mj_m2)
    return said.format(month=month, sun=sun, sky=_(sky))


def sun_of_day(direct_hours: float, mj_m2: float) -> str:
    """Sun of a day, hours first."""
    return _("{hours} a day, {light}").format(
        hours=hours(direct_hours), light=light(mj_m2)
    )


def steep_sentence(seen: str) -> str:
    """What the steepness question shows, and its limit."""
    return _(
        "The darker the ground, the steeper it falls; humps, furrows and ditches smaller "
        "than about {seen} are smoothed away and not seen."
    ).format(seen=seen)


def tunnels_sentence() -> str:
    """What the tunnel question shows, and its limit."""
    return _(
        "Striped rectangles are places where a tunnel can stand, the line in each its "
        "ridge, and colours say where the ground is level enough (common advice, no "
        "firm source); walk the place before you drive a post."
    )


def colder(offset_c: float, units: Units) -> str:
    """An offset in words."""
    return quantities.difference(offset_c, units)


def night(offset_c: Estimate, units: Units, *, by_station: bool) -> str:
    """An offset range in words, and against what."""
    said = (
        _("{difference}, against the weather station")
        if by_station
        else _("{difference}, against the middle of the plots")
    )
    return said.format(difference=quantities.night(*offset_c, units))


def depth(metres: float, units: Units) -> str:
    """Depth of cold air."""
    if units == "us":
        return _("{number} ft").format(
            number=f"{metres * quantities.FEET_PER_METRE:.1f}"
        )
    return f"{metres:.1f} m"


def cold_air(metres: float, units: Units) -> str:
    """Depth of cold air at one spot."""
    if metres < 0.05:
        return _("no cold air lies here")
    return _("cold air {depth} deep").format(depth=depth(metres, units))


def depth_change(metres: float, units: Units) -> str:
    """How much deeper cold air would lie at one spot, shallower if negative."""
    if abs(metres) < 0.05:
        return _("cold air as deep as now")
    said = (
        _("cold air {depth} deeper than now")
        if metres > 0
        else _("cold air {depth} shallower than now")
    )
    return said.format(depth=depth(abs(metres), units))


def pocket(metres: float, behind: str, units: Units) -> str:
    """Depth of cold air in a pocket, and what holds it back."""
    told = cold_air(metres, units)
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


def dam(held: Dam, units: Units) -> str:
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
        thing=held.name or kind(held.kind),
        side=quantities.direction(held.side_deg),
        depth=depth(held.deeper_m, units),
    )


def after_sunset(hours_after: float) -> str:
    """A moment of the night."""
    minutes = round(hours_after * 60)
    if minutes == 0:
        return text("at_sunset")
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


def likely(offset_c: float, units: Units) -> str:
    """The likely offset at one spot."""
    return _("likely {difference}").format(difference=colder(offset_c, units))


def at_worst(offset_c: float, units: Units) -> str:
    """The coldest plausible offset at one spot."""
    return _("at worst {difference}").format(difference=colder(offset_c, units))


def fall(percent: float, units: Units) -> str:
    """Grade at one spot."""
    return quantities.fall(percent, units)


def hours(direct_hours: float) -> str:
    """Hours of direct sun, in half hours."""
    return _("{hours} h of direct sun").format(hours=f"{half_hours(direct_hours):g}")


def light(mj_m2: float) -> str:
    """Light on the ground."""
    return f"{mj_m2:.1f} MJ/m²"


def sun(direct_hours: float, mj_m2: float, month: str, morning_share: float) -> str:
    """Sun on a bed, hours first, and when most of it comes if that is uneven."""
    told = _("{hours} a day in {month} ({light})").format(
        hours=hours(direct_hours), month=month, light=light(mj_m2)
    )
    when = half_day(daylight.sunnier_half(morning_share))
    return f"{told}, {when}" if when else told


def half_day(half: float) -> str:
    """When most sun comes; nothing where it is even."""
    return _(HALF_DAYS[int(half)])


def sun_on(day: date) -> str:
    """Heading of the hours of one day."""
    return _("Sun on {day}").format(day=quantities.day(day.month, day.day))


def spells(times: Sequence[tuple[str, str]]) -> str:
    """From when to when the sun shines on most of a bed, were the day clear."""
    told = [_("{start} to {end}").format(start=start, end=end) for start, end in times]
    return ", ".join(told) or _("none")


def out_from(crop: str, days: Sequence[tuple[int, int] | None]) -> str:
    """From when a crop can go out: low, central and high as month and day.

    Examples
    --------
    >>> out_from("tomato", [(5, 18), (5, 24), (6, 1)])
    'tomato from 24 May (18 May to 1 June)'
    >>> out_from("tomato", [(5, 18), (5, 24), (5, 30)])
    'tomato from 24 May (18 to 30 May)'
    """
    low, central, high = days
    if low is None or central is None:
        return _("{crop}: not warm enough in the open in usual years").format(crop=crop)
    told = _("{crop} from {day}").format(crop=crop, day=quantities.day(*central))
    if high is None:
        until = _("{first} to never").format(first=quantities.day(*low))
    elif low == high:
        return told
    else:
        start = f"{low[1]}" if low[0] == high[0] else quantities.day(*low)
        until = _("{first} to {last}").format(first=start, last=quantities.day(*high))
    return f"{told} ({until})"


def risk(share: float, crops: Sequence[str]) -> str:
    """The risk that was taken with some crops."""
    return _("For {crops}, frost comes after the date told in at most {odds}.").format(
        crops=listed(crops), odds=quantities.odds(share)
    )


def over_years(share: float, years: int, chance: float) -> str:
    """What a risk comes to over several years."""
    return _(
        "{odds} means: over {years} years about {growers} in 10 growers meet at least one "
        "such year."
    ).format(
        odds=names.started(quantities.odds(share)),
        years=years,
        growers=round(10 * chance),
    )


def on_days(counted: Sequence[tuple[int, int] | None]) -> tuple[str, ...]:
    """Days of the year, or that there is none."""
    return tuple(_(NEVER) if day is None else quantities.day(*day) for day in counted)


def tomatoes(light_mol_m2_day: float, band: float, month: str, sky: str) -> str:
    """Whether a month has light enough for tomatoes."""
    answer = _(ENOUGH[daylight.enough_for_tomatoes(light_mol_m2_day, band)])
    said = (
        _("{answer}, on clear days of {month} ({light} mol/m² a day)")
        if sky == CLEAR
        else _("{answer}, in {month} ({light} mol/m² a day)")
    )
    return said.format(answer=answer, month=month, light=f"{light_mol_m2_day:.0f}")


def depth_class(
    low_m: float | None, high_m: float | None, offset_c: float, units: Units
) -> str:
    """A class of cold-air depth, and what it likely means."""
    us = units == "us"
    per_metre = quantities.FEET_PER_METRE if us else 1.0
    low = f"{(low_m or 0.0) * per_metre:.3g}"
    if high_m is None:
        between = _over(low, us=us)
    else:
        between = _between(low, f"{high_m * per_metre:.3g}", us=us)
    told = _("{depth} deep").format(depth=between)
    return told if rounded_c(offset_c) == 0 else f"{told}, {likely(offset_c, units)}"


def group(name: str, beds: int) -> str:
    """A group of beds in the order of planting."""
    return f"{_(GROUPS[name])} ({_beds(beds)})"


def half_hours(direct_hours: float) -> float:
    """Hours as they are told, to the half hour."""
    return round(direct_hours * 2) / 2


def sun_class(
    low: float | None, high: float | None, direct_hours: float | None = None
) -> str:
    """A class of light as a share of the sunniest, with its hours of direct sun.

    Examples
    --------
    >>> sun_class(0.9, 0.95, 8.6), sun_class(None, 0.5)
    ('90 to 95 % · 8.5 h of sun', 'under 50 %')
    """
    if high is None:
        share = _("over {percent} %").format(percent=f"{(low or 0) * 100:.0f}")
    elif low is None:
        share = _("under {percent} %").format(percent=f"{high * 100:.0f}")
    else:
        share = _("{low} to {high} %").format(
            low=f"{low * 100:.0f}", high=f"{high * 100:.0f}"
        )
    if direct_hours is None:
        return share
    sun = _("{hours} h of sun").format(hours=f"{half_hours(direct_hours):g}")
    return f"{share} · {sun}"


def fall_class(low_percent: float | None, units: Units) -> str:
    """A class of steepness by its gentle end."""
    if low_percent is None:
        return _("nearly level")
    return _("{fall} or more").format(fall=quantities.fall(low_percent, units))


def tunnel_ground(number: int, low_percent: float | None, units: Units) -> str:
    """A class of steepness, 0 to 2, by what it means for a tunnel."""
    meaning = (
        _("a tunnel can point any way"),
        _("only with its length up and down the slope"),
        _("level the ground first"),
    )[number]
    return f"{fall_class(low_percent, units)}: {meaning}"


def place(rank: int, beds: int, sharing: int) -> str:
    """A place in an order; beds that share it are no different."""
    if 1 < sharing == beds:
        return _("no real difference between beds")
    if 2 * sharing > beds:
        return _("no real difference between most beds")
    where = _("{rank} of {beds}").format(rank=names.ordinal(rank), beds=beds)
    if sharing == 1:
        return where
    return plural(
        "{place}, like {number} more",
        "{place}, like {number} more",
        sharing - 1,
        place=where,
    )


def lie(
    slope_percent: float,
    faces_deg: float,
    along_percent: float,
    units: quantities.Units,
) -> str:
    """How the ground of a bed falls, which way, and along the bed.

    Examples
    --------
    >>> lie(4.0, 175.0, 0.6, "metric")
    'drops 40 cm in 10 m to the south; along the bed: drops 6 cm in 10 m'
    >>> lie(0.2, float("nan"), 0.1, "metric")
    'level'
    """
    fall = quantities.fall(slope_percent, units)
    if math.isnan(faces_deg) or fall == quantities.fall(0.0, units):
        return fall
    return _("{fall} to the {direction}; along the bed: {along}").format(
        fall=fall,
        direction=quantities.direction(faces_deg),
        along=quantities.fall(along_percent, units),
    )


def wind_left(share: float) -> str:
    """What hedges and walls leave of the prevailing wind.

    Examples
    --------
    >>> wind_left(0.62), wind_left(float("nan"))
    ('62 % of the open wind', 'not known')
    """
    if math.isnan(share):
        return _("not known")
    return _("{percent} % of the open wind").format(percent=round(100 * share))


def rain_water(water_share: float) -> str:
    """What rain water does on a bed, by the shape of the ground.

    Examples
    --------
    >>> rain_water(0.0), rain_water(0.3), rain_water(0.97)
    ('does not gather', 'gathers on 30 % of it', 'gathers here')
    """
    if math.isnan(water_share):
        return _("not known")
    percent = 10 * round(10 * water_share)
    if percent == 0:
        return _("does not gather")
    if percent == 100:
        return _("gathers here")
    return _("gathers on {percent} % of it").format(percent=percent)


def water_sentence() -> str:
    """What the picture of rain water shows."""
    return _(
        "Where rain water gathers for how slowly it runs off, by the shape of the ground "
        "alone. Sandy soil and drains carry it off; clay, springs and broken drains "
        "hold it: what you saw there counts for more."
    )


def water_class(at: int) -> str:
    """A class of the wetness index."""
    return _(WATER_CLASSES[at])


def planted(group: str, beds: int, alike: int) -> str:
    """The group of a bed in the order of planting, and how many beds are in it.

    Places within a group are not told: people would read more into them than is known.

    Examples
    --------
    >>> planted("first", 52, 9), planted("last", 1, 1)
    ('Plant first (9 of 52 beds)', 'Plant last (1 of 1 bed)')
    """
    return plural(
        "{group} ({alike} of {number:,} bed)",
        "{group} ({alike} of {number:,} beds)",
        beds,
        group=_(GROUPS[group]),
        alike=str(alike),
    )


def points(bearing_deg: float) -> str:
    """Which way a tunnel points."""
    sixteenth = _(SIXTEENTHS[round(bearing_deg / 22.5) % 8])
    return _("points {way} ({degrees}°)").format(
        way=sixteenth, degrees=f"{bearing_deg:.0f}"
    )


def way(bearing_deg: float, *, is_planned: bool) -> str:
    """Which way a tunnel could point, and whether it does."""
    told = points(bearing_deg)
    return _("{way} (as planned)").format(way=told) if is_planned else told


def light_share(low: float, central: float, high: float) -> str:
    """Light under a cover in per cent of that outside."""
    return _("{likely} % ({low} to {high})").format(
        likely=f"{central:.0f}", low=f"{low:.0f}", high=f"{high:.0f}"
    )


def light_of_day(mol_m2: float) -> str:
    """Light that plants use, of one day."""
    return _("{light} mol/m² a day").format(light=f"{mol_m2:.0f}")


def layout_part(plot: str, part: int, parts: int) -> str:
    """A plot, or one part of a bent one."""
    if parts == 1:
        return plot
    return _("{plot}, part {part} of {parts}").format(plot=plot, part=part, parts=parts)


def layout_beds(blocks: Sequence[str], beds: int, area: str) -> str:
    """How many beds, in which blocks."""
    named = plural("block {names}", "blocks {names}", len(blocks), names=listed(blocks))
    return ", ".join((_beds(beds), *((named,) if blocks else ()), area))


def tunnel_size(tunnel: TunnelPlace, units: Units) -> str:
    """Length, width and height."""
    return _("{length} long, {width} wide, {height} high").format(
        length=quantities.length(tunnel.length_m, units),
        width=quantities.length(tunnel.width_m, units),
        height=quantities.length(tunnel.height_m, units),
    )


def tunnel_earth(tunnel: TunnelPlace, units: Units) -> str:
    """Earth to move for a level pad."""
    return _("level pad: cut and fill {volume} each").format(
        volume=quantities.volume(tunnel.earth_level_m3, units)
    )


def tunnel_ways(tunnel: TunnelPlace, units: Units) -> str:
    """Straight ways to gate and water."""
    gate, water = (
        _(NOT_ON_MAP) if way_m is None else quantities.length(round(way_m), units)
        for way_m in (tunnel.to_gate_m, tunnel.to_water_m)
    )
    return _("gate: {gate}; water: {water}").format(gate=gate, water=water)


def tunnel_choice(letter: str, said: str, *, taken: bool) -> str:
    """One set of places for all tunnels."""
    text_ = (
        _("Choice {letter} (in this plan): {said}")
        if taken
        else _("Choice {letter}: {said}")
    )
    return text_.format(letter=letter, said=said)


def tunnel_light(name: str) -> str:
    """Heading of the table of light by bearing."""
    return _("{tunnel}: light under the cover, by the way it points").format(
        tunnel=name
    )


def materials_sentence() -> str:
    """What is listed for the shop and the crew."""
    return _(
        "The lists below say what to buy, how to cut hoops, and where pegs go by tape; "
        "materials.xlsx, stakes.csv and stakes.gpx have them too."
    )


def roof(tunnel: str, litres: float, peak_l_s: float, units: Units) -> str:
    """Rain off a tunnel."""
    if units == "us":
        inch = quantities.water(litres * 25.4 / 25.0, units)
        return _(
            "{tunnel} sheds {water} in every inch of rain, and at its worst {peak} gallons "
            "a minute."
        ).format(tunnel=tunnel, water=inch, peak=f"{peak_l_s * 15.850323:.0f}")
    return _(
        "{tunnel} sheds {water} in every 25 mm of rain, and at its worst {peak} litres a "
        "second."
    ).format(
        tunnel=tunnel, water=quantities.water(litres, units), peak=f"{peak_l_s:.1f}"
    )


def cover_to_cut(low: LowTunnel, units: Units) -> str:
    """Width and length of a cover, and the roll that it comes from."""
    size = _("{width} by {length}").format(
        width=quantities.pipe(low.cover_width_m, units),
        length=quantities.pipe(low.cover_length_m, units),
    )
    roll = quantities.pipe(low.roll_width_m, units)
    if low.joins:
        return _("{size}, {widths} widths of {roll} joined").format(
            size=size, widths=low.joins + 1, roll=roll
        )
    return _("{size}, from a roll {roll} wide").format(size=size, roll=roll)


def weights(number: int, gap_m: float, units: Units) -> str:
    """Weights along both edges, or none where they are buried."""
    if not number:
        return _("edges buried")
    return apart(number, gap_m, units)


def apart(number: int, gap_m: float, units: Units) -> str:
    """How many, and how far from one to the next."""
    return _("{number}, {gap} apart").format(
        number=number, gap=quantities.pipe(gap_m, units)
    )


def about(amount: str) -> str:
    """An amount that is known by its order of magnitude alone."""
    return _("about {amount}").format(amount=amount)


def pegs(block: str) -> str:
    """Heading of the peg list of a block."""
    return _("Pegs of {block}: one tape, one baseline").format(block=block)


def tape(line: Baseline, units: Units) -> str:
    """How a block's baseline lies, and how its corner is proved square."""
    said = (
        _(
            "Lay a tape of {tape} along the baseline, from its start to the {way}. Square "
            "out to the left of the start measure {out}: from there to the tape's far end "
            "it must be {diagonal}."
        )
        if line.side == "left"
        else _(
            "Lay a tape of {tape} along the baseline, from its start to the {way}. Square "
            "out to the right of the start measure {out}: from there to the tape's far end "
            "it must be {diagonal}."
        )
    )
    return said.format(
        tape=quantities.pipe(line.length_m, units),
        way=quantities.direction(line.bearing_deg),
        out=quantities.pipe(line.out_m, units),
        diagonal=quantities.pipe(line.diagonal_m, units),
    )


def tunnel_slope(tunnel: TunnelPlace, units: Units) -> str:
    """Slopes along and across."""
    return _("{along} along, {across} across").format(
        along=fall(tunnel.slope_along_percent, units),
        across=fall(tunnel.slope_across_percent, units),
    )


def surrounding(sign: str, height_m: float | None, units: Units) -> str:
    """What stands there and how high."""
    told = kind(sign)
    if height_m is not None:
        told = _("{thing}, {height} high").format(
            thing=told, height=quantities.length(height_m, units)
        )
    return f"{told}. {_(NEAR[sign])}" if sign in NEAR else told


def in_month(month: str) -> str:
    """Start of what is read for one month."""
    return _("In {month}:").format(month=month)
