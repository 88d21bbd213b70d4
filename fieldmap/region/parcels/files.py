"""What people get of a region: `region.html`, `parcels.csv` and `parcels.gpkg`."""

from pathlib import Path
from tempfile import TemporaryDirectory

from fieldmap.model.raster import Raster
from fieldmap.model.region import Region
from fieldmap.read.wording import typed
from fieldmap.region.files import write_whole
from fieldmap.region.parcels import map_page, tables
from fieldmap.region.parcels.describe import Described, coarse_heights
from fieldmap.region.parcels.map_page import Shown
from fieldmap.region.tiles import Place
from fieldmap.show.map.scene.contours import smoothed

PAGE, TABLE, LAYERS_OF_GIS = "region.html", "parcels.csv", "parcels.gpkg"
MOST_CELLS = 500  # of the ground on the page, along a side


def write(described: Described, region: Region, place: Place) -> Path:
    """Write all of them beside the layers, each whole or not at all; the page's place.

    Parameters
    ----------
    described
        All that is known of the parcels, and remarks.
    region
        What was read of the region.
    place
        Where its tiles lie; the files go beside them.
    """
    units, chosen = region.settings.units, described.chosen
    shown = Shown(
        region.settings.name,
        _coarser(coarse_heights(place)),
        units,
        typed(region.folder),
    )
    page = map_page.page(chosen, shown, described.remarks)
    with TemporaryDirectory() as aside:
        path = Path(aside) / LAYERS_OF_GIS
        tables.write_geopackage(chosen, units, path)
        write_whole(place.out / LAYERS_OF_GIS, path.read_bytes())
    write_whole(place.out / TABLE, tables.csv(chosen, units).encode())
    write_whole(place.out / PAGE, page.encode())
    return place.out / PAGE


def _coarser(heights: Raster) -> Raster:
    """No more cells than a page shows, of smoothed ground."""
    every = -(-max(heights.shape) // MOST_CELLS)
    if every == 1:
        return heights
    smooth = smoothed(heights, every * heights.cell_size_m / 2)
    return Raster(
        smooth.values[every // 2 :: every, every // 2 :: every],
        smooth.transform * smooth.transform.scale(every),
        smooth.crs,
    )
