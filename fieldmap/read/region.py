"""A region folder to a `Region`: `region.toml`, parcels, elevation, weather."""

import hashlib
import uuid
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pydantic
import shapely
from rasterio.transform import from_origin

from fieldmap.errors import (
    FieldmapError,
    Problem,
    SiteError,
    joined,
    problem,
    site_error,
)
from fieldmap.model.coordinates import WGS84, in_crs, transformer
from fieldmap.model.raster import Bounds, Raster, grown
from fieldmap.model.region import FILE, Region, RegionSettings, lattices
from fieldmap.model.site import TypicalYear, WeatherRecord
from fieldmap.read import door, place, sky
from fieldmap.read.elevation.tiles import HeightTiles, open_tiles
from fieldmap.read.outlines.files import Outlines
from fieldmap.read.outlines.parcels import read_parcels
from fieldmap.read.outlines.surroundings import (
    no_surroundings,
    on_ground,
    read_surroundings,
)
from fieldmap.read.start.elevation.remote import TIFF
from fieldmap.read.start.net.web import Web
from fieldmap.read.toml import model_at, read_table
from fieldmap.read.weather.files import read_weather
from fieldmap.read.wording import (
    either,
    fault_of_name,
    nearest,
    quoted,
    said_by,
    what_is_right,
)

FETCHED = "region/fetched"
MOST_BYTES_FETCHED = 400_000_000
AROUND_M = 200.0  # ground that is mapped around the parcels (a choice)


def read_settings(folder: Path) -> RegionSettings:
    """The choices of `region.toml`.

    Raises
    ------
    SiteError
        With a sentence for every key that cannot be used.
    """
    door.check_folder(folder)
    if not folder.is_dir():
        raise site_error(
            "{folder} is not a folder; name a folder that holds {file}.",
            folder=folder,
            file=FILE,
        )
    if not door.is_there(folder, FILE):
        raise site_error(
            "{file} is missing from {folder}; make it with at least one line, such as"
            ' name = "Lyde valley".',
            file=FILE,
            folder=folder,
        )
    table = read_table(door.open_file(folder, FILE, door.MOST_BYTES_OF_TOML))
    try:
        settings = RegionSettings.model_validate(table)
    except pydantic.ValidationError as error:
        said = {str(each): each for each in _sentences(error)}
        raise SiteError(list(said.values())) from error
    if fault := fault_of_name(settings.name):
        raise site_error("{file}: name {fault}.", file=FILE, fault=fault)
    return settings


def read_region(folder: Path, web: Web | None = None) -> tuple[Region, HeightTiles]:
    """What is in a region folder, and its elevation, of which no height is read yet.

    Parameters
    ----------
    web
        Asks servers for elevation at addresses; None asks nobody.

    Raises
    ------
    SiteError
        With a sentence for each file that cannot be used.
    """
    settings = read_settings(folder)
    problems: list[Problem | str] = []

    def attempt(read: Any, *given: Any) -> Any:
        try:
            return read(*given)
        except FieldmapError as error:
            problems.extend(error.problems)
            return None

    parcels = attempt(_parcels, folder, settings)
    heights = attempt(
        open_tiles,
        folder,
        settings.elevation,
        settings.height_unit,
        partial(_fetched, folder, web),
    )
    weather = attempt(_weather, folder, settings)
    typical = attempt(_typical_year, folder, settings)
    around = attempt(_surroundings, folder, settings)
    placed = None
    if parcels is not None and heights is not None:
        placed = attempt(_placed, parcels, heights)
    if problems or placed is None:
        raise SiteError(problems)
    bounds = _within(grown(placed.total_bounds.tolist(), AROUND_M), heights.bounds)
    longitude, latitude = _middle(bounds, heights)
    things = attempt(_on_ground, around, heights)
    if problems:
        raise SiteError(problems)
    region = Region(
        folder=folder,
        settings=settings,
        parcels=placed,
        surroundings=things,
        weather=weather,
        typical_year=typical,
        crs=heights.crs,
        lattices=lattices(heights.corner, heights.cell_m, settings.tile_cells),
        bounds=bounds,
        known=heights.bounds,
        latitude=latitude,
        longitude=longitude,
        convergence_deg=place.convergence_deg(heights.crs, longitude, latitude),
    )
    return region, heights


def _fetched(folder: Path, web: Web | None, address: str) -> str:
    """Name of the file in the folder that holds a grid from an address.

    Raises
    ------
    SiteError
        When nothing may be fetched, or what comes is no GeoTIFF.
    """
    digest = hashlib.sha256(address.encode()).hexdigest()[:24]
    name = f"{FETCHED}/{digest}.tif"
    if door.is_there(folder, name):
        return name
    if web is None:
        raise site_error(
            "{address} is an address, and fieldmap asks a server only with --fetch; add"
            " --fetch to get the file.",
            address=address[:300],
        )
    content = web.whole(address, MOST_BYTES_FETCHED)
    if content[:4] not in TIFF:
        raise site_error(
            "{address} is not a GeoTIFF; name the file itself, not a page about it.",
            address=address[:300],
        )
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    # A region may come from a stranger: under a name of its own no link can lie in wait.
    beside = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
    with beside.open("xb") as file:
        file.write(content)
    beside.replace(path)
    return name


