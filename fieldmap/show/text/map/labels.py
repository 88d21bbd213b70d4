"""Words of the page and its buttons, by key."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text.language import _, date_in_words, later, plural

if TYPE_CHECKING:
    from datetime import date


LABELS = {
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


def label(key: str) -> str:
    """One of LABELS in the current language."""
    return _(LABELS[key])


def labels() -> dict[str, str]:
    """All of LABELS in the current language, for the page and its script."""
    return {key: _(text) for key, text in LABELS.items()}


def page_title(site: str) -> str:
    """Name of the page."""
    return _("{site}: where to plant").format(site=site)


def contents(plots: int, beds: int, tunnels: int) -> str:
    """What the page holds, under its heading."""
    return ", ".join(
        (
            plural("{number:,} plot", "{number:,} plots", plots),
            bed_count(beds),
            plural(
                "{number:,} place for a tunnel",
                "{number:,} places for tunnels",
                tunnels,
            ),
        )
    )


def bed_count(number: int) -> str:
    """How many beds."""
    return plural("{number:,} bed", "{number:,} beds", number)


def background() -> dict[str, str]:
    """Beside the box that shows pictures from the internet, and when none comes."""
    return {
        "label": _("Show pictures from the internet behind the map (needs signal)"),
        "failed": _("No picture came from the internet. Is there signal?"),
    }


def week(start: date) -> str:
    """A week by its Monday."""
    return _("Week of {day}").format(day=date_in_words(start))
