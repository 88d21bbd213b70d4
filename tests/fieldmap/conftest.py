"""Made-up site folders on disk, written file by file so that one can be spoiled."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from affine import Affine
from browser import DESKTOP, PHONE, Page, chromium
from made_up import plane, plot_box, site, surroundings
from shapely.geometry import box

from fieldmap.cache import Store
from fieldmap.errors import SiteError
from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read import read_site
from fieldmap.read.outlines.what_if import imagine
from fieldmap.show.map import map_html

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
        """Every file as it should be."""
        self.toml()
        self.plots()
        self.elevation()
        self.weather()
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


@pytest.fixture
def site_folder(tmp_path):
    """A plain site folder at 46°N, 15.3°E, ready to be spoiled."""
    return SiteFolder(tmp_path).plain()


@pytest.fixture
def empty_site_folder(tmp_path):
    """Makes a site folder elsewhere, with nothing in it yet."""

    def make(epsg, west, south):
        return SiteFolder(tmp_path, epsg, west, south)

    return make


def assert_says(sentence, *parts):
    """Every part stands in the sentence."""
    for part in parts:
        assert part in sentence, f"{part!r} not in {sentence!r}"


@pytest.fixture
def says():
    """Checks that a sentence holds all of some words."""
    return assert_says


@pytest.fixture(scope="session")
def hedged_plan(tmp_path_factory):
    """A plot of 40 m by 80 m on ground that falls 5 % south, a hedge at its foot."""
    ground = plane(rows=200, cols=200, north=0.05, cell_size_m=2.0)
    hedge = {
        "name": "Long Hedge",
        "height_m": 3.0,
        "porosity": 0.2,
        "clear_stem_m": 0.0,
        "leaf": "evergreen",
    }
    around = surroundings(("hedge", plot_box(150, -44, 250, -42), hedge))
    made_up = site(ground, {"Home": plot_box(180, -40, 220, 40)}, around)
    what_if = (WhatIf(name="No hedge", take_away=("Long Hedge",)),)
    made_up = replace(made_up, alternatives=imagine(what_if, around, "metric"))
    store = Store(tmp_path_factory.mktemp("store"))
    return make_plan(made_up, store, lambda step: None)


# The map of a module's own `plan`, in a browser


@pytest.fixture(scope="module")
def map_file(plan, tmp_path_factory):
    path = tmp_path_factory.mktemp("html") / "map.html"
    path.write_text(map_html(plan), encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def browser():
    with chromium() as opened:
        yield opened


@pytest.fixture(params=["desktop", "phone"])
def opened(request, browser, map_file):
    size = {"desktop": DESKTOP, "phone": PHONE}[request.param]
    shown = Page(browser, map_file, **size)
    yield shown
    shown.close()


@pytest.fixture
def desktop(browser, map_file):
    shown = Page(browser, map_file, **DESKTOP)
    yield shown.page
    shown.close()
