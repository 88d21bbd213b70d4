"""Which layers a region has, on which lattice, and where the file of each tile lies."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal, NamedTuple, Self

import pyproj

from fieldmap.errors import PlanError, problem
from fieldmap.model.raster import Bounds
from fieldmap.model.region import LEVELS, Lattice, Lattices, Region, Tile

FOLDER, MANIFEST = "region", "region.json"
SECTORS = 36
MONTHS = tuple(f"month_{number:02d}" for number in range(1, 13))
AZIMUTHS = tuple(f"azimuth_{number * 360 // SECTORS:03d}" for number in range(SECTORS))
NIGHT = ("thin_m", "central_m", "deep_m", "wetness")

# Where water gathers: as people see it, and as the cold of still nights goes with it.
WATER = ("wetness_index", "cold_air_wetness")

On = Literal["ground", "view", "night", "wide", "ground_1", "ground_2", "ground_3"]


class Layer(NamedTuple):
    """One kind of value over the region: a folder of files, one a tile.

    Attributes
    ----------
    unit
        Of its values as they are read.
    on
        The lattice of its tiles.
    bands
        Names, where there are several.
    step
        Values are kept as whole numbers of steps of so much, from 0 on; None keeps
        single floats.
    shown
        Whether it is for people; others serve the computation.
    """

    name: str
    unit: str
    on: On
    bands: tuple[str, ...] = ()
    step: float | None = None
    shown: bool = True


_COARSER: tuple[On, ...] = ("ground_1", "ground_2", "ground_3")
LAYERS: Mapping[str, Layer] = {
    layer.name: layer
    for layer in (
        Layer("elevation_m", "metre", "ground"),
        *(Layer(f"elevation_{on}_m", "metre", on, shown=False) for on in _COARSER),
        Layer("elevation_night_m", "metre", "night", shown=False),
        Layer("elevation_wide_m", "metre", "wide", shown=False),
        Layer("filled_m", "metre", "night", shown=False),
        Layer("slope_deg", "degree", "ground", step=0.01),
        Layer("aspect_deg", "degree", "ground", step=0.01),
        Layer("sky_view", "1", "ground", step=0.0001),
        Layer("sun_mj_m2_day", "MJ m-2 day-1", "ground", MONTHS, step=0.001),
        Layer("skyline_deg", "degree", "view", AZIMUTHS, step=0.01),
        Layer("night", "metre", "night", NIGHT, shown=False),
        Layer("cold_air_wetness", "1", "night", shown=False),
        Layer("cold_air_m", "metre", "night"),
        Layer("offset_c", "degree Celsius", "night", ("low", "central", "high")),
        Layer("season_days", "day", "night"),
        Layer("wetness_index", "1", "night"),
    )
}
# Heights by level, the finest first.
GROUND = ("elevation_m", *(f"elevation_{on}_m" for on in _COARSER))
assert len(GROUND) == LEVELS


@dataclass(frozen=True)
class Place:
    """Where the layers of a region lie: on disk, and on the earth.

    Attributes
    ----------
    folder
        Of the region, as the user names it.
    bounds
        Of the ground that is mapped.
    """

    folder: Path
    crs: pyproj.CRS
    lattices: Lattices
    bounds: Bounds

    @classmethod
    def of(cls, region: Region) -> Self:
        """Of what was read."""
        return cls(region.folder, region.crs, region.lattices, region.bounds)

    @classmethod
    def read(cls, folder: Path) -> Self:
        """Of layers that were made before.

        Raises
        ------
        PlanError
            When none were.
        """
        path = folder / FOLDER / MANIFEST
        try:
            table = json.loads(path.read_text("utf-8"))
            lattices = table["lattices"]
            return cls(
                folder,
                pyproj.CRS.from_wkt(table["crs"]),
                Lattices(
                    tuple(Lattice(**each) for each in lattices["ground"]),
                    Lattice(**lattices["view"]),
                    Lattice(**lattices["night"]),
                    Lattice(**lattices["wide"]),
                ),
                tuple(table["bounds"]),
            )
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise PlanError(
                problem(
                    "{folder} holds no layers of a region; make them with fieldmap"
                    " region {folder}.",
                    folder=folder,
                )
            ) from error

    def manifest(self) -> str:
        """What `read` reads."""
        table = {
            "crs": self.crs.to_wkt(),
            "bounds": self.bounds,
            "lattices": {
                "ground": [asdict(each) for each in self.lattices.ground],
                "view": asdict(self.lattices.view),
                "night": asdict(self.lattices.night),
                "wide": asdict(self.lattices.wide),
            },
        }
        return json.dumps(table, indent=1, sort_keys=True) + "\n"

    @property
    def out(self) -> Path:
        """The folder of all that is made."""
        return self.folder / FOLDER

    def lattice(self, layer: Layer) -> Lattice:
        """The lattice of a layer's tiles."""
        if layer.on == "view":
            return self.lattices.view
        if layer.on == "night":
            return self.lattices.night
        if layer.on == "wide":
            return self.lattices.wide
        level = 0 if layer.on == "ground" else int(layer.on.removeprefix("ground_"))
        return self.lattices.ground[level]

    def file(self, layer: Layer, tile: Tile) -> Path:
        """The file of a tile: REGION/region/layers/LAYER/COLUMN_ROW.tif."""
        return self.out / "layers" / layer.name / f"{tile.name}.tif"

    def rim_file(self, tile: Tile) -> Path:
        """What the outermost cells of a tile of the night have to do with each other."""
        return self.out / "rims" / f"{tile.name}.npz"

    def frame_file(self, tile: Tile) -> Path:
        """Cold air around a tile of the night, where no tiles are."""
        return self.out / "frames" / f"{tile.name}.npz"

    def part_file(self, tile: Tile) -> Path:
        """What the air of a tile of the night meets."""
        return self.out / "parts" / f"{tile.name}.npz"

    @property
    def air(self) -> Path:
        """The folder of the air after each spell, while a night is not over."""
        return self.out / "air"

    def air_file(self, tile: Tile, number: int) -> Path:
        """Air of a tile after this number of spells."""
        return self.air / f"{number}" / f"{tile.name}.npz"

    def tiles(self, layer: Layer) -> tuple[Tile, ...]:
        """Tiles of a layer that the mapped ground touches."""
        return self.lattice(layer).touching(self.bounds)
