"""From a folder of files to a checked `Site`.

Nothing slow is loaded here, so that bad input is told at once; `describe`, which says
what was found, follows the water over the ground and loads the layers.
"""

from fieldmap.read.folder import read_site
from fieldmap.read.settings import spoken_in

__all__ = ["read_site", "spoken_in"]
