"""What to buy, cut and peg."""

from fieldmap.decide.materials import LowTunnel, Roof
from fieldmap.decide.stakes import Baseline
from fieldmap.show.text import quantities
from fieldmap.show.text.decide.cautions import BURIED_LINES
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units

CAUTIONS = (
    later(
        "Cap every stake and hoop end that stands up. Wear eye protection when you cut or "
        "bend hoops and pull film. Never pull film in wind."
    ),
    BURIED_LINES,
    later(
        "Carry pipes flat under overhead lines, and keep the longest pipe plus the legal "
        "clearance away from them; the line's owner decides."
    ),
)


def roof(roof: Roof, units: Units) -> str:
    """Rain off a tunnel."""
    if units == "us":
        inch = quantities.water(roof.litres_per_25_mm * 25.4 / 25.0, units)
        return _(
            "{tunnel} sheds {water} in every inch of rain, and at its worst {peak} gallons "
            "a minute."
        ).format(
            tunnel=roof.tunnel, water=inch, peak=f"{roof.peak_l_s * 15.850323:.0f}"
        )
    return _(
        "{tunnel} sheds {water} in every 25 mm of rain, and at its worst {peak} litres a "
        "second."
    ).format(
        tunnel=roof.tunnel,
        water=quantities.water(roof.litres_per_25_mm, units),
        peak=f"{roof.peak_l_s:.1f}",
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
