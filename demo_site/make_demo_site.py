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
GROUND_SEED = 18
CRS = "EPSG:32618"
# South-west corner of the ground. All places below are metres east and north of it.
WEST_M, SOUTH_M = 559_670.0, 4_877_560.0
SIDE_M, CELL_M = 750.0, 2.5

FloatArray = npt.NDArray[np.float64]
Corner = tuple[float, float]

# Places are given as metres along the hill and up it, from a point on the brook: the
# hill is turned so that its foot runs a little north of east.
BROOK_AT, HILL_TURNED_DEG = (412.0, 224.0), 14.0

# Distance up from the brook [m] and the grade of the hillside there [m/m].
GRADE_BY_DISTANCE = (
    (0, 0.020),  # flood ground
    (30, 0.050),
    (70, 0.060),
    (80, 0.050),
    (95, 0.060),  # the foot of the hill
    (125, 0.110),
    (165, 0.110),  # the hillside
    (172, 0.025),  # a shelf
    (188, 0.030),
    (194, 0.120),
    (215, 0.120),
    (222, 0.050),  # a field under the ridge
    (252, 0.050),
    (256, 0.070),
    (264, 0.000),  # the ridge
    (280, -0.080),  # the far side
    (700, -0.070),
)
FAR_BANK_GRADE = 0.02
DOWN_VALLEY_GRADE = 0.035

# A swale down the field under the ridge: its middle along the hill, its depth and
# half its width, and between which distances it fades out below and above.
SWALE_AT_M, SWALE_CUT_M, SWALE_HALF_M = 6.0, 0.8, 34.0
SWALE_FROM_M, SWALE_UP_TO_M = 200.0, 252.0

HOLLOW_AT: Corner = (45.0, 59.0)
HOLLOW_RADIUS_M, HOLLOW_CUT_M = 12.0, 1.2


@dataclass(frozen=True)
class Pad:
    """A place where the ground is levelled: around `at`, long side along the hill.

    `fall` is the grade left across the pad down the hill [m/m], `shoulder_m` the width
    over which it runs out.
    """

    at: Corner
    length_m: float
    width_m: float
    fall: float
    shoulder_m: float


BARN = Pad((-84, 150), 16, 10, 0.0, 3)
POND = Pad((-45, 52), 16, 10, 0.0, 3)
SEPTIC = Pad((-33, 171), 16, 8, 0.0, 1)

# Outlines as someone would walk them.
# When the grower gets on each plot in a usual year.
FIRST_WORKED = {
    "Top Field": "04-02",
    "Shelf": "03-22",
    "Brook Piece": "04-12",
    "Barn Garden": "03-25",
}
PLOTS: tuple[tuple[str, str, str, bool, tuple[Corner, ...]], ...] = (
    (
        "Top Field",
        "grass",
        "loam",
        False,
        ((-33, 225), (37, 225), (38, 240), (37, 252), (-33, 252)),
    ),
    (
        "Shelf",
        "arable",
        "sand",
        False,
        ((-37, 172), (34, 171), (35, 190), (34, 208), (0, 208.5), (-36, 207)),
    ),
    (
        "Brook Piece",
        "grass",
        "clay",
        True,
        ((26, 50), (62, 51), (63, 72), (62, 85), (26, 84)),
    ),
    (
        "Barn Garden",
        "arable",
        "loam",
        False,
        ((-77, 116), (-45, 116), (-45, 133), (-77, 133)),
    ),
)
# Beds of the Barn Garden that are there already: how many, their middle, size, path.
GARDEN_BEDS, GARDEN_AT, GARDEN_BED_M, GARDEN_PATH_M = 7, (-61, 124.5), (25.0, 1.2), 0.6

# What was seen on the ground, where, and how wide around: name, what, middle, radii.
MARKS: tuple[tuple[str, str, Corner, Corner], ...] = (
    ("Hollow by the brook", "white at dawn", (45, 59), (14, 7)),
    ("Under the ridge", "white at dawn", (6, 247), (14, 5)),
    ("South edge", "snow leaves first", (4, 174), (26, 4)),
    ("Low corner", "puddles in March", (53, 57), (9, 6)),
)


# Where thermometers hung in the spring of 2025, all under a shield at 1.5 m, and how
# much colder than the valley it was there on nights of little wind (invented).
THERMOMETERS: tuple[tuple[str, Corner, float], ...] = (
    ("Hollow Post", (45, 60), 1.7),
    ("Brook Piece Post", (44, 77), 1.1),
    ("Shelf Post", (-2, 182), 0.2),
    ("Top Field Post", (4, 234), 1.0),
)

# Crops of last year, by bed.
STOOD = {
    "tomato": ("B1", "B2", "B11"),
    "squash": ("A8", "A9"),
    "spinach": ("B20", "B21"),
    "lettuce": ("B14", "B15", "B16"),
    "kale": ("B24", "B25"),
    "carrot": ("A20", "A21", "A22"),
    "potato": ("G1", "G2", "G3"),
}


