"""Make the invented site of this folder: ground, outlines, weather, thermometers.

Nobody's land: hill, brook, plots and weather are drawn from formulas and a seed, and the
same bytes come out of every run. `site.toml` is written by hand and left alone.

Run as `python demo_site/make_demo_site.py`; it writes beside itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import rasterio
import shapely
import shapely.affinity
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

HERE = Path(__file__).resolve().parent
SEED = 34  # of the first 80, the one whose frosts fall as the README says
CRS = "EPSG:32618"
# South-west corner of the ground. All places below are metres east and north of it.
WEST_M, SOUTH_M = 559_600.0, 4_877_500.0
SIDE_M, CELL_M = 900.0, 2.0

FloatArray = npt.NDArray[np.float64]
Corner = tuple[float, float]

# Distance north of the brook [m] and the grade of the hillside there [m/m].
GRADE_BY_DISTANCE = (
    (0, 0.010),  # flood ground
    (40, 0.015),
    (58, 0.050),  # a low bank
    (78, 0.022),  # the foot of the hill
    (150, 0.026),
    (210, 0.060),
    (290, 0.090),  # the hillside
    (420, 0.090),
    (540, 0.110),
    (610, 0.060),  # its shoulder
    (655, 0.000),  # the ridge
    (720, -0.060),  # the far side
    (900, -0.070),
)
FAR_BANK_GRADE = 0.09

HOLLOW_AT: Corner = (497.0, 247.0)
HOLLOW_RADIUS_M, HOLLOW_CUT_M = 25.0, 2.5


@dataclass(frozen=True)
class Pad:
    """A place where the ground is levelled: around `at`, long side at `turn_deg`.

    `turn_deg` runs anticlockwise from east, `fall` is the grade left across the pad
    towards the south [m/m], `shoulder_m` the width over which it runs out.
    """

    at: Corner
    length_m: float
    width_m: float
    turn_deg: float
    fall: float
    shoulder_m: float


BENCH = Pad((425, 449), 60, 15, 14, 0.012, 8)
BARN = Pad((345, 401), 20, 12, 14, 0.0, 3)
POND = Pad((378, 197), 20, 13, 10, 0.0, 3)

# Outlines as someone would walk them.
# When the grower gets on each plot in a usual year.
FIRST_WORKED = {
    "Top Field": "04-10",
    "Shelf": "04-02",
    "Brook Piece": "04-28",
    "Barn Garden": "04-06",
}
PLOTS: tuple[tuple[str, str, str, bool, tuple[Corner, ...]], ...] = (
    (
        "Top Field",
        "grass",
        "loam",
        False,
        ((421, 552), (533, 581), (530, 612), (521, 643), (466, 631), (404, 613)),
    ),
    (
        "Shelf",
        "arable",
        "sand",
        False,
        ((385, 414), (432, 424), (478, 438), (469, 486), (425, 478), (374, 462)),
    ),
    (
        "Brook Piece",
        "grass",
        "clay",
        True,
        ((455, 238), (505, 240), (569, 262), (560, 347), (508, 340), (447, 318)),
    ),
    (
        "Barn Garden",
        "arable",
        "loam",
        False,
        ((358, 370), (389, 377.7), (384.5, 396.2), (353.5, 388.5)),
    ),
)
# Beds of the Barn Garden that are there already: how many, their middle, size, path.
GARDEN_BEDS, GARDEN_AT, GARDEN_BED_M, GARDEN_PATH_M = 7, (371, 383), (25.0, 1.2), 0.6

# What was seen on the ground, where, and how wide around: name, what, middle, radii.
MARKS: tuple[tuple[str, str, Corner, Corner], ...] = (
    ("Dip by the brook", "white at dawn", (492, 258), (26, 14)),
    ("Under the ridge", "white at dawn", (470, 622), (22, 9)),
    ("South edge", "snow leaves first", (425, 424), (34, 7)),
    ("Low corner", "puddles in March", (540, 270), (22, 14)),
)


# Where thermometers hung in the spring of 2025, all under a shield at 1.5 m, and how
# much colder than the valley it was there on nights of little wind (invented).
THERMOMETERS: tuple[tuple[str, Corner, float], ...] = (
    ("Hollow Post", (499, 243), 2.6),
    ("Brook Piece Post", (508, 300), 1.9),
    ("Shelf Post", (425, 449), 1.4),
    ("Top Field Post", (470, 620), 1.1),
)

# Crops of last year, by bed.
STOOD = {
    "tomato": ("A122", "A121", "B10", "B11"),
    "pepper": ("B12", "B13"),
    "squash": ("A120", "A119", "A118"),
    "spinach": ("B14", "B15", "B22", "B21"),
    "lettuce": ("B18", "B19", "B20"),
    "broccoli": ("B9", "B16", "B17"),
    "carrot": ("A117", "A116", "C115", "C114"),
}


def along_brook_m(east_m: FloatArray) -> FloatArray:
    """How far north the brook runs [m], by how far east."""
    return 95 + 0.15 * east_m + 16 * np.sin(2 * np.pi * (east_m - 60) / 610)


def hillside_m(east_m: FloatArray, north_m: FloatArray) -> FloatArray:
    """Height of the bare hill [m]: valley side to the ridge, a spur, a swale."""
    uphill_m = north_m - along_brook_m(east_m)
    steps_m = np.arange(0, 901.0)
    risen_m = np.cumsum(np.interp(steps_m, *zip(*GRADE_BY_DISTANCE, strict=True)))
    near_side = np.interp(uphill_m, steps_m, risen_m)
    beyond_m = np.maximum(-uphill_m, 0)
    far_side = FAR_BANK_GRADE * beyond_m**2 / (beyond_m + 45)
    brook_m = 212 + 0.012 * (SIDE_M - east_m)
    lift = np.exp(-(((uphill_m - 380) / 210) ** 2))  # of spur and swale: mid-slope most
    spur = 8 * lift * np.exp(-(((east_m - 190) / 95) ** 2))
    swale = -5 * lift * np.exp(-(((east_m - 715 + 0.1 * uphill_m) / 48) ** 2))
    bed = -0.8 * np.exp(-((uphill_m / 3.5) ** 2))
    return brook_m + np.where(uphill_m > 0, near_side, far_side) + spur + swale + bed


def levelled(
    ground_m: FloatArray, east_m: FloatArray, north_m: FloatArray, pad: Pad
) -> FloatArray:
    """Return the ground with a pad cut and filled into it."""
    turn = np.radians(pad.turn_deg)
    east, north = east_m - pad.at[0], north_m - pad.at[1]
    along = np.abs(east * np.cos(turn) + north * np.sin(turn)) - pad.length_m / 2
    up = -east * np.sin(turn) + north * np.cos(turn)
    outside_m = np.maximum(np.maximum(along, np.abs(up) - pad.width_m / 2), 0)
    share = np.clip(1 - outside_m / pad.shoulder_m, 0, 1)
    share = share * share * (3 - 2 * share)  # no edge where the pad begins
    height_m = float(ground_m[outside_m == 0].mean())
    return (1 - share) * ground_m + share * (height_m + pad.fall * up)


def rough_m(rng: np.random.Generator, sd_m: float, correlation_m: float) -> FloatArray:
    """Unevenness of the ground [m] whose correlation falls to 1/e at the given length."""
    count = round(SIDE_M / CELL_M)
    white = rng.standard_normal((count, count))
    smooth = ndimage.gaussian_filter(white, correlation_m / 2 / CELL_M)
    return sd_m * smooth / smooth.std()


def elevation_m() -> FloatArray:
    """Ground height [m], row 0 in the north."""
    rng = np.random.default_rng([SEED, 1])
    middles = np.arange(CELL_M / 2, SIDE_M, CELL_M)
    east_m, north_m = np.meshgrid(middles, middles[::-1])
    ground = hillside_m(east_m, north_m) + rough_m(rng, 0.25, 70)
    ground = levelled(ground, east_m, north_m, BENCH)
    from_hollow_m = np.hypot(east_m - HOLLOW_AT[0], north_m - HOLLOW_AT[1])
    ground -= HOLLOW_CUT_M * np.exp(-((from_hollow_m / HOLLOW_RADIUS_M) ** 3))
    # Ploughing and grazing leave the ground rough, running water does not.
    from_brook_m = np.abs(north_m - along_brook_m(east_m))
    ground += rough_m(rng, 0.05, 6) * np.clip(from_brook_m / 12, 0.1, 1)
    for pad in (BARN, POND):
        ground = levelled(ground, east_m, north_m, pad)
    return np.round(ground, 2)


def write_elevation(path: Path) -> FloatArray:
    """Write the ground as a GeoTIFF and return it."""
    ground = elevation_m()
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=ground.shape[1],
        height=ground.shape[0],
        count=1,
        dtype="float32",
        crs=CRS,
        transform=rasterio.Affine(CELL_M, 0, WEST_M, 0, -CELL_M, SOUTH_M + SIDE_M),
        nodata=-9999,
        tiled=True,
        blockxsize=256,
        blockysize=256,
        compress="deflate",
        zlevel=9,
        predictor=3,
    ) as file:
        file.write(ground.astype(np.float32), 1)
        file.set_band_unit(1, "metre")
        file.set_band_description(1, "ground height")
    return ground


def box(pad: Pad, *, grown_m: float = 0) -> BaseGeometry:
    """Outline of a pad, grown on all sides (shrunk where negative)."""
    half_m, deep_m = pad.length_m / 2 + grown_m, pad.width_m / 2 + grown_m
    level = shapely.box(-half_m, -deep_m, half_m, deep_m)
    turned = shapely.affinity.rotate(level, pad.turn_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, *pad.at)


def plots() -> gpd.GeoDataFrame:
    """Return the plots, in local metres."""
    return gpd.GeoDataFrame(
        {
            "name": [plot[0] for plot in PLOTS],
            "ground": [plot[1] for plot in PLOTS],
            "soil": [plot[2] for plot in PLOTS],
            "wet_in_march": [plot[3] for plot in PLOTS],
            "first_worked": [FIRST_WORKED[plot[0]] for plot in PLOTS],
        },
        geometry=[shapely.Polygon(plot[4]) for plot in PLOTS],
    )


def garden_beds() -> gpd.GeoDataFrame:
    """Return the beds that lie in the Barn Garden, in local metres."""
    length_m, width_m = GARDEN_BED_M
    steps = np.arange(GARDEN_BEDS) - (GARDEN_BEDS - 1) / 2
    lies = [
        shapely.box(-length_m / 2, y - width_m / 2, length_m / 2, y + width_m / 2)
        for y in steps[::-1] * (width_m + GARDEN_PATH_M)
    ]
    turned = [shapely.affinity.rotate(bed, 14, origin=(0, 0)) for bed in lies]
    return gpd.GeoDataFrame(
        {"name": [f"G{number + 1}" for number in range(GARDEN_BEDS)]},
        geometry=[shapely.affinity.translate(bed, *GARDEN_AT) for bed in turned],
    )


def marks() -> gpd.GeoDataFrame:
    """Return what was seen on the ground, in local metres."""
    rounds = [
        shapely.affinity.translate(
            shapely.affinity.scale(shapely.Point(0, 0).buffer(1, 8), *radii), *at
        )
        for _, _, at, radii in MARKS
    ]
    return gpd.GeoDataFrame(
        {"name": [mark[0] for mark in MARKS], "seen": [mark[1] for mark in MARKS]},
        geometry=rounds,
    )


def surroundings() -> gpd.GeoDataFrame:
    """Return what stands and lies around the plots, in local metres."""
    line, point = shapely.LineString, shapely.Point
    pond = box(POND).buffer(-4).buffer(4)
    septic = box(Pad((386, 415), 20, 11, 14, 0, 1))
    hedge = line([(392, 536), (425, 544), (480, 559), (545, 576)])
    tree_line = line([(580, 385), (575, 470), (570, 560), (563, 655)])
    power = line([(343, 500), (385, 560), (441, 640), (504, 730)])
    track = line(
        [(240, 320), (300, 372), (322, 390), (334, 417), (358, 432), (376, 442)]
    )
    steps = np.arange(0.0, SIDE_M + 1, 25)
    brook = line(np.column_stack([steps, along_brook_m(steps)]))
    none = None
    # name, kind, height_m, porosity, clear_stem_m, leaf, width_m, outline
    things = [
        ("Long Hedge", "hedge", 3.0, 0.4, 0.0, "deciduous", 1.5, hedge),
        ("Barn", "building", 6.0, 0.0, none, "none", none, box(BARN, grown_m=-1)),
        ("East Trees", "trees", 14.0, 0.5, 2.0, "deciduous", 8.0, tree_line),
        ("Old Spruce", "tree", 12.0, 0.3, 0.5, "evergreen", 6.0, point(478, 415)),
        ("Barn Gate", "gate", none, none, none, none, 4.0, point(378.5, 443)),
        ("Barn Tap", "water point", none, none, none, none, none, point(357, 413)),
        ("Power Line", "overhead line", 8.0, none, none, none, none, power),
        ("Duck Pond", "water", none, none, none, none, none, pond),
        ("Pennywhin Brook", "water", none, none, none, none, 3.0, brook),
        ("Barn Track", "road", none, none, none, none, 3.0, track),
        ("Septic Field", "keep off", none, none, none, none, none, septic),
    ]
    names = ["name", "kind", "height_m", "porosity", "clear_stem_m", "leaf", "width_m"]
    table = pd.DataFrame([thing[:-1] for thing in things], columns=names)
    return gpd.GeoDataFrame(table, geometry=[thing[-1] for thing in things])


def write_outlines(path: Path, local: gpd.GeoDataFrame) -> None:
    """Write outlines as GeoJSON in longitude and latitude (RFC 7946)."""
    placed = local.set_geometry(local.translate(WEST_M, SOUTH_M)).set_crs(CRS)
    placed.to_crs("EPSG:4326").to_file(
        path, driver="GeoJSON", RFC7946="YES", COORDINATE_PRECISION=8
    )


def drift(rng: np.random.Generator, count: int, keep: float) -> FloatArray:
    """Unit-variance day-to-day series that keeps the given share of yesterday."""
    shocks = rng.standard_normal(count) * np.sqrt(1 - keep**2)
    series = np.empty(count)
    last = rng.standard_normal()
    for day in range(count):
        last = keep * last + shocks[day]
        series[day] = last
    return series


def wet_days(rng: np.random.Generator, count: int) -> npt.NDArray[np.bool_]:
    """Days with rain or snow: a wet day is likelier after a wet one."""
    chance = rng.random(count)
    wet = np.zeros(count, dtype=bool)
    for day in range(1, count):
        wet[day] = chance[day] < (0.50 if wet[day - 1] else 0.30)
    return wet


def weather() -> pd.DataFrame:
    """Eighteen years of invented daily weather at a station in the valley below."""
    rng = np.random.default_rng([SEED, 2])
    dates = pd.date_range("2008-01-01", "2025-12-31", name="date")
    count = len(dates)
    turn = 2 * np.pi / 365.25
    day = dates.day_of_year.to_numpy()
    summer = np.cos(turn * (day - 199))  # 1 in mid-July, -1 in mid-January
    wet = wet_days(rng, count)
    swing = 0.92 * drift(rng, count, 0.62) + 0.4 * drift(rng, count, 0.97)
    mean_c = 6.4 + 14.0 * summer + (4.1 - 1.2 * summer) * swing
    mean_c = mean_c - 0.6 * wet * summer  # cloud cools summer and warms winter
    clear_range_c = 12.6 + 1.8 * np.cos(turn * (day - 150))
    spread = np.exp(0.22 * drift(rng, count, 0.35))
    range_c = np.maximum(np.where(wet, 0.6, 1.0) * clear_range_c * spread, 2.0)
    rain_mm = np.maximum(rng.gamma(0.75, 9.4, count), 0.2) * wet
    gusty = rng.gamma(4.0, 0.25, count) * np.where(wet, 1.25, 0.85)
    wind_m_s = (2.2 + 0.4 * np.cos(turn * (day - 85))) * gusty / spread
    days = pd.DataFrame(
        {
            "tmin_c": mean_c - range_c / 2,
            "tmax_c": mean_c + range_c / 2,
            "precipitation_mm": rain_mm,
            "wind_m_s": np.maximum(wind_m_s, 0.2),
        },
        index=dates,
    ).round(1)
    days = days + 0.0  # no "-0.0"
    return with_gaps(rng, days)


def with_gaps(rng: np.random.Generator, days: pd.DataFrame) -> pd.DataFrame:
    """Return the record with readings missing on about twenty days."""
    full = days.copy()
    flat_battery = int(rng.integers(300, len(days) - 300))
    full.iloc[flat_battery : flat_battery + 6] = np.nan
    singles = rng.choice(len(days), 14, replace=False)
    full.iloc[singles[:6], 0] = np.nan
    full.iloc[singles[6:10], 1] = np.nan
    full.iloc[singles[10:], 3] = np.nan
    return full


def ridge_weather(days: pd.DataFrame) -> pd.DataFrame:
    """Eleven invented years at a second station, on a ridge to the north-west."""
    rng = np.random.default_rng([SEED, 4])
    there = days.loc["2015-01-01":, ["tmin_c", "tmax_c"]]
    calm = ~(days["wind_m_s"].loc["2015-01-01":] >= 2)
    # Windier and higher: milder on calm nights, cooler by day.
    there = there + rng.normal(0, 0.5, there.shape)
    there["tmin_c"] += np.where(calm, 0.8, -1.4)
    there["tmax_c"] -= 2.0
    there["tmax_c"] = there[["tmin_c", "tmax_c"]].max(axis=1)
    return there.round(1) + 0.0


def happened(days: pd.DataFrame) -> str:
    """An invented book of the season of 2025."""
    low_c = days["tmin_c"].loc["2025-05-06"] - 1.0
    return "\n".join(
        [
            "date,bed,what,crop,cover,low_c",
            "2025-04-09,A120,planted,spinach,light_fabric,",
            "2025-04-24,A107,planted,carrot,,",
            "2025-05-12,C174,planted,tomato,,",
            "2025-05-16,C174,lost,tomato,,",
            "2025-06-03,A93,planted,tomato,,",
            "2025-06-05,B23,planted,squash,,",
            "2025-06-12,B58,planted,pepper,slitted_film,",
            f"2025-05-06,C175,low,,,{low_c:.1f}",
            f"2025-05-06,A93,low,,,{low_c + 1.5:.1f}",
            "2025-09-24,A93,held,tomato,,",
            "2025-11-02,A120,held,spinach,,",
            "",
        ]
    )


def thermometers(days: pd.DataFrame) -> pd.DataFrame:
    """Invented night minima on the hill, one line for each place and night."""
    rng = np.random.default_rng([SEED, 3])
    spring = days.loc["2025-04-01":"2025-06-10"]
    places = gpd.GeoSeries([shapely.Point(at) for _, at, _ in THERMOMETERS])
    placed = places.translate(WEST_M, SOUTH_M).set_crs(CRS).to_crs("EPSG:4326")
    tables = []
    for (name, _, colder_c), at in zip(THERMOMETERS, placed, strict=True):
        calm = ~(spring["wind_m_s"] >= 2)
        low_c = spring["tmin_c"] - np.where(calm, colder_c, 0.4)
        low_c = low_c + rng.normal(0, 0.05) + rng.normal(0, 0.3, len(spring))
        table = pd.DataFrame(
            {
                "place": name,
                "longitude": round(at.x, 6),
                "latitude": round(at.y, 6),
                "height_m": 1.5,
                "shield": "yes",
                "date": spring.index,
                "tmin_c": low_c.round(1) + 0.0,
            }
        )
        tables.append(table)
    return pd.concat(tables)


def last_year() -> pd.DataFrame:
    """What stood on some of the beds last year (invented)."""
    stood = [(bed, crop) for crop, beds in STOOD.items() for bed in beds]
    return pd.DataFrame(sorted(stood), columns=["bed", "crop"])


def freeze_summary(days: pd.DataFrame) -> str:
    """One line on the last spring and first autumn day at or under 0 °C."""
    frost = days.index[(days["tmin_c"] <= 0).to_numpy()]
    spring = frost[frost.month <= 7]
    autumn = frost[frost.month >= 8]
    last = pd.Series(spring.day_of_year, index=spring.year).groupby(level=0).max()
    first = pd.Series(autumn.day_of_year, index=autumn.year).groupby(level=0).min()
    words = []
    for name, dates in (("last spring", last), ("first autumn", first)):
        middle = pd.Timestamp("2023-01-01") + pd.Timedelta(days=dates.mean() - 1)
        words.append(
            f"{name} freeze {middle.day} {middle:%B} (SD {dates.std():.1f} days, {len(dates)} years)"
        )
    return "; ".join(words)


def main() -> None:
    """Write all files and print what the place is like."""
    ground = write_elevation(HERE / "elevation.tif")
    outlines = plots()
    write_outlines(HERE / "plots.geojson", outlines)
    write_outlines(HERE / "surroundings.geojson", surroundings())
    write_outlines(HERE / "beds.geojson", garden_beds())
    write_outlines(HERE / "marks.geojson", marks())
    days = weather()
    days.to_csv(HERE / "weather.csv", lineterminator="\n", date_format="%Y-%m-%d")
    ridge_weather(days).to_csv(
        HERE / "ridge.csv", lineterminator="\n", date_format="%Y-%m-%d"
    )
    (HERE / "happened.csv").write_text(happened(days), encoding="utf-8")
    thermometers(days).to_csv(
        HERE / "thermometers.csv",
        index=False,
        lineterminator="\n",
        date_format="%Y-%m-%d",
    )
    last_year().to_csv(HERE / "last_year.csv", index=False, lineterminator="\n")
    print(f"ground {ground.min():.0f} to {ground.max():.0f} m")
    for name, outline in zip(outlines["name"], outlines.geometry, strict=True):
        print(f"{name}: {outline.area / 10_000:.2f} ha")
    print(freeze_summary(days))
    year_mm = days["precipitation_mm"].sum() / 18
    gaps = int(days.isna().any(axis=1).sum())
    print(f"{year_mm:.0f} mm a year, {gaps} days with a missing reading")


if __name__ == "__main__":
    main()
