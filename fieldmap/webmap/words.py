"""Every sentence that people read in the map, in one place, ready to be translated.

Numbers in words that other papers share are in `fieldmap.words`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap import words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from fieldmap.dams import Dam
    from fieldmap.materials import LowTunnel
    from fieldmap.offset import OffsetRange
    from fieldmap.stakes import Baseline
    from fieldmap.tunnels import TunnelPlace
    from fieldmap.words import Units

LANGUAGE = "en"

TEXT = {
    "questions": "What do you want to know?",
    "month": "Month",
    "earlier": "Month before",
    "later": "Month after",
    "map": "Map of {site}",
    "map_keys": "Tab goes to the beds, arrow keys from bed to bed, Enter opens one.",
    "north": "North is up",
    "here": "Touch the map to read its numbers.",
    "here_keys": "Numbers of the ground under the cross:",
    "nothing_here": "Nothing was computed for this spot.",
    "too_old": "This browser is too old to read single spots; the colours, beds and "
    "tables are complete.",
    "locate": "Where am I?",
    "locating": "Looking for your place …",
    "no_place": "This phone or browser does not give its place to this page.",
    "off_map": "You are outside this map, about {distance} from its middle.",
    "on_map": "You are in the circle, give or take {distance}.",
    "measure": "Measure",
    "measure_stop": "Stop measuring",
    "measure_start": "Touch two or more spots on the map.",
    "measured": "{distance} along the line",
    "measured_area": "{distance} around, {area} inside",
    "signs": "Signs on the map",
    "beds": "Beds, in the order of planting",
    "tunnels": "Places for walk-in tunnels",
    "layout": "Which way the beds run",
    "no_layout": "All beds lie there already.",
    "pockets": "Cold pockets",
    "weeks": "What to do, week by week",
    "what_where": "What goes where, through the year",
    "grows_here": "Grows here",
    "no_weeks": "No dates are known, so there is no list.",
    "door": "For the tunnel door",
    "warnings": "Before you rely on this",
    "out_from": "Out from, without cover",
    "no_beds": "No bed fits on these plots.",
    "no_tunnels": "No place for a walk-in tunnel was found or asked for.",
    "no_pockets": "No cold pocket was found.",
    "show": "Show {name} on the map",
    "still": "Still picture of the map: beds by when they can be planted.",
    "cold_still": "Still picture of the map: where cold air lies on a still night.",
    "no_scripts": "This viewer shows a still picture. Open the file in a web browser "
    "to choose questions and to read single spots.",
    "as_it_is": "The place as it is",
    "which_night": "Which night?",
    "play": "Play the night",
    "pause": "Pause",
    "at_sunset": "at sunset",
    "hour": "How long after sunset",
    "close": "Close",
    "zoom_in": "Closer",
    "zoom_out": "Farther",
    "made": "Made by fieldmap {version} from the files of this site, without a network.",
    "warm_end": "more",
    "which_change": "Which change?",
    "low": "Lowest temperature forecast for the weather station",
    "colder": "Colder",
    "warmer": "Warmer",
    "which_sky": "Which night?",
    "still_night": "Clear and calm",
    "cloudy_night": "Cloudy and calm",
    "windy_night": "Windy",
    "sign_count": "{said} (beds: {count})",
    "tonight": "What to cover, by the low that is forecast",
    "tonight_note": "For a clear and calm night, and for air without a cover; go plot by "
    "plot. On a cloudy night beds differ by their height only; on a windy one the order "
    "does not hold and covers help little.",
    "materials": "What to buy",
    "no_materials": "Nothing needs to be bought: no bed gets a cover and no tunnel is "
    "planned.",
    "hoops": "Hoops and covers, bed by bed",
    "materials_note": "'About' marks an order of magnitude for walk-in tunnels: the "
    "maker's plan has the numbers.",
    "tunnel_light_note": "Per cent of the light on open ground there, under one clear film "
    "with its frame, dirt and drops; in brackets what is not known of these. All bearings "
    "share it, so compare them within one line's middle figures.",
    "station": "The weather station's own dates, reckoned in two ways",
    "station_note": "At the station itself, without any bed's offset: later in spring, or "
    "earlier in autumn, in the share of years that is taken as risk. Counted is by the "
    "years of the record; the bell curve is the usual theory beside it. Where the two "
    "are far apart, trust neither to the week.",
    "each_bed": "What it does to each bed",
    "no_beds_changed": "There is no bed that it could change.",
    "hours_apart": "Hours of sun do not follow these classes here: ground that leans to "
    "the sun gets more light in the same hours. Touch the map to read the hours of a "
    "spot.",
    "nothing_shown": "Nothing of this was found here.",
}

QUESTIONS = {
    "early": "Which beds can I plant first?",
    "tonight": "What do I cover tonight?",
    "cold": "Where does cold air lie on a still night?",
    "what-if": "What if I change what stands around?",
    "sun": "Where is the sun?",
    "shade": "Which summer ground needs shade?",
    "steep": "How steep is it?",
    "tunnels": "Where can a tunnel stand?",
    "materials": "What do I buy, cut and peg?",
}

# What a bed is drawn as on the map of tonight.
SIGNS_TONIGHT = {
    "leave": "Can be left",
    "odds": "Likely unharmed as it is, not surely",
    "cover": "Cover",
    "part": "Cover, and some crops no cover of yours is likely to save",
    "lost": "No cover of yours is likely to save what is at risk",
}

GROUPS = {
    "first": "Plant first",
    "no real difference": "No real difference",
    "in between": "In between",
    "last": "Plant last",
}

BED_COLUMNS = (
    "Bed",
    "Planting",
    "Still night",
    "Sun",
    "Enough for tomatoes",
    "Ground",
    "Holds longest",
    "Needs shade",
    "Why",
)
TUNNEL_COLUMNS = (
    "Tunnel",
    "Size",
    "Points",
    "Ground",
    "Earth",
    "Gate and water",
    "Takes",
    "Still night",
    "Why",
)
MATERIAL_COLUMNS = ("What", "Needed", "There already", "To buy", "Cost")
HOOP_COLUMNS = (
    "Bed",
    "Cover",
    "Hoops",
    "Cut each",
    "Into the ground",
    "Cover to cut",
    "Weights",
)
PEG_COLUMNS = ("Bed", "Tape at its edges", "Begins out from the tape", "Length")
MATERIAL_CAUTIONS = (
    "Cap every stake and hoop end that stands up. Wear eye protection when you cut or "
    "bend hoops and pull film. Never pull film in wind.",
    "Before any post or stake goes in, have buried lines located, and ask the owner "
    "about private water, power, septic and drains, which locators do not mark.",
    "Carry pipes flat under overhead lines, and keep the longest pipe plus the legal "
    "clearance away from them; the line's owner decides.",
)
NOT_ON_MAP = "not on the map"
LAYOUT_COLUMNS = ("Plot", "Beds", "Why this way", "What else would do")
LIGHT_COLUMNS = ("Ridge points", "Light on the floor", "In the season of use")
WHAT_IF_COLUMNS = ("Beds", "Still night", "Cold air", "Early spring")
PLANTING_COLUMN, WIND_COLUMN = "Planting", "Of the open wind"
CHANGE_LABELS = {"gone": "taken away", "new": "new"}
NEVER_WARM_ENOUGH = "not told, as the first date is not"
AS_NOW = "as now"
STATION_COLUMNS = (
    "Crop",
    "Harmed at",
    "Last frost of spring, counted",
    "by the bell curve",
    "First frost of autumn, counted",
    "by the bell curve in autumn",
)
NEVER = "no such frost"
TONIGHT_COLUMNS = ("Forecast low", "What to do")
POCKET_COLUMNS = ("Cold pocket", "Cold air", "Area", "Still night")

KINDS = {
    "plot": "plot",
    "bed": "bed",
    "tunnel": "walk-in tunnel and its ridge",
    "pocket": "cold pocket",
    "drain": "cold air runs this way",
    "choice-a": "choice A",
    "choice-b": "choice B",
    "choice-c": "choice C",
    "gone": "goes in this change",
    "new": "comes in this change",
    "building": "building",
    "hedge": "hedge",
    "tree": "tree",
    "trees": "trees",
    "wall": "wall",
    "fence": "fence",
    "bank": "bank of earth",
    "water": "water",
    "water point": "water point",
    "gate": "gate",
    "overhead line": "overhead line",
    "road": "road or track",
    "keep off": "keep off",
}

# What must be minded where a thing stands.
NEAR = {
    "overhead line": "Keep the longest pipe plus the legal clearance away from it; carry "
    "pipes flat. The line's owner decides.",
    "keep off": "No post, stake or bed here.",
}
ABOUT_DATES = (
    "Dates are without a cover, for the first day on which both frost and soil allow it;"
    " in brackets is what the unknowns make of it, 8 times in 10. dates.csv has covers "
    "and autumn too.",
    "Are spare plants or a cover ready? Then more risk may do: write it under [risk] in "
    "site.toml.",
)
TUNNEL_CAUTIONS = (
    "Before a post is driven, have buried lines marked; private water, power and drains "
    "are not marked by the public services, so ask the owner.",
    "Keep the longest pipe plus the legal clearance away from overhead lines; the owner "
    "of the line decides.",
    "Keep off ground that floods and off the drift of sprays from fields near by: draw "
    "it as 'keep off' and plan again.",
    "Think how the longest pipe gets in: by which gate, round which bend, through the deer "
    "fence.",
    "Before wind close and lash every door and side, or take the film off the day before; "
    "never go in under a load of snow.",
    "A closed tunnel in sun overheats: open it in time. No unvented heater and no engine "
    "in a closed tunnel.",
    "In the United States the conservation practice standard NRCS 325, High Tunnel "
    "System, rules where support is asked for: its own text decides.",
    "Nothing here is a structural design. Wind and snow loads are for the maker's engineer; permits and distances to "
    "boundaries are for the local code.",
)

SIXTEENTHS = (
    "north",
    "north-north-east",
    "north-east",
    "east-north-east",
    "east",
    "east-south-east",
    "south-east",
    "south-south-east",
)


def title(site: str) -> str:
    """Name of the page."""
    return f"{site}: where to plant"


def lead(plots: int, beds: int, tunnels: int) -> str:
    """What the page holds, under its heading."""
    counts = (
        _counted(plots, "plot", "plots"),
        _counted(beds, "bed", "beds"),
        _counted(tunnels, "place for a tunnel", "places for tunnels"),
    )
    return f"{counts[0]}, {counts[1]}, {counts[2]}"


def early_sentence() -> str:
    """What the first question shows, and its limit."""
    return (
        "Bright beds warm first and dark ones last, by still-night cold and spring sun; "
        "the order is better known than the degrees behind it, and in a windy frost "
        "this order does not hold."
    )


def cold_sentence() -> str:
    """What the cold-air question shows, and its limit."""
    return (
        "The darker the ground, the deeper cold air lies on a clear, still night, and "
        "dashed outlines are where it collects; which place is colder is better known "
        "than by how many degrees, and wind or cloud undoes it."
    )


def week(start: date) -> str:
    """A week by its Monday."""
    return f"Week of {start.day} {words.MONTHS[start.month - 1]} {start.year}"


def until_morning(moment: str) -> str:
    """The moment at which the air on the plots came to rest."""
    return f"{moment}; so it lies until morning, coldest near sunrise"


def what_if_sentence(changes: Sequence[str]) -> str:
    """What an alternative changes, and what the colours then show."""
    return (
        f"If {', and '.join(changes)}: brown ground would have shallower cold air on a "
        "still night than now, violet ground deeper."
    )


def tonight_sentence() -> str:
    """What the list for tonight is for."""
    return (
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
    return warmest if first == last else f"{warmest} to {coldest}"


def what_if_heading(name: str) -> str:
    """Heading of the table of what an alternative does to each bed."""
    return f"What if: {name}"


def run(names: Sequence[str]) -> str:
    """Beds that follow each other and are alike.

    Examples
    --------
    >>> run(["A1"]), run(["A1", "A2"]), run(["A1", "A2", "A3"])
    ('A1', 'A1 and A2', 'A1 to A3')
    """
    if len(names) == 1:
        return names[0]
    return f"{names[0]} {'and' if len(names) == 2 else 'to'} {names[-1]}"


def change_class(low_m: float | None, high_m: float | None, *, us: bool) -> str:
    """A class of how much deeper or shallower the cold air would be."""
    per_metre, unit = (words.FEET_PER_METRE, "ft") if us else (1.0, "m")
    ends = [end for end in (low_m, high_m) if end is not None and abs(end) < 1e9]
    side = "shallower" if ends[0] < 0 else "deeper"
    sizes = sorted(abs(end) * per_metre for end in ends)
    if len(sizes) == 1:
        return f"over {sizes[0]:.2g} {unit} {side}"
    return f"{sizes[0]:.2g}–{sizes[1]:.2g} {unit} {side}"


def sun_sentence(month: str, most_mj_m2: float, direct_hours: float, sky: str) -> str:
    """What the sun question shows, and its limit."""
    if most_mj_m2 <= 0:
        return f"The sun does not reach the plots in {month}."
    return (
        f"The brighter the ground, the more sun in {month}, after the shade of hills, "
        "trees and buildings and measured by the sunniest ground of the plots "
        f"({sun_of_day(direct_hours, most_mj_m2)}); {_sky_limit(sky)}."
    )


def shade_sentence(
    month: str,
    most_mj_m2: float,
    direct_hours: float,
    sky: str,
    *,
    no_difference: bool,
) -> str:
    """What the shade question shows, and its limit."""
    beds = (
        "beds need shade cloth about alike"
        if no_difference
        else "beds with a mesh over them come first for shade cloth"
    )
    return (
        f"The darker the ground, the more light it takes in {month} "
        "measured by the sunniest ground of the plots "
        f"({sun_of_day(direct_hours, most_mj_m2)}, {sky}); {beds}. The list by week "
        "chooses cloth or fabric by this same light and by hot days; lettuce wants "
        "shade long before squash."
    )


def sun_of_day(direct_hours: float, mj_m2: float) -> str:
    """Sun of a day, hours first."""
    return f"{hours(direct_hours)} a day, {light(mj_m2)}"


def _sky_limit(sky: str) -> str:
    if sky == "clear sky":
        return "clouds are not counted, so most days give less"
    return f"this is for a {sky}, so single days give more or less"


def steep_sentence(seen: str) -> str:
    """What the steepness question shows, and its limit."""
    return (
        f"The darker the ground, the steeper it falls; humps, furrows and ditches "
        f"smaller than about {seen} are smoothed away and not seen."
    )


def tunnels_sentence() -> str:
    """What the tunnel question shows, and its limit."""
    return (
        "Striped rectangles are places where a tunnel can stand, the line in each its "
        "ridge, and colours say where the ground is level enough (common advice, no "
        "firm source); walk the place before you drive a post."
    )


def colder(offset_c: float, units: Units) -> str:
    """An offset in words."""
    return words.difference(offset_c, units)


def night(offset_c: OffsetRange, units: Units, *, by_station: bool) -> str:
    """An offset range in words, and against what."""
    against = "the weather station" if by_station else "the middle of the plots"
    return f"{words.night(*offset_c, units)}, against {against}"


def depth(metres: float, units: Units) -> str:
    """Depth of cold air."""
    if units == "us":
        return f"{metres * words.FEET_PER_METRE:.1f} ft"
    return f"{metres:.1f} m"


def cold_air(metres: float, units: Units) -> str:
    """Depth of cold air at one spot."""
    if metres < 0.05:
        return "no cold air lies here"
    return f"cold air {depth(metres, units)} deep"


def pocket(metres: float, behind: str, units: Units) -> str:
    """Depth of cold air in a pocket, and what holds it back."""
    deep = f"{cold_air(metres, units)} at its deepest"
    return f"{deep}, behind the {behind}" if behind else deep


def pocket_area(shown: str, *, cut_off: bool) -> str:
    """Area of a pocket, and whether it goes on beyond the map."""
    return f"{shown} on this map, and more beyond it" if cut_off else shown


def at_deepest(told: str) -> str:
    """What holds of the deepest spot of a pocket alone."""
    return f"at its deepest, {told}"


def dam(held: Dam, units: Units) -> str:
    """What cold air stands behind, on which side, and how much deeper."""
    what = f"the {held.name}" if held.name else f"a {KINDS.get(held.kind, held.kind)}"
    return (
        f"Cold air stands behind {what} ({held.side} side), up to "
        f"{depth(held.deeper_m, units)} deeper than right across."
    )


def after_sunset(hours_after: float) -> str:
    """A moment of the night."""
    minutes = round(hours_after * 60)
    if minutes == 0:
        return TEXT["at_sunset"]
    if minutes < 60:
        return f"{minutes} minutes after sunset"
    if minutes % 60 == 0:
        return f"{_counted(minutes // 60, 'hour', 'hours')} after sunset"
    return f"{minutes // 60} h {minutes % 60} min after sunset"


def likely(offset_c: float, units: Units) -> str:
    """The likely offset at one spot."""
    return f"likely {colder(offset_c, units)}"


def at_worst(offset_c: float, units: Units) -> str:
    """The coldest plausible offset at one spot."""
    return f"at worst {colder(offset_c, units)}"


def fall(percent: float, units: Units) -> str:
    """Grade at one spot."""
    return words.fall(percent, units)


def hours(direct_hours: float) -> str:
    """Hours of direct sun, in half hours."""
    return f"{half_hours(direct_hours):g} h of direct sun"


def light(mj_m2: float) -> str:
    """Light on the ground."""
    return f"{mj_m2:.1f} MJ/m²"


def sun(direct_hours: float, mj_m2: float, month: str, morning_share: float) -> str:
    """Sun on a bed, hours first, and when most of it comes if that is uneven."""
    told = f"{hours(direct_hours)} a day in {month} ({light(mj_m2)})"
    when = half_day(words.half_day(morning_share))
    return f"{told}, {when}" if when else told


def half_day(half: float) -> str:
    """When most sun comes; nothing where it is even."""
    return words.HALF_DAYS[int(half)]


def sun_on(day: date) -> str:
    """Heading of the hours of one day."""
    return f"Sun on {day.day} {words.MONTHS[day.month - 1]}"


def spells(times: Sequence[tuple[str, str]]) -> str:
    """From when to when the sun shines on most of a bed, were the day clear."""
    return ", ".join(f"{start} to {end}" for start, end in times) or "none"


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
        return f"{crop}: not warm enough in the open in usual years"
    told = f"{crop} from {words.day(*central)}"
    if high is None:
        return f"{told} ({words.day(*low)} to never)"
    if low == high:
        return told
    start = f"{low[1]}" if low[0] == high[0] else words.day(*low)
    return f"{told} ({start} to {words.day(*high)})"


def risk(share: float, crops: Sequence[str]) -> str:
    """The risk that was taken with some crops."""
    listed = " and ".join([", ".join(crops[:-1]), crops[-1]] if crops[1:] else crops)
    return (
        f"For {listed}, frost comes after the date told in at most {words.odds(share)}."
    )


def over_years(share: float, years: int, chance: float) -> str:
    """What a risk comes to over several years."""
    return (
        f"{words.started(words.odds(share))} means: over {years} years about {round(10 * chance)} in 10 "
        "growers meet at least one such year."
    )


def on_days(counted: Sequence[tuple[int, int] | None]) -> tuple[str, ...]:
    """Days of the year, or that there is none."""
    return tuple(NEVER if day is None else words.day(*day) for day in counted)


def tomatoes(light_mol_m2_day: float, band: float, month: str, sky: str) -> str:
    """Whether a month has light enough for tomatoes."""
    answer = words.enough_for_tomatoes(light_mol_m2_day, band)
    days = "on clear days of" if sky == "clear sky" else "in"
    return f"{answer}, {days} {month} ({light_mol_m2_day:.0f} mol/m² a day)"


def depth_class(
    low_m: float | None, high_m: float | None, offset_c: float, units: Units
) -> str:
    """A class of cold-air depth, and what it likely means."""
    per_metre, unit = (words.FEET_PER_METRE, "ft") if units == "us" else (1.0, "m")
    low = f"{(low_m or 0.0) * per_metre:.3g}"
    if high_m is None:
        between = f"over {low} {unit}"
    else:
        between = f"{low}–{high_m * per_metre:.3g} {unit}"
    if words.step(offset_c) == 0:
        return f"{between} deep"
    return f"{between} deep, {likely(offset_c, units)}"


def group(name: str, beds: int) -> str:
    """A group of beds in the order of planting."""
    return f"{GROUPS[name]} ({_counted(beds, 'bed', 'beds')})"


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
        share = f"over {low or 0:.0%}"
    elif low is None:
        share = f"under {high:.0%}"
    else:
        share = f"{low * 100:.0f} to {high:.0%}"
    told = "" if direct_hours is None else f" · {half_hours(direct_hours):g} h of sun"
    return f"{share}{told}".replace("%", " %")


def fall_class(low_percent: float | None, units: Units) -> str:
    """A class of steepness by its gentle end."""
    if low_percent is None:
        return "nearly level"
    return f"{words.fall(low_percent, units)} or more"


def tunnel_ground(number: int, low_percent: float | None, units: Units) -> str:
    """A class of steepness, 0 to 2, by what it means for a tunnel."""
    meaning = (
        "a tunnel can point any way",
        "only with its length up and down the slope",
        "level the ground first",
    )[number]
    return f"{fall_class(low_percent, units)}: {meaning}"


def place(rank: int, beds: int, sharing: int) -> str:
    """A place in an order; beds that share it are no different."""
    if 1 < sharing == beds:
        return "no real difference between beds"
    if 2 * sharing > beds:
        return "no real difference between most beds"
    where = f"{words.ordinal(rank)} of {beds}"
    if sharing == 1:
        return where
    return f"{where}, like {sharing - 1} more"


def planted(group: str, beds: int, alike: int) -> str:
    """The group of a bed in the order of planting, and how many beds are in it.

    Places within a group are not told: people would read more into them than is known.

    Examples
    --------
    >>> planted("first", 52, 9), planted("last", 1, 1)
    ('Plant first (9 of 52 beds)', 'Plant last (1 of 1 bed)')
    """
    return f"{GROUPS[group]} ({alike} of {_counted(beds, 'bed', 'beds')})"


def points(bearing_deg: float) -> str:
    """Which way a tunnel points."""
    sixteenth = SIXTEENTHS[round(bearing_deg / 22.5) % 8]
    return f"points {sixteenth} ({bearing_deg:.0f}°)"


def layout_part(plot: str, part: int, parts: int) -> str:
    """A plot, or one part of a bent one."""
    return plot if parts == 1 else f"{plot}, part {part} of {parts}"


def layout_beds(blocks: Sequence[str], beds: int, area: str) -> str:
    """How many beds, in which blocks."""
    named = f", block{'s' if len(blocks) > 1 else ''} {words.listed(blocks)}"
    return f"{_counted(beds, 'bed', 'beds')}{named if blocks else ''}, {area}"


def tunnel_size(tunnel: TunnelPlace, units: Units) -> str:
    """Length, width and height."""
    return (
        f"{words.length(tunnel.length_m, units)} long, "
        f"{words.length(tunnel.width_m, units)} wide, "
        f"{words.length(tunnel.height_m, units)} high"
    )


def tunnel_earth(tunnel: TunnelPlace, units: Units) -> str:
    """Earth to move for a level pad."""
    return f"level pad: cut and fill {words.volume(tunnel.earth_level_m3, units)} each"


def tunnel_ways(tunnel: TunnelPlace, units: Units) -> str:
    """Straight ways to gate and water."""
    told = [
        NOT_ON_MAP if way_m is None else words.length(round(way_m), units)
        for way_m in (tunnel.to_gate_m, tunnel.to_water_m)
    ]
    return f"gate: {told[0]}; water: {told[1]}"


def tunnel_choice(letter: str, said: str, *, taken: bool) -> str:
    """One set of places for all tunnels."""
    return f"Choice {letter}{' (in this plan)' if taken else ''}: {said}"


def tunnel_light(name: str) -> str:
    """Heading of the table of light by bearing."""
    return f"{name}: light under the cover, by the way it points"


def materials_sentence() -> str:
    """What is listed for the shop and the crew."""
    return (
        "The lists below say what to buy, how to cut hoops, and where pegs go by tape; "
        "materials.xlsx, stakes.csv and stakes.gpx have them too."
    )


def roof(tunnel: str, litres: float, peak_l_s: float, units: Units) -> str:
    """Rain off a tunnel."""
    if units == "us":
        inch = words.water(litres * 25.4 / 25.0, units)
        return (
            f"{tunnel} sheds {inch} in every inch of rain, and at its worst "
            f"{peak_l_s * 15.850323:.0f} gallons a minute."
        )
    return (
        f"{tunnel} sheds {words.water(litres, units)} in every 25 mm of rain, and at its "
        f"worst {peak_l_s:.1f} litres a second."
    )


def cover_to_cut(low: LowTunnel, units: Units) -> str:
    """Width and length of a cover, and the roll that it comes from."""
    size = (
        f"{words.pipe(low.cover_width_m, units)} by "
        f"{words.pipe(low.cover_length_m, units)}"
    )
    roll = words.pipe(low.roll_width_m, units)
    if low.joins:
        return f"{size}, {low.joins + 1} widths of {roll} joined"
    return f"{size}, from a roll {roll} wide"


def weights(number: int, gap_m: float, units: Units) -> str:
    """Weights along both edges, or none where they are buried."""
    if not number:
        return "edges buried"
    return f"{number}, {words.pipe(gap_m, units)} apart"


def pegs(block: str) -> str:
    """Heading of the peg list of a block."""
    return f"Pegs of {block}: one tape, one baseline"


def tape(line: Baseline, units: Units) -> str:
    """How a block's baseline lies, and how its corner is proved square."""
    told = [
        words.pipe(each, units) for each in (line.length_m, line.out_m, line.diagonal_m)
    ]
    way = words.direction(line.bearing_deg)
    return (
        f"Lay a tape of {told[0]} along the baseline, from its start to the {way}. Square "
        f"out to the {line.side} of the start measure {told[1]}: from there to the tape's "
        f"far end it must be {told[2]}."
    )


def tunnel_slope(tunnel: TunnelPlace, units: Units) -> str:
    """Slopes along and across."""
    return (
        f"{fall(tunnel.slope_along_percent, units)} along, "
        f"{fall(tunnel.slope_across_percent, units)} across"
    )


def surrounding(kind: str, height_m: float | None, units: Units) -> str:
    """What stands there and how high."""
    what = KINDS.get(kind, kind)
    told = what if height_m is None else f"{what}, {words.length(height_m, units)} high"
    return f"{told}. {NEAR[kind]}" if kind in NEAR else told


def in_month(month: str) -> str:
    """Start of what is read for one month."""
    return f"In {month}:"


def _counted(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"
