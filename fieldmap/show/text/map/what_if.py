"""What a change of the surroundings does to the beds."""

from collections.abc import Sequence

from fieldmap.show.text import names
from fieldmap.show.text.language import _, later

NEVER_WARM_ENOUGH = later("not told, as the first date is not")

AS_NOW = later("as now")


def heading(name: str) -> str:
    """Heading of the table of what an alternative does to each bed."""
    return _("What if: {name}").format(name=name)


def alike(beds: Sequence[str]) -> str:
    """Beds that follow each other and are alike.

    Examples
    --------
    >>> alike(["A1"]), alike(["A1", "A2"]), alike(["A1", "A2", "A3"])
    ('A1', 'A1 and A2', 'A1 to A3')
    """
    return names.listed(beds) if len(beds) == 2 else names.run(beds)
