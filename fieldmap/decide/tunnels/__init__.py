"""Places for walk-in tunnels: every place with room is compared, a few sets are shown.

Light under the cover does not decide: places are chosen by the fall of the ground, the
winter light that reaches it, the cold air that lies there, and the room.
"""

from fieldmap.decide.tunnels.find import find
from fieldmap.decide.tunnels.model import (
    SiteOption,
    TunnelPlace,
    TunnelSet,
    TunnelSites,
)
from fieldmap.decide.tunnels.room import WORKING_SPACE_M
from fieldmap.decide.tunnels.standing import shaded_by, standing, working_space

__all__ = [
    "WORKING_SPACE_M",
    "SiteOption",
    "TunnelPlace",
    "TunnelSet",
    "TunnelSites",
    "find",
    "shaded_by",
    "standing",
    "working_space",
]
