"""What to cover tonight, by the low that is forecast."""

from collections.abc import Iterable, Sequence

from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

# What a bed is drawn as on the map of tonight.
SIGN_LABELS = texts(__name__, "sign_labels")


def low(degrees: int, units: Units) -> str:
    """A forecast low as a whole number.

    Examples
    --------
    >>> low(-2, "metric"), low(28, "us")
    ('−2 °C', '28 °F')
    """
    unit = "°F" if units == "us" else "°C"
    return f"{degrees} {unit}".replace("-", "−")


def plain_low(degrees: int) -> str:
    """A forecast low with its sign and no unit, as it heads a column.

    Examples
    --------
    >>> plain_low(4), plain_low(0), plain_low(-2)
    ('+4', '0', '−2')
    """
    return f"{degrees:+d}".replace("-", "−") if degrees else "0"


def bare(plots: Sequence[str]) -> tuple[str, ...]:
    """Plots on which nothing stands, and that there is nothing to protect; none for none.

    Examples
    --------
    >>> bare(["Top", "Brook"])
    ('Top and Brook', 'Nothing to protect.')
    """
    if not plots:
        return ()
    few = len(plots) <= names.MOST_NAMED
    named = names.listed(plots) if few else phrase("tonight_other_plots")
    return named, phrase("tonight_bare_plots")


def if_tunnel(tunnels: Iterable[str]) -> tuple[str, ...]:
    """That crops inside tunnels are safe only where these stand; nothing outdoors.

    Parameters
    ----------
    tunnels
        In which each crop of the list stands; "" for one outdoors.

    Examples
    --------
    >>> if_tunnel([""]), len(if_tunnel(["", "T2", "T2"]))
    ((), 1)
    """
    named = list(dict.fromkeys(filter(None, tunnels)))
    if not named:
        return ()
    listed = names.listed(named)
    return (phrase("tonight_if_tunnel", number=len(named), tunnels=listed),)
