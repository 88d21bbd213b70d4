"""Every kind of input that is read, as a small site of which one file is spoiled."""

import csv
import io
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import rasterio
from affine import Affine
from site_folder import SiteFolder

from campaign import begun

Files = dict[str, bytes]

KEPT = Path(__file__).parent / "corpus"  # a folder for each kind; see `campaign.corpus`
PVLIB_DATA = Path(pvlib.__file__).parent / "data"
EVERY_CHOICE = """
name = "Hill Farm"
units = "metric"
language = "en"
order_for = "tomato"
tunnel_choice = "A"

[files]
weather = "weather.csv"
[ground]
height_unit = "m"
elevation_error_m = 0.2
smoothing_m = 5.0
[station]
latitude = 46.0
longitude = 15.3
elevation_m = 300.0
[wind]
prevailing_from_deg = 225.0
storm_from_deg = 300.0
summer_breeze_from_deg = 180.0
[sun]
sky_light = "hay-davies"
day = 2025-06-21
global_mj_m2_day = [4, 7, 11, 15, 19, 21, 21, 18, 13, 8, 4, 3]
diffuse_mj_m2_day = [2, 3, 5, 7, 8, 9, 9, 8, 6, 4, 2, 2]
[calendar]
starts = 2026-03-02
[beds]
bed_width_m = 0.75
path_width_m = 0.45
headland_m = 1.5
length_m = 20.0
beds_per_block = 10
covered = true
under_one_hoop = 2
bearing_deg = 90.0
[[tunnels]]
length_m = 20.0
width_m = 5.0
height_m = 2.5
count = 2
first_month = 3
last_month = 10
[[crops]]
name = "tomato"
beds = 2
covers = ["light_fabric"]
seasons = ["spring"]
[[crops]]
name = "kale"
[risk]
tender = 0.1
[[covers]]
kind = "light_fabric"
width_m = 2.2
length_m = 100.0
age_years = 1.0
[materials]
hoop_bend = "catenary"
hoop_height_m = 0.5
roll_widths_m = [1.6, 2.2]
[[materials.on_hand]]
item = "pipe"
amount = 10.0
[[materials.prices]]
item = "pipe"
each = 2.5
[sheets]
paper = "a4"
[map]
background_tiles = "https://tiles.example.org/{z}/{x}/{y}.png"
background_credit = "Example"
background_finest_zoom = 18
[hands]
minutes_in_the_morning = 30.0
[[what_if]]
name = "No hedge"
take_away = ["Long Hedge"]
[[what_if.gaps]]
of = "Barn"
width_m = 4.0
longitude = 15.261589
latitude = 46.055885
[[what_if.additions]]
kind = "hedge"
name = "New Hedge"
height_m = 3.0
width_m = 2.0
porosity = 0.3
leaf = "deciduous"
line = [[15.2611, 46.0554], [15.2624, 46.0554]]
"""
OWN_WORDS = """
[Soomaali]
hoop = "qaanso"
["Bosanski jezik"]
bed = "gredica"
"""
OWN_CROPS = """
[tomato]
heat_limit_c = { value = 35, source = "ours" }
["purple kale"]
also = ["dark kale"]
class = { value = "hardy", source = "common practice" }
family = { value = "Brassicaceae", source = "common practice" }
damage_c = { value = -10, at = "plant", source = "ours", note = "seen" }
sow_soil_c = { value = 7, source = "ours" }
base_c = { value = 4, source = "ours" }
days_to_maturity = { low = 50, high = 60, counted_from = "sowing", source = "ours" }
best_light_mol = { low = 12, high = 17, source = "ours" }
heat_limit_c = { value = 28, source = "ours" }
shade_percent = { low = 0, high = 30, source = "ours" }
"""
OBSERVED = f"""
readings_sha256 = "{"0" * 64}"
clear_calm_nights = 12
[offset_factor]
low = 0.8
central = 1.1
high = 1.4
[bias_c]
low = -1.0
central = -0.5
high = 0.1
"""
SKYLINE = "azimuth_deg,elevation_deg\n0,5\n90,3\n180,2\n270,10\n"
LAST_YEAR = "bed,crop,family\nA1,kale,\nA2,rhubarb,Polygonaceae\n"
THERMOMETERS = (
    "place,longitude,latitude,height_m,shield,date,tmin_c\n"
    "low,15.262,46.0558,1.5,yes,2016-04-01,-2.5\nlow,,,,,2016-04-02,-1\n"
    "A1,,,0.3,no,2016-04-01,-3\n"
)
HAPPENED = (
    "date,bed,what,crop,cover,low_c\n2016-05-01,A1,planted,kale,light_fabric,\n"
    "2016-05-09,A1,low,,,-1.5\n"
)


