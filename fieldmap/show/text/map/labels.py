"""Words of the page and its buttons, by key."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.sentence import phrase

LABELS = texts(__name__, "labels")


def label(key: str) -> str:
    """One of LABELS in the current language."""
    return _(LABELS[key])


def labels() -> dict[str, str]:
    """All of LABELS in the current language, for the page and its script."""
    return {key: _(text) for key, text in LABELS.items()}


def contents(plots: int, beds: int, tunnels: int) -> str:
    """What the page holds, under its heading."""
    counts = {"plot_count": plots, "bed_count": beds, "tunnel_count": tunnels}
    return ", ".join(phrase(kind, number=count) for kind, count in counts.items())
