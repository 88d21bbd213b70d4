"""What may stand or lie around a plot, and what each kind does to light and air.

A new kind is a line here. Its word goes in `show/text/names.toml`, its sign in
`show/text/map/signs.toml` and `show/layer_styles.py`; tests name what is missing.
"""

from collections.abc import Mapping
from typing import NamedTuple

# What is kept clear of overhead lines up to 50 kV (3 m or 10 ft, from memory of common
# rules; the line's owner and the law decide), and with the longest pipe of a tunnel's
# frame, 6 m.
CLEARANCE_M = 3.0
PIPE_AND_CLEARANCE_M = 6.0 + CLEARANCE_M


class Kind(NamedTuple):
    """What a kind of surroundings does.

    Attributes
    ----------
    tunnel_clear_m
        Kept clear of it by a walk-in tunnel (common practice, no source); None: as far
        as it is high.
    stands
        It has a height, casts shade and shelters from the wind.
    holds_cold_air
        It stands in the way of cold air, unless on clear stems.
    makes_cold_air
        Ground under it cools on a clear night.
    """

    tunnel_clear_m: float | None
    stands: bool = False
    holds_cold_air: bool = False
    makes_cold_air: bool = True


KINDS: Mapping[str, Kind] = {
    "building": Kind(3.0, stands=True, holds_cold_air=True, makes_cold_air=False),
    "hedge": Kind(2.0, stands=True, holds_cold_air=True),
    "tree": Kind(None, stands=True),
    "trees": Kind(None, stands=True, holds_cold_air=True),
    "wall": Kind(1.5, stands=True, holds_cold_air=True),
    "fence": Kind(1.5, stands=True, holds_cold_air=True),
    "bank": Kind(1.5, stands=True, holds_cold_air=True),
    "water": Kind(5.0, makes_cold_air=False),
    "water point": Kind(1.0),
    "gate": Kind(4.0),
    "post": Kind(0.5),
    "overhead line": Kind(PIPE_AND_CLEARANCE_M),
    "road": Kind(2.0, makes_cold_air=False),
    "keep off": Kind(0.5),
}
STANDING = tuple(name for name, kind in KINDS.items() if kind.stands)
HOLDING_COLD_AIR = tuple(name for name, kind in KINDS.items() if kind.holds_cold_air)
MAKING_NO_COLD_AIR = tuple(
    name for name, kind in KINDS.items() if not kind.makes_cold_air
)
LEAVES = ("deciduous", "evergreen", "none")