@dataclass(frozen=True)
class Kind:
    """One kind of input: the files of its site, and which of them is spoiled.

    Attributes
    ----------
    form
        How it is written: what its mutators may know of it.
    """

    name: str
    target: str
    form: str
    files: Files


def kinds() -> dict[str, Kind]:
    """All kinds by name, made once in a folder of their own."""
    with tempfile.TemporaryDirectory() as aside:
        return {kind.name: kind for kind in _made(Path(aside))}


@cache
def kept() -> dict[str, list[tuple[str, bytes]]]:
    """Names and contents of the spoiled files that are kept, by kind."""
    return {
        folder.name.replace("_", " "): [
            (each.name, each.read_bytes()) for each in sorted(folder.iterdir())
        ]
        for folder in sorted(KEPT.iterdir())
    }


def _made(aside: Path) -> list[Kind]:
    base = _base(aside)
    toml = base["site.toml"].decode()
    found = []

    def add(name: str, target: str, form: str, files: Mapping[str, bytes]) -> None:
        lines = {k: v for k, v in files.items() if v != b""}
        found.append(Kind(name, target, form, {**base, **lines}))

    def named(key: str, file: str) -> bytes:
        return toml.replace("[files]\n", f'[files]\n{key} = "{file}"\n').encode()

    def weathered(file: str) -> bytes:
        return toml.replace('weather = "weather.csv"', f'weather = "{file}"').encode()

    add("choices", "site.toml", "toml", {})
    add("few choices", "site.toml", "toml", {"site.toml": b'name = "Hill Farm"\n'})
    add("crops", "crops.toml", "toml", {"crops.toml": OWN_CROPS.encode()})
    add("words", "words.toml", "toml", {"words.toml": OWN_WORDS.encode()})
    add("observed", "observed.toml", "toml", {"observed.toml": OBSERVED.encode()})
    for name in ("plots", "surroundings", "marks"):
        add(name, f"{name}.geojson", "json", {})
    add("beds", "beds.geojson", "json", {})
    add("past beds", "past_beds.geojson", "json", {})
    add(
        "geopackage",
        "plots.gpkg",
        "gpkg",
        {"site.toml": named("plots", "plots.gpkg")},
    )
    shape = {"site.toml": named("plots", "plots.shp")}
    for ending, form in {
        "shp": "shp",
        "shx": "shp",
        "dbf": "dbf",
        "prj": "text",
        "cpg": "text",
    }.items():
        add(f"shapefile {ending}", f"plots.{ending}", form, shape)
    for ending in ("shp", "gpkg", "geojson"):
        archive = {"plots.zip": _zipped(base, ending)}
        add(
            f"zip of {ending}",
            "plots.zip",
            "zip",
            {"site.toml": named("plots", "plots.zip"), **archive},
        )
    add("elevation", "elevation.tif", "tiff", {})
    add("elevation in tiles", "elevation.tif", "tiff", _tiles(aside))
    for beside, content in {
        "tif.aux.xml": b"<PAMDataset><Metadata><MDI key='a'>b</MDI></Metadata></PAMDataset>",
        "tfw": b"10\n0\n0\n-10\n520005\n5100595\n",
        "tif.msk": base["elevation.tif"],
        "tif.ovr": base["elevation.tif"],
        "prj": b'LOCAL_CS["a",UNIT["metre",1]]',
    }.items():
        add(
            f"elevation {beside}",
            f"elevation.{beside}",
            "text",
            {f"elevation.{beside}": content},
        )
    add(
        "wide elevation",
        "wide.tif",
        "tiff",
        {"site.toml": named("wide_elevation", "wide.tif"), "wide.tif": _wide(aside)},
    )
    add("weather", "weather.csv", "csv", {})
    add("weather in °F", "weather.csv", "csv", {"weather.csv": _fahrenheit(base)})
    for name, content in _published(base).items():
        file = f"weather.{name.partition(' ')[0]}"
        add(
            f"weather {name}",
            file,
            "csv",
            {"site.toml": weathered(file), file: content},
        )
    stations = '\n[[other_stations]]\nweather = "other.csv"\nlatitude = 46.1\nlongitude = 15.3\nelevation_m = 310.0\n'
    add(
        "other stations",
        "other.csv",
        "csv",
        {"site.toml": (toml + stations).encode(), "other.csv": base["weather.csv"]},
    )
    add(
        "skyline",
        "skyline.csv",
        "csv",
        {"site.toml": named("skyline", "skyline.csv"), "skyline.csv": SKYLINE.encode()},
    )
    for ending, content in _typical().items():
        file = f"typical.{ending}"
        add(
            f"typical year {ending}",
            file,
            "csv",
            {"site.toml": named("typical_year", file), file: content},
        )
    add("last year", "last_year.csv", "csv", {})
    add("thermometers", "thermometers.csv", "csv", {})
    add("field log", "happened.csv", "csv", {})
    add(
        "an earlier plan",
        "plan/plan.json",
        "json",
        {
            "plan/plan.json": b'{"files": ["plan.json", "map.html"]}',
            "plan/map.html": b"<html>",
        },
    )
    return [*found, *_begun(base, aside)]


