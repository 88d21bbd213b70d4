"""Places for walk-in tunnels: every place with room is compared, a few sets are shown.

There is no score: `criteria` has what matters, each for itself; `rank` takes the place
for what the grower asks first and refuses what another place beats; `tunnel_sets` says
what each set gives and gives up.
"""

from fieldmap.decide.tunnels.between import Sky, shade_between
from fieldmap.decide.tunnels.find import find
from fieldmap.decide.tunnels.model import (
    SiteOption,
    TunnelPlace,
    TunnelSet,
    TunnelSites,
)
from fieldmap.decide.tunnels.room import WORKING_SPACE_M
from fieldmap.decide.tunnels.standing import (
    END_M,
    as_bed,
    floor_bed_count,
    floor_beds,
    shaded_by,
    standing,
    working_space,
)

__all__ = [
    "END_M",
    "WORKING_SPACE_M",
    "SiteOption",
    "Sky",
    "TunnelPlace",
    "TunnelSet",
    "TunnelSites",
    "as_bed",
    "find",
    "floor_bed_count",
    "floor_beds",
    "shade_between",
    "shaded_by",
    "standing",
    "working_space",
]