def hill_m(east_m: FloatArray, north_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How far places lie along the hill and up it from the brook [m]."""
    turn = np.radians(HILL_TURNED_DEG)
    east, north = east_m - BROOK_AT[0], north_m - BROOK_AT[1]
    along = east * np.cos(turn) + north * np.sin(turn)
    up = -east * np.sin(turn) + north * np.cos(turn)
    return along, up


def placed(outline: BaseGeometry) -> BaseGeometry:
    """An outline in metres along the hill and up it, in metres east and north."""
    turned = shapely.affinity.rotate(outline, HILL_TURNED_DEG, origin=(0, 0))
    return shapely.affinity.translate(turned, *BROOK_AT)


def brook_m(along_m: FloatArray) -> FloatArray:
    """How far up the hill the brook winds [m], by how far along."""
    return 7 * np.sin(2 * np.pi * (along_m - 30) / 310)


def hillside_m(along_m: FloatArray, up_m: FloatArray) -> FloatArray:
    """Height of the bare hill [m]: valley floor to the ridge, and a swale."""
    steps_m = np.arange(0, 901.0)
    risen_m = np.cumsum(np.interp(steps_m, *zip(*GRADE_BY_DISTANCE, strict=True)))
    near_side = np.interp(up_m, steps_m, risen_m)
    beyond_m = np.maximum(-up_m, 0)
    far_side = FAR_BANK_GRADE * beyond_m**2 / (beyond_m + 80)
    floor_m = 212 + DOWN_VALLEY_GRADE * (SIDE_M - along_m) / 2
    fades = np.clip((up_m - SWALE_FROM_M) / 20, 0, 1)
    fades = fades * np.exp(-np.maximum(up_m - SWALE_UP_TO_M, 0) / 15)
    across = np.abs((along_m - SWALE_AT_M) / SWALE_HALF_M)
    swale = -SWALE_CUT_M * fades * np.exp(-(across**2.5))
    bed = -0.8 * np.exp(-(((up_m - brook_m(along_m)) / 3.5) ** 2))
    return floor_m + np.where(up_m > 0, near_side, far_side) + swale + bed


def levelled(
    ground_m: FloatArray, along_m: FloatArray, up_m: FloatArray, pad: Pad
) -> FloatArray:
    """Return the ground with a pad cut and filled into it."""
    along = np.abs(along_m - pad.at[0]) - pad.length_m / 2
    up = up_m - pad.at[1]
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
    rng = np.random.default_rng([GROUND_SEED, 1])
    middles = np.arange(CELL_M / 2, SIDE_M, CELL_M)
    along_m, up_m = hill_m(*np.meshgrid(middles, middles[::-1]))
    ground = hillside_m(along_m, up_m) + rough_m(rng, 0.12, 60)
    from_hollow_m = np.hypot(along_m - HOLLOW_AT[0], up_m - HOLLOW_AT[1])
    ground -= HOLLOW_CUT_M * np.exp(-((from_hollow_m / HOLLOW_RADIUS_M) ** 3))
    # Ploughing and grazing leave the ground rough, running water does not.
    from_brook_m = np.abs(up_m - brook_m(along_m))
    ground += rough_m(rng, 0.04, 6) * np.clip(from_brook_m / 12, 0.1, 1)
    for pad in (BARN, POND):
        ground = levelled(ground, along_m, up_m, pad)
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
    return placed(shapely.affinity.translate(level, *pad.at))


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
        geometry=[placed(shapely.Polygon(plot[4])) for plot in PLOTS],
    )


def garden_beds() -> gpd.GeoDataFrame:
    """Return the beds that lie in the Barn Garden, in local metres."""
    length_m, width_m = GARDEN_BED_M
    steps = np.arange(GARDEN_BEDS) - (GARDEN_BEDS - 1) / 2
    lies = [
        shapely.box(-length_m / 2, y - width_m / 2, length_m / 2, y + width_m / 2)
        for y in steps[::-1] * (width_m + GARDEN_PATH_M)
    ]
    return gpd.GeoDataFrame(
        {"name": [f"G{number + 1}" for number in range(GARDEN_BEDS)]},
        geometry=[placed(shapely.affinity.translate(bed, *GARDEN_AT)) for bed in lies],
    )


def marks() -> gpd.GeoDataFrame:
    """Return what was seen on the ground, in local metres."""
    rounds = [
        placed(
            shapely.affinity.translate(
                shapely.affinity.scale(shapely.Point(0, 0).buffer(1, 8), *radii), *at
            )
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
    hedge = line([(-40, 250), (-38, 222), (-30, 220), (34, 220), (43, 222), (45, 250)])
    tree_line = line([(84, 112), (80, 160), (78, 215), (80, 268)])
    power = line([(-98, 166), (-24, 262), (30, 332)])
    track = line([(-240, 92), (-130, 118), (-98, 140), (-70, 162), (-36, 187)])
    steps = np.arange(-340.0, 341.0, 20)
    brook = line(np.column_stack([steps, brook_m(steps)]))
    none = None
    # name, kind, height_m, porosity, clear_stem_m, leaf, width_m, outline
    things = [
        ("Long Hedge", "hedge", 3.5, 0.2, 0.0, "evergreen", 1.5, hedge),
        ("East Trees", "trees", 14.0, 0.5, 2.0, "deciduous", 8.0, tree_line),
        ("Old Spruce", "tree", 12.0, 0.3, 0.5, "evergreen", 6.0, point(44, 166)),
        ("Barn Gate", "gate", none, none, none, none, 4.0, point(-36, 187)),
        ("Barn Tap", "water point", none, none, none, none, none, point(-62, 158)),
        ("Power Line", "overhead line", 8.0, none, none, none, none, power),
        ("Pennywhin Brook", "water", none, none, none, none, 3.0, brook),
        ("Barn Track", "road", none, none, none, none, 3.0, track),
    ]
    pads = [
        (
            *("Barn", "building", 6.0, 0.0, none, "none", none),
            box(BARN, grown_m=-1),
        ),
        ("Duck Pond", "water", none, none, none, none, none, pond),
        ("Septic Field", "keep off", none, none, none, none, none, box(SEPTIC)),
    ]
    things = [(*thing[:-1], placed(thing[-1])) for thing in things] + pads
    names = ["name", "kind", "height_m", "porosity", "clear_stem_m", "leaf", "width_m"]
    table = pd.DataFrame([thing[:-1] for thing in things], columns=names)
    return gpd.GeoDataFrame(table, geometry=[thing[-1] for thing in things])


def write_outlines(path: Path, local: gpd.GeoDataFrame) -> None:
    """Write outlines as GeoJSON in longitude and latitude (RFC 7946)."""
    there = local.set_geometry(local.translate(WEST_M, SOUTH_M)).set_crs(CRS)
    there.to_crs("EPSG:4326").to_file(
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


@dataclass(frozen=True)
class Climate:
    """Invented weather: day means by their year's mean and swing, and how days stray.

    `stray_c` is by how much the means of single days stray in spring and autumn [°C], of
    which summer has `steadier_c` less and winter as much more.
    """

    first_year: int
    seed: int
    mean_c: float
    swing_c: float
    stray_c: float
    steadier_c: float


# A mild one with many still nights. The seed is, of the first 60, one whose frosts fall
# as the README says.
VALLEY = Climate(1996, 21, 10.6, 9.0, 3.2, 0.5)


def weather(climate: Climate = VALLEY) -> pd.DataFrame:
    """Invented daily weather to the end of 2025: here, at a station in the valley."""
    rng = np.random.default_rng([climate.seed, 2])
    dates = pd.date_range(f"{climate.first_year}-01-01", "2025-12-31", name="date")
    count = len(dates)
    turn = 2 * np.pi / 365.25
    day = dates.day_of_year.to_numpy()
    summer = np.cos(turn * (day - 199))  # 1 in mid-July, -1 in mid-January
    wet = wet_days(rng, count)
    swing = 0.92 * drift(rng, count, 0.62) + 0.4 * drift(rng, count, 0.97)
    mean_c = climate.mean_c + climate.swing_c * summer
    mean_c = mean_c + (climate.stray_c - climate.steadier_c * summer) * swing
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
    rng = np.random.default_rng([VALLEY.seed, 4])
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
    low_c = days["tmin_c"].loc["2025-05-23"] - 1.5
    return "\n".join(
        [
            "date,bed,what,crop,cover,low_c",
            "2025-03-24,B20,planted,spinach,light_fabric,",
            "2025-04-08,A20,planted,carrot,,",
            "2025-05-14,A9,planted,tomato,,",
            "2025-05-23,A9,lost,tomato,,",
            "2025-05-27,B11,planted,tomato,,",
            "2025-05-30,A8,planted,squash,,",
            "2025-06-02,B5,planted,snap bean,slitted_film,",
            f"2025-05-23,C18,low,,,{low_c:.1f}",
            f"2025-05-23,B11,low,,,{low_c + 1.3:.1f}",
            "2025-10-18,B11,held,tomato,,",
            "2025-06-20,B20,held,spinach,,",
            "",
        ]
    )


def thermometers(days: pd.DataFrame) -> pd.DataFrame:
    """Invented night minima on the hill, one line for each place and night."""
    rng = np.random.default_rng([VALLEY.seed, 3])
    spring = days.loc["2025-04-01":"2025-06-10"]
    places = gpd.GeoSeries([placed(shapely.Point(at)) for _, at, _ in THERMOMETERS])
    there = places.translate(WEST_M, SOUTH_M).set_crs(CRS).to_crs("EPSG:4326")
    tables = []
    for (name, _, colder_c), at in zip(THERMOMETERS, there, strict=True):
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
    year_mm = days["precipitation_mm"].sum() / 30
    gaps = int(days.isna().any(axis=1).sum())
    print(f"{year_mm:.0f} mm a year, {gaps} days with a missing reading")


if __name__ == "__main__":
    main()
