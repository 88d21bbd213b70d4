"""Words of the page and its buttons, by key."""

from datetime import date

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, date_in_words, plural

LABELS = texts(__name__, "labels")


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
