"""Lines of all history files by the beds that they name, and the beds of a made plan."""

from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import date
from pathlib import Path

import pyproj
import shapely
from shapely.geometry import Polygon

from fieldmap.errors import SiteError
from fieldmap.model.coordinates import in_crs
from fieldmap.model.settings import Files
from fieldmap.model.site import Stood
from fieldmap.read import door
from fieldmap.read.field_log import read_happened
from fieldmap.read.outlines.files import read_outlines
from fieldmap.read.thermometers import read_thermometers

# The bed, and a day or a crop.
Line = tuple[str, date | None, str]
PLAN = "plan.gpkg"  # in the folder of a plan


def lines_of_history(
    folder: Path,
    files: Files,
    last_year: Sequence[Stood],
    crops: Collection[str],
    beds: Callable[[str], Sequence[str]],
) -> Iterator[tuple[str, list[Line]]]:
    """Each history file that is there, with its lines.

    Parameters
    ----------
    folder
        The site folder.
    files
        Names of the history files, as `site.toml` has them.
    last_year
        Lines of the file of last year, which the site holds already.
    crops
        Names of crops that a line may use.
    beds
        Names of beds that the lines of a file may use, by the name of the file.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    if last_year:
        yield files.last_year, [(each.bed, None, each.crop) for each in last_year]
    log = read_happened(folder, files.happened, beds(files.happened), crops)
    if log:
        yield files.happened, [(each.bed, each.day, "") for each in log]
    readings = read_thermometers(folder, files.thermometers)
    if readings:
        yield files.thermometers, [(bed, day, "") for bed, day in readings.on_beds]


def beds_of_plan(folder: Path, crs: pyproj.CRS) -> list[tuple[str, Polygon]]:
    """Beds of the plan that lies in a folder; none where there is none to be read."""
    try:
        if not door.is_there(folder, PLAN):
            return []
        file = door.open_file(folder, PLAN, door.MOST_BYTES_OF_OUTLINES)
        frame = in_crs(read_outlines(file, "beds", ("name",)).frame, crs)
    except SiteError:
        return []
    return [
        (str(name), shapely.get_parts(shape)[0])
        for name, shape in zip(frame["name"], frame.geometry, strict=True)
    ]
