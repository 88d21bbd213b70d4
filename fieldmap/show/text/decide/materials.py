"""What to buy and cut, in words."""

from fieldmap.decide.materials.cutting import Pattern
from fieldmap.decide.materials.model import Materials
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, plural
from fieldmap.show.text.quantities import Units

STUB_M = 0.05  # what is left of a pipe and shorter is not worth a sentence (a choice)
ITEMS = texts(__name__, "items")


def item(name: str) -> str:
    """What a line of the list is about: an item, or a kind of cover."""
    return _(ITEMS[name]) if name in ITEMS else names.cover_name(name)


def cutting_list(materials: Materials, units: Units) -> list[str]:
    """How many stock lengths are cut into which pieces."""
    stock = quantities.length(materials.stock_m, units)
    return [_cut(pattern, stock, units) for pattern in materials.cutting]


def _cut(pattern: Pattern, stock: str, units: Units) -> str:
    parts = [
        _("{count} × {length}").format(count=count, length=quantities.pipe(m, units))
        for m, count in pattern.pieces
    ]
    if pattern.rest_m < STUB_M:
        return plural(
            "Take {number} pipe of {stock}. Cut {parts} from it.",
            "Take {number} pipes, each {stock} long. Cut {parts} from each.",
            pattern.times,
            stock=stock,
            parts=names.listed(parts),
        )
    return plural(
        "Take {number} pipe of {stock}. Cut {parts} from it. About {rest} is left over.",
        "Take {number} pipes, each {stock} long. Cut {parts} from each. About {rest} of each is left over.",
        pattern.times,
        stock=stock,
        parts=names.listed(parts),
        rest=quantities.pipe(pattern.rest_m, units),
    )
