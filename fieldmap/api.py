"""What Python programs call: read a site, make a plan, take its results as tables and grids.

Every number is in the unit at the end of its name: metres, degrees, °C, MJ/m² a day.
Bearings are clockwise from true north. What a user can mend is a `FieldmapError` of one
clear sentence for each mistake.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import pyproj
import shapely
from affine import Affine
from PIL import Image

from fieldmap import plan as planning
from fieldmap import read as reading
from fieldmap.cache import Store
from fieldmap.errors import FieldmapError
from fieldmap.model.fact import Fact
from fieldmap.model.site import Site
from fieldmap.plan import Plan
from fieldmap.show import files
from fieldmap.show.files import geopackage
from fieldmap.show.files import grids as grid_files
from fieldmap.show.files import tables as columns
from fieldmap.show.files.tables import beds as bed_table
from fieldmap.show.files.tables import crop_plan as stay_table
from fieldmap.show.files.tables import dates as date_table
from fieldmap.show.files.tables import stakes as stake_table
from fieldmap.show.map import map_html, still
from fieldmap.show.map.questions import Asked
from fieldmap.show.print import pdfs
from fieldmap.show.text.language import codes
from fieldmap.show.text.sentence import say

__all__ = [
    "FieldmapError",
    "Grid",
    "Plan",
    "Site",
    "dates",
    "green_manures",
    "grids",
    "make_plan",
    "map_html",
    "picture_of_beds",
    "picture_of_cold_air",
    "read_site",
    "stays",
    "tables",
    "write_plan",
]


@dataclass(frozen=True)
class Grid:
    """One result on square, north-up cells.

    Attributes
    ----------
    values
        (bands, rows, cols) as float32, row 0 in the north; NaN is missing.
    bands
        What each band is: a month, or low, central and high.
    unit
        Of the values, as the GeoTIFF of the same name says it.
    transform, crs
        From (col, row) of cell corners to metres in a projected CRS.
    """

    values: npt.NDArray[np.float32]
    bands: tuple[str, ...]
    unit: str
    transform: Affine
    crs: pyproj.CRS

    @property
    def profile(self) -> dict[str, Any]:
        """What `rasterio.open(path, "w", **profile)` needs to write the values."""
        count, rows, cols = self.values.shape
        return {
            "driver": "GTiff",
            "count": count,
            "height": rows,
            "width": cols,
            "dtype": "float32",
            "nodata": np.nan,
            "crs": self.crs,
            "transform": self.transform,
        }


def read_site(folder: str | Path) -> Site:
    """Read and check everything in a site folder.

    Parameters
    ----------
    folder
        Folder of the site, which holds `site.toml`.

    Raises
    ------
    FieldmapError
        With one sentence for every mistake in any of the files.
    """
    return reading.read_site(Path(folder), codes())


def make_plan(
    site: Site,
    *,
    store: str | Path | None = None,
    progress: Callable[[str], None] | None = None,
    today: date | None = None,
) -> Plan:
    """Make a plan: tunnels, beds around them, their order, dates, crops and jobs.

    Parameters
    ----------
    site
        From `read_site`.
    store
        A folder in which results of slow steps are kept for the next plan of the site,
        such as the `.fieldmap` of the site's folder, which the command uses. None: all of
        the site is computed anew and nothing of it is left behind.
    progress
        Called with a line of text as each step of the work begins.
    today
        The day of planning, from which the list by week runs; None: the day on which
        this is called. The same day and inputs give the same plan.

    Raises
    ------
    FieldmapError
        When the elevation ends at the plots, or no ground of a plot can be planted.
    """

    def tell(step: Fact) -> None:
        if progress is not None:
            progress(say(step, site.settings.units))

    day = datetime.now().astimezone().date() if today is None else today
    if store is not None:
        return planning.make_plan(site, Store(Path(store)), tell, day)
    with tempfile.TemporaryDirectory() as folder:
        return planning.make_plan(site, Store(Path(folder)), tell, day)


def tables(plan: Plan) -> dict[str, gpd.GeoDataFrame]:
    """Everything with a place on the ground, in the CRS of the site.

    Parameters
    ----------
    plan
        From `make_plan`.

    Returns
    -------
    dict
        By name: `plots`, `beds` (the columns of beds.csv), `tunnels`, `stakes` (points),
        `cold_pockets`, `drain_lines` (ways of the cold air), `marks` and `surroundings`.
        A table of what there is none of has its columns and no rows.
    """
    site = plan.site
    found = geopackage.layers(plan)
    first = [bed_table.first_dates(plan.dates, at) for at in range(len(plan.beds))]
    for column in bed_table.FIRST_DATES:
        found["beds"][column.key] = [column.value(each) for each in first]
    pegs = _rows(stake_table.COLUMNS, plan.stakes.stakes)
    points = shapely.points(
        pegs["easting"].astype(float), pegs["northing"].astype(float)
    )
    found["stakes"] = gpd.GeoDataFrame(pegs, geometry=points, crs=site.crs)
    found["surroundings"] = site.surroundings.copy()
    return found


def dates(plan: Plan) -> pd.DataFrame:
    """First and last dates by bed, crop and cover, as MM-DD: the columns of dates.csv.

    Parameters
    ----------
    plan
        From `make_plan`.
    """
    beds = [ranked.bed.name for ranked in plan.beds]
    tunnels = [place.name for place in plan.tunnels]
    lines = date_table.lines((beds, plan.dates), (tunnels, plan.tunnel_dates))
    return _rows(date_table.COLUMNS, list(lines))


def stays(plan: Plan) -> pd.DataFrame:
    """Which crop stands on which bed from when to when: the columns of what_where.csv.

    Parameters
    ----------
    plan
        From `make_plan`.
    """
    planned = plan.crop_plan
    return _rows(stay_table.columns(planned.month_day), planned.stays)


def green_manures(plan: Plan) -> pd.DataFrame:
    """What is sown for the soil, on which metres of which bed, from when to when.

    Parameters
    ----------
    plan
        From `make_plan`.
    """
    planned = plan.crop_plan
    return _rows(stay_table.green_columns(planned.month_day), planned.green)


def grids(plan: Plan) -> dict[str, Grid]:
    """Everything known of the ground cell by cell, by the names of the GeoTIFFs.

    Parameters
    ----------
    plan
        From `make_plan`.
    """
    found = {}
    for each in grid_files.GRIDS:
        raster = each.raster(plan.analysis)
        found[each.name] = Grid(
            values=raster.values.reshape(-1, *raster.shape).astype(np.float32),
            bands=tuple(each.bands) or (each.name,),
            unit=each.unit,
            transform=raster.transform,
            crs=raster.crs,
        )
    return found


def picture_of_beds(plan: Plan) -> Image.Image:
    """A still map of the beds by when they can be planted.

    Parameters
    ----------
    plan
        From `make_plan`.
    """
    return _picture(plan, "early")


def picture_of_cold_air(plan: Plan) -> Image.Image:
    """A still map of the cold air at the end of a clear calm night.

    Parameters
    ----------
    plan
        From `make_plan`.
    """
    return _picture(plan, "cold")


def _picture(plan: Plan, key: str) -> Image.Image:
    asked = [each for each in Asked(plan).questions if each.key == key]
    units = plan.site.settings.units
    return still.of_questions(still.scenery(plan), asked, units)[key].image


def write_plan(plan: Plan, folder: str | Path) -> None:
    """Write the whole hand-over as the command does: map, sheets, tables and layers.

    Parameters
    ----------
    plan
        From `make_plan`.
    folder
        Folder to write; a plan that is there is replaced.

    Raises
    ------
    FieldmapError
        When the folder holds files that no plan wrote, or cannot be written.
    """
    sheets = {f"sheets/{name}": page for name, page in pdfs(plan).items()}
    files.write(plan, Path(folder), {"map.html": map_html(plan), **sheets})


def _rows(table: tuple[columns.Column[Any], ...], things: Any) -> pd.DataFrame:
    """A flat table of things; numbers and days are those of the file."""
    rows = [columns.flat(table, each, "metric") for each in things]
    return pd.DataFrame(rows, columns=list(columns.names(table)))
