"""One parcel as a site of its own, made of the layers of its region."""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import shapely
from rasterio.io import MemoryFile

from fieldmap.errors import PlanError, problem
from fieldmap.model.coordinates import WGS84, in_crs
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster, grown
from fieldmap.model.region import Region
from fieldmap.model.settings import Station
from fieldmap.read import door
from fieldmap.read.outlines.parcels import GROUND_COLUMNS
from fieldmap.read.start import folder as site_folder
from fieldmap.read.wording import quoted
from fieldmap.region import layers
from fieldmap.region.parcels.describe import level_of
from fieldmap.region.parcels.facts import Floats
from fieldmap.region.tiles import GROUND, LAYERS, Place

PLANS = "plans"  # folder of sites beside the layers
# Ground that a site gets around its parcel: fine, and coarse for hills and what drains
# cold air onto it (choices).
FINE_AROUND_M, WIDE_AROUND_M, WIDE_CELL_M = 600.0, 8000.0, 10.0
THINGS_AROUND_M = 300.0  # surroundings within
LONGEST_NAME = 40
WIDE = "wide_elevation.tif"


class Parcel(NamedTuple):
    """One parcel of a region.

    Attributes
    ----------
    at
        Its number in the file, from 0.
    """

    at: int
    id: str
    name: str
    outline: shapely.Polygon | shapely.MultiPolygon


def find(frame: gpd.GeoDataFrame, wanted: str) -> Parcel:
    """The parcel that goes by an id, else by a name, whatever the case.

    Raises
    ------
    PlanError
        When there is none, or several go by that name.
    """
    folded = wanted.strip().casefold()
    for column in ("id", "name"):
        same = np.flatnonzero(
            [str(each).casefold() == folded for each in frame[column]]
        ).tolist()
        if len(same) == 1:
            row = frame.iloc[same[0]]
            return Parcel(same[0], str(row["id"]), str(row["name"]), row.geometry)
    raise PlanError(
        problem(
            "no parcel is called {name}; name one of the {count} by its id or name, such"
            " as {example}",
            name=quoted(wanted),
            count=len(frame),
            example=quoted(str(frame["name"].iloc[0])),
        )
    )


def folder_of(place: Place, parcel: Parcel) -> Path:
    """Where the site of a parcel lies: its number, and what of its name is plain."""
    plain = re.sub(r"[^\w-]+", "_", parcel.name)[:LONGEST_NAME].strip("_")
    return place.out / PLANS / f"{parcel.at + 1}_{plain}".rstrip("_")


def made(
    region: Region, place: Place, parcel: Parcel, offset_c: Floats
) -> tuple[Path, Fact]:
    """The site folder of a parcel, and what to say of it; one that is there is kept.

    Parameters
    ----------
    region
        What was read of the region.
    place
        Where its tiles lie.
    parcel
        Which parcel.
    offset_c
        (3,): low, central and high of the parcel against the region's reference; NaN
        where it is not known.

    Raises
    ------
    PlanError
        When none of its ground is known.
    """
    folder = folder_of(place, parcel)
    if door.is_there(folder, door.CHOICES_FILE):
        return folder, Fact("parcel_site_kept", folder=folder)
    write(region, place, parcel, offset_c)
    return folder, Fact("parcel_site_made", name=parcel.name, folder=folder)


