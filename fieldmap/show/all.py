"""All that draws a plan, to be loaded at once while the plan is made."""

from fieldmap.show import files, terminal
from fieldmap.show.apart import apart
from fieldmap.show.kept import kept
from fieldmap.show.map import map_html, tonight
from fieldmap.show.print import pdfs

__all__ = ["apart", "files", "kept", "map_html", "pdfs", "terminal", "tonight"]
