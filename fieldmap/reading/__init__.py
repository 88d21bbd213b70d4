"""From a folder of files to a checked `Site`.

Nothing slow is loaded here, so that bad input is told at once; `describe`, which says
what was found, follows the water over the ground and loads the layers.
"""

from fieldmap.reading.choices import spoken_in
from fieldmap.reading.folder import read_site

__all__ = ["read_site", "spoken_in"]