def write(region: Region, place: Place, parcel: Parcel, offset_c: Floats) -> Path:
    """Write the site folder of a parcel, whole or not at all; where it lies.

    Parameters
    ----------
    region
        What was read of the region.
    place
        Where its tiles lie.
    parcel
        Which parcel.
    offset_c
        (3,): low, central and high of the parcel against the region's reference; NaN
        where it is not known, and then the site gets none.

    Raises
    ------
    PlanError
        When none of its ground is known.
    """
    folder = folder_of(place, parcel)
    bounds = parcel.outline.bounds
    around = grown(bounds, FINE_AROUND_M)
    fine = layers.read(place, LAYERS[GROUND[0]], around).known()
    # Coarser heights are taken where they reach farther.
    wide = level_of(place, grown(bounds, WIDE_AROUND_M), WIDE_CELL_M).known()
    inside = fine.clip(fine.window(bounds))
    if not np.isfinite(inside.values).any():
        raise PlanError(
            problem(
                "no heights are known at {name}, so it cannot be planned",
                name=quoted(parcel.name),
            )
        )
    weather, typical = _records(region)
    reaches = not shapely.box(*fine.bounds).covers(shapely.box(*wide.bounds))
    named = {
        "wide_elevation": WIDE if reaches else None,
        "weather": weather,
        "typical_year": typical,
    }
    files = {
        "site.toml": _choices(region, parcel, offset_c, named).encode(),
        "plots.geojson": _geojson(_plots(parcel, region)),
        "elevation.tif": _tiff(fine),
    }
    around = region.surroundings[
        region.surroundings.intersects(shapely.box(*grown(bounds, THINGS_AROUND_M)))
    ]
    if len(around):
        files["surroundings.geojson"] = _geojson(around)
    if reaches:
        files[WIDE] = _tiff(wide)
    for name in filter(None, (weather, typical)):
        files[Path(name).name] = (region.folder / name).read_bytes()
    site_folder.write(folder, files)
    return folder


def _records(region: Region) -> tuple[str | None, str | None]:
    """Names of the files of weather that are there."""
    weather = region.settings.weather
    is_there = door.is_there(region.folder, weather)
    return weather if is_there else None, region.settings.typical_year


def _plots(parcel: Parcel, region: Region) -> gpd.GeoDataFrame:
    row = region.parcels.iloc[[parcel.at]][["name", *GROUND_COLUMNS, "geometry"]]
    return row.dropna(axis="columns")


def _geojson(frame: gpd.GeoDataFrame) -> bytes:
    text: str = in_crs(frame, WGS84).to_json(drop_id=True, na="drop")
    return f"{text}\n".encode()


def _tiff(heights: Raster) -> bytes:
    rows, cols = heights.shape
    with MemoryFile() as made:
        with made.open(
            driver="GTiff",
            height=rows,
            width=cols,
            count=1,
            dtype="float32",
            crs=heights.crs.to_wkt(),
            transform=heights.transform,
            nodata=float("nan"),
            compress="deflate",
            predictor=3,
        ) as dataset:
            dataset.write(heights.values.astype(np.float32), 1)
            dataset.units = ["metre"]
        return bytes(made.getbuffer())


def _choices(
    region: Region, parcel: Parcel, offset_c: Floats, named: Mapping[str, str | None]
) -> str:
    """The text of `site.toml`.

    Parameters
    ----------
    named
        Files of the site that are not called as usual, None for those that are not there.
    """
    settings = region.settings
    lines = [
        f"name = {_text(f'{parcel.name}, {settings.name}')}",
        f"units = {_text(settings.units)}",
        f"language = {_text(settings.language)}",
    ]
    files = {key: Path(name).name for key, name in named.items() if name is not None}
    lines += _table("files", files)
    lines += _table("ground", {"smoothing_m": settings.smoothing_m})
    sun = settings.sun.model_dump(exclude_defaults=True, mode="json")
    lines += _table("sun", sun) if sun else []
    lines += _station(settings.station)
    if np.isfinite(offset_c).all():
        low, likely, high = np.round(offset_c, 2).tolist()
        lines += _table(
            "region",
            {
                "name": settings.name,
                "offset_low_c": low,
                "offset_c": likely,
                "offset_high_c": high,
            },
        )
    return "\n".join(lines) + "\n"


def _station(station: Station | None) -> Iterable[str]:
    if station is None:
        return []
    return _table("station", station.model_dump(exclude_none=True))


def _table(name: str, values: Mapping[str, object]) -> Iterator[str]:
    yield ""
    yield f"[{name}]"
    for key, value in values.items():
        yield f"{key} = {_text(value)}"


def _text(value: object) -> str:
    """A value as TOML has it: texts, numbers and lists of them as JSON has."""
    return json.dumps(value, ensure_ascii=False)
