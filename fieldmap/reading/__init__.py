"""From a folder of files to a checked `Site`, and what to say about it."""

from fieldmap.reading.describe import describe
from fieldmap.reading.folder import read_site

__all__ = ["describe", "read_site"]
