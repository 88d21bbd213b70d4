"""Words of the page, its buttons and the columns of its tables, by key."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.sentence import phrase

LABELS = texts(__name__, "labels")
HEADINGS = texts(__name__, "headings")


def label(key: str) -> str:
    """One of LABELS in the current language."""
    return _(LABELS[key])


def heading(key: str) -> str:
    """One of HEADINGS, or of LABELS, in the current language; else the text itself."""
    return _(HEADINGS.get(key) or LABELS.get(key, key))


def labels() -> dict[str, str]:
    """All of LABELS in the current language, for the page and its script."""
    return {key: _(text) for key, text in LABELS.items()}


def contents(plots: int, beds: int, tunnels: int) -> str:
    """What the page holds, under its heading.

    Parameters
    ----------
    plots
        Number of plots.
    beds
        Number of beds.
    tunnels
        Number of walk-in tunnels.
    """
    counts = {"plot_count": plots, "bed_count": beds, "tunnel_count": tunnels}
    return ", ".join(phrase(kind, number=count) for kind, count in counts.items())