def _parcels(folder: Path, settings: RegionSettings) -> Outlines:
    file = door.open_file(folder, settings.parcels, door.MOST_BYTES_OF_OUTLINES)
    return read_parcels(file)


def _weather(folder: Path, settings: RegionSettings) -> WeatherRecord:
    """The record, none where no file is there by the usual name."""
    name = settings.weather
    usual = RegionSettings.model_fields["weather"].default
    if name == usual and not door.is_there(folder, name):
        return WeatherRecord.none()
    return read_weather(door.open_file(folder, name, door.MOST_BYTES_OF_TABLE))


def _typical_year(folder: Path, settings: RegionSettings) -> TypicalYear | None:
    if settings.typical_year is None:
        return None
    file = door.open_file(folder, settings.typical_year, door.MOST_BYTES_OF_TABLE)
    return sky.read_typical_year(file)


def _surroundings(folder: Path, settings: RegionSettings) -> Outlines:
    name = settings.surroundings
    usual = RegionSettings.model_fields["surroundings"].default
    if name == usual and not door.is_there(folder, name):
        return no_surroundings(door.SiteFile(folder / name, name))
    return read_surroundings(door.open_file(folder, name, door.MOST_BYTES_OF_OUTLINES))


def _placed(parcels: Outlines, heights: HeightTiles) -> gpd.GeoDataFrame:
    """Parcels in the CRS of the elevation."""
    longitude, latitude = place.middle(parcels.frame)
    if not place.fits(heights.crs, longitude, latitude):
        raise heights.tiles[0].elevation.file.site_error(
            "{file} is in {crs}, in which lengths cannot be measured where the parcels"
            " lie; warp the elevation to metres, such as UTM (gdalwarp -t_srs"
            " EPSG:{code}).",
            crs=quoted(heights.crs.name[:100]),
            code=place.utm(longitude, latitude).to_epsg(),
        )
    placed = in_crs(parcels.frame, heights.crs)
    outside = ~shapely.intersects(
        placed.geometry.to_numpy(), shapely.box(*heights.bounds)
    )
    if outside.all():
        raise parcels.file.site_error(
            "{file}: none of the {count} parcels lies on the elevation; take the tiles"
            " of the place, or correct the CRS.",
            count=len(placed),
        )
    return placed


def _on_ground(around: Outlines, heights: HeightTiles) -> gpd.GeoDataFrame:
    """Surroundings in the CRS of the elevation."""
    west, south, east, north = heights.bounds
    size_m = heights.cell_m
    shape = round((north - south) / size_m), round((east - west) / size_m)
    nothing = np.broadcast_to(np.nan, shape)  # one number, whatever the shape
    transform = from_origin(west, north, size_m, size_m)
    return on_ground(around, Raster(nothing, transform, heights.crs)).frame


def _within(bounds: Bounds, known: Bounds) -> Bounds:
    return (
        max(bounds[0], known[0]),
        max(bounds[1], known[1]),
        min(bounds[2], known[2]),
        min(bounds[3], known[3]),
    )


def _middle(bounds: Bounds, heights: HeightTiles) -> tuple[float, float]:
    west, south, east, north = bounds
    to_degrees = transformer(heights.crs, WGS84)
    longitude, latitude = to_degrees.transform((west + east) / 2, (south + north) / 2)
    return float(longitude), float(latitude)


def _sentences(error: pydantic.ValidationError) -> Iterator[Problem]:
    for detail in error.errors(include_url=False):
        yield _sentence(detail)


def _sentence(detail: Any) -> Problem:
    """One of pydantic's findings in words."""
    where: Sequence[str | int] = detail["loc"]
    table = ".".join(str(part) for part in where[:-1] if isinstance(part, str))
    place_of = problem(" in [{table}]", table=table) if table else ""
    begin = joined(f"{FILE}: ")
    kind = detail["type"]
    if kind == "value_error":  # a rule of ours that joins several keys of a table
        owner = f"[{'.'.join(map(str, where))}]: " if where else ""
        return joined(begin, owner, said_by(detail), ".")
    if kind == "missing":
        return problem(
            "{begin}{key}{place} is missing; add a line {key} = ...",
            begin=begin,
            key=where[-1],
            place=place_of,
        )
    if kind == "extra_forbidden":
        return _unknown_key(begin, where, place_of)
    return problem(
        "{begin}{key}{place} is {value}; it must be {right}.",
        begin=begin,
        key=where[-1],
        place=place_of,
        value=quoted(detail["input"]),
        right=what_is_right(detail),
    )


def _unknown_key(
    begin: Problem, where: Sequence[str | int], place_of: Problem | str
) -> Problem:
    known = list(model_at(RegionSettings, where[:-1]).model_fields)
    said = {"begin": begin, "key": quoted(where[-1]), "place": place_of}
    near = nearest(str(where[-1]), known)
    if near:
        return problem(
            "{begin}{key}{place} is not a key; did you mean {near}?",
            near=quoted(near),
            **said,
        )
    return problem(
        "{begin}{key}{place} is not a key; its keys are {keys}.",
        keys=either(known),
        **said,
    )
