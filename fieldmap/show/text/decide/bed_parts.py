"""Parts of beds within a sentence, which says once where their metres are counted from."""

from collections.abc import Sequence

from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units

WORDS = texts(__name__, "words")

# A bed by its name, and where a part of it starts and ends, from the gate end [m].
Part = tuple[str, float, float]


def named(parts: Sequence[Part], units: Units, *, is_first: bool = True) -> list[str]:
    """Beds that are taken in part, each with all its parts.

    Parameters
    ----------
    parts
        Those of one bed stand beside each other.
    units
        "metric" or "us".
    is_first
        Whether the sentence has named no part before. The first bed then says that its
        metres are counted from the gate end.

    Examples
    --------
    >>> named([("A6", 0.0, 6.0), ("A6", 17.0, 29.0), ("A5", 0.0, 12.5)], "metric")
    ['A6 (0 to 6 m and 17 to 29 m from the gate end)', 'A5 (0 to 12.5 m)']
    >>> named([("T1/4", 0.0, 18.0)], "us", is_first=False)
    ['bed 4 in tunnel T1 (0 to 59 ft)']
    """
    stretches: dict[str, list[str]] = {}
    for bed, start_m, end_m in parts:
        stretch = quantities.length_range((start_m, end_m), units)
        stretches.setdefault(bed, []).append(stretch)
    return [
        _(WORDS["part_from_gate" if is_first and at == 0 else "part"]).format(
            bed=names.bed(bed), stretches=names.listed(said)
        )
        for at, (bed, said) in enumerate(stretches.items())
    ]