def _begun(base: Files, aside: Path) -> list[Kind]:
    """What `fieldmap start` is given: an outline or an elevation, beside a sound other."""
    shapefile = {
        name: content
        for name, content in base.items()
        if name.startswith("plots.") and not name.endswith(("geojson", "gpkg"))
    }
    found = []
    for name, (form, content) in begun.files(shapefile, aside).items():
        sound = "plots.geojson" if name.startswith("heights") else "elevation.tif"
        target = f"{begun.GIVEN}/{name}"
        files = {target: content, f"{begun.GIVEN}/{sound}": base[sound]}
        found.append(Kind(f"start {name.replace('.', ' ')}", target, form, files))
    return found


def _base(aside: Path) -> Files:
    """A plain site in which every file that may be there is."""
    folder = aside / "base"
    folder.mkdir()
    site = SiteFolder(folder).plain()
    site.toml(EVERY_CHOICE)
    site.weather(site.days(start="2015-01-01", end="2015-12-31"))
    facts = {
        "name": "Long Hedge", "height_m": 3.0, "porosity": 0.2, "leaf": "evergreen"
    }  # fmt: skip
    site.surroundings(
        ("hedge", site.box(200, 250, 400, 255), facts),
        ("building", site.box(230, 280, 240, 300), {"name": "Barn", "height_m": 5.0}),
    )
    site.outlines(
        "marks.geojson",
        {"name": ["m"], "seen": ["white at dawn"]},
        [site.box(260, 280, 280, 300)],
    )
    site.outlines(
        "beds.geojson",
        {"name": ["old 1"], "plot": ["Plot 1"]},
        [site.box(260, 280, 261, 320)],
    )
    site.outlines(
        "past_beds.geojson",
        {
            "file": ["last_year.csv"],
            "bed": ["A1"],
            "until": ["2015-12-31"],
            "crops": ["kale"],
        },
        [site.box(262, 280, 263, 320)],
    )
    for ending in ("gpkg", "shp"):
        site.plots(file=f"plots.{ending}")
    for name, text in {
        "last_year.csv": LAST_YEAR,
        "thermometers.csv": THERMOMETERS,
        "happened.csv": HAPPENED,
    }.items():
        (folder / name).write_text(text)
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def _zipped(base: Files, ending: str) -> bytes:
    endings = ("shp", "shx", "dbf", "prj", "cpg") if ending == "shp" else (ending,)
    names = [f"plots.{each}" for each in endings]
    return begun.zipped({name: base[name] for name in names})


def tiff(
    aside: Path,
    values: np.ndarray,
    transform: Affine | None = None,
    crs: object = "EPSG:32633",
    **how,
) -> bytes:
    """A GeoTIFF's bytes."""
    path = aside / "made.tif"
    bands = values[None] if values.ndim == 2 else values
    transform = transform or Affine(10, 0, 520000, 0, -10, 5100600)
    shape = {"count": bands.shape[0], "height": bands.shape[1], "width": bands.shape[2]}
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        dtype=bands.dtype,
        crs=crs,
        transform=transform,
        **shape,
        **how,
    ) as target:
        target.write(bands)
    content = path.read_bytes()
    for left in aside.glob("made.tif*"):
        left.unlink()
    return content


