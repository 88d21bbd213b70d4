"""From a folder of files to a checked `Site`.

Every file comes in through `door`. Nothing slow is loaded here, so that bad input is
reported at once. What is wrong is a `Problem`, what is worth knowing a `Fact`: the words of
a language are found where they are shown.
"""

from fieldmap.read.folder import read_site
from fieldmap.read.settings import language_and_units

__all__ = ["language_and_units", "read_site"]
