"""Made-up site folders on disk, written file by file so that one can be spoiled."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from affine import Affine
from shapely.geometry import box

from fieldmap.errors import SiteError
from fieldmap.read import read_site

LONG_AGO = "2015-01-01"
SURROUNDINGS_COLUMNS = (
    "name",
    "kind",
    "height_m",
    "porosity",
    "clear_stem_m",
    "leaf",
    "width_m",
)


def plane_m(east_m, north_m):
    """Heights that rise 1 m in 10 m towards the east and 1 m in 5 m towards the north."""
    return 200.0 + 0.1 * east_m + 0.2 * north_m


_PLAIN = {}  # files by place


class SiteFolder:
    """A folder with a 600 m square of sloping ground and one plot in its middle.

    Places are given in metres from the south-west corner of the square.
    """

    def __init__(self, path, epsg=32633, west=520000.0, south=5100000.0):
        self.path = path
        self.crs = f"EPSG:{epsg}"
        self.west, self.south = west, south
        self.size_m, self.cell_m = 600.0, 10.0

    def plain(self):
        """Every file as it should be, made once a process for one place."""
        place = self.crs, self.west, self.south, self.size_m, self.cell_m
        if place not in _PLAIN:
            self.toml()
            self.plots()
            self.elevation()
            self.weather()
            _PLAIN[place] = {
                name: (self.path / name).read_bytes()
                for name in (
                    "site.toml",
                    "plots.geojson",
                    "elevation.tif",
                    "weather.csv",
                )
            }
        for name, content in _PLAIN[place].items():
            (self.path / name).write_bytes(content)
        return self

    def toml(self, text='name = "Hill Farm"\n'):
        (self.path / "site.toml").write_text(text, encoding="utf-8")

    def box(self, west_m, south_m, east_m, north_m):
        """A rectangle on the ground."""
        return box(
            self.west + west_m,
            self.south + south_m,
            self.west + east_m,
            self.south + north_m,
        )

    def outlines(self, file, table, shapes, crs="EPSG:4326", **how):
        """Write shapes of the site's CRS to a file in another."""
        frame = gpd.GeoDataFrame(table, geometry=list(shapes), crs=self.crs)
        frame.to_crs(crs).to_file(self.path / file, **how)
        return self.path / file

    def plots(self, shapes=None, file="plots.geojson", crs="EPSG:4326", **columns):
        shapes = [self.box(250, 270, 350, 330)] if shapes is None else shapes
        names = [f"Plot {number}" for number in range(1, len(shapes) + 1)]
        return self.outlines(file, {"name": names} | columns, shapes, crs)

    def surroundings(self, *things, file="surroundings.geojson"):
        """Things as (kind, shape, facts)."""
        rows = [
            dict.fromkeys(SURROUNDINGS_COLUMNS) | {"kind": kind} | facts
            for kind, _, facts in things
        ]
        return self.outlines(file, rows, [shape for _, shape, _ in things])

    def elevation(
        self, values=None, transform=None, crs=None, unit="metre", nodata=None, **how
    ):
        """Write heights; the plane of `plane_m` on north-up cells unless given."""
        if values is None:
            values = self.plane().astype("float32")
        values = np.asarray(values)
        bands = values[None] if values.ndim == 2 else values
        if transform is None:
            north = self.south + self.size_m
            transform = Affine(self.cell_m, 0, self.west, 0, -self.cell_m, north)
        with rasterio.open(
            self.path / "elevation.tif",
            "w",
            driver="GTiff",
            width=bands.shape[2],
            height=bands.shape[1],
            count=bands.shape[0],
            dtype=bands.dtype,
            crs=self.crs if crs is None else crs or None,
            transform=transform,
            nodata=nodata,
            **how,
        ) as target:
            target.write(bands)
            if unit is not None:
                target.units = (unit,) * bands.shape[0]

    def plane(self):
        """Heights of the plane on the site's cells, row 0 in the north."""
        count = round(self.size_m / self.cell_m)
        middles = (np.arange(count) + 0.5) * self.cell_m
        east_m, north_m = np.meshgrid(middles, middles[::-1])
        return plane_m(east_m, north_m)

    def weather(self, table=None, text=None, header=None):
        """A two-year record of tmin -8 to 14 and tmax 2 to 26 °C unless given."""
        if table is None:
            table = self.days()
        if text is None:
            text = table.to_csv(index=False, header=header or True)
        (self.path / "weather.csv").write_text(text, encoding="utf-8")

    def days(self, start=LONG_AGO, end="2016-12-31"):
        dates = pd.date_range(start, end)
        season = -np.cos(2 * np.pi * (dates.day_of_year - 15) / 365.25)
        return pd.DataFrame(
            {
                "date": dates.strftime("%Y-%m-%d"),
                "tmin_c": np.round(3 + 11 * season, 1),
                "tmax_c": np.round(14 + 12 * season, 1),
            }
        )

    def read(self):
        return read_site(self.path)

    def problems(self):
        """The sentences with which the folder is refused."""
        with pytest.raises(SiteError) as refused:
            read_site(self.path)
        return [str(each) for each in refused.value.problems]

    def problem(self):
        """The one sentence with which the folder is refused."""
        problems = self.problems()
        assert len(problems) == 1, problems
        return problems[0]