def plane(rows: int = 60, cols: int = 60, dtype: str = "float32") -> np.ndarray:
    down, across = np.mgrid[0:rows, 0:cols]
    return (200 + across - 2.0 * down).astype(dtype)


def _tiles(aside: Path) -> Files:
    how = {"tiled": True, "blockxsize": 16, "blockysize": 16, "compress": "deflate"}
    return {"elevation.tif": tiff(aside, plane(dtype="int16"), **how)}


def _wide(aside: Path) -> bytes:
    there = Affine(100, 0, 510000, 0, -100, 5110000)
    return tiff(aside, plane(200, 200), there)


def _fahrenheit(base: Files) -> bytes:
    table = pd.read_csv(io.BytesIO(base["weather.csv"]))
    table = pd.DataFrame(
        {
            "date": table["date"],
            "tmin_f": table["tmin_c"] * 1.8 + 32,
            "tmax_f": table["tmax_c"] * 1.8 + 32,
            "wind_mph": 5,
            "precipitation_in": 0.1,
        }
    )
    return table.to_csv(index=False).encode()


def _published(base: Files) -> Files:
    """The record as files of an archive, and typical years."""
    rows = list(csv.DictReader(io.StringIO(base["weather.csv"].decode())))
    lines, days = (
        [],
        [
            "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES"
        ],
    )
    months: dict[tuple[str, str], dict[int, int]] = {}
    for row in rows:
        date = row["date"].replace("-", "")
        tenths = {
            e: round(float(row[c]) * 10)
            for e, c in (("TMAX", "tmax_c"), ("TMIN", "tmin_c"))
        }
        for element, value in tenths.items():
            lines.append(f"USC00012345,{date},{element},{value},,,7,0700")
            months.setdefault((date[:6], element), {})[int(date[6:])] = value
        days.append(
            f'USC00012345,{row["date"]},46.0,15.3,300.0,"Hill",{tenths["TMAX"]},",,7",{tenths["TMIN"]},",,7"'
        )
    fixed = [
        f"USC00012345{month}{element}"
        + "".join(f"{values.get(day, -9999):5d}   " for day in range(1, 32))
        for (month, element), values in months.items()
    ]
    return {
        "dly fixed": "\n".join(fixed).encode(),
        "csv lines": "\n".join(lines).encode(),
        "csv days": "\n".join(days).encode(),
        "epw": _epw(),
        "tm2": (PVLIB_DATA / "12839.tm2").read_bytes(),
        "csv tmy3": (PVLIB_DATA / "703165TY.csv").read_bytes(),
    }


def _epw() -> bytes:
    """Eight lines of head and a line for each hour, in EnergyPlus' columns."""
    head = ["LOCATION,Hill,-,-,made up,0,46.0,15.3,1.0,300.0", *["COMMENTS 1"] * 7]
    hours = pd.date_range("2001-01-01", periods=8760, freq="h")
    lines = [
        f"2001,{at.month},{at.day},{at.hour + 1},60,x,10.0,5.0,70,98000,0,0,300,{light},{light},{light},"
        "0,0,0,0,180,2.0,5,5,10,10000,9,999999999,10,0.1,0,88,0.2,0,0"
        for at in hours
        for light in [max(0, 300 - 50 * abs(at.hour - 12))]
    ]
    return "\n".join([*head, *lines]).encode()


def _typical() -> Files:
    published = {"tm2": "12839.tm2", "csv": "703165TY.csv"}
    found = {
        ending: (PVLIB_DATA / name).read_bytes() for ending, name in published.items()
    }
    return {**found, "epw": _epw()}


def lay_out(files: Mapping[str, bytes], folder: Path) -> None:
    """Write a site's files."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def describe() -> str:
    """The kinds with the sizes of their files, for a look."""
    return json.dumps(
        {name: len(kind.files[kind.target]) for name, kind in kinds().items()}, indent=1
    )


if __name__ == "__main__":
    os.write(1, describe().encode())
