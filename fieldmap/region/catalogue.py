"""The layers of a region as a STAC catalogue: one item for each tile, a link a file."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pystac
import shapely

from fieldmap.analyse.light.sky import SUN_YEAR
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.region import Tile
from fieldmap.region.files import write_whole
from fieldmap.region.tiles import LAYERS, Layer, Place

FILE, ITEMS = "catalog.json", "items"
# What lies in a tile is of no day; the light is that of the sun of one year.
YEAR = (
    datetime(SUN_YEAR, 1, 1, tzinfo=UTC),
    datetime(SUN_YEAR, 12, 31, 23, 59, 59, tzinfo=UTC),
)
DECIMALS = 7  # of a degree: a centimetre


def write(place: Place, name: str) -> Path:
    """Write `catalog.json` and its items beside the layers; the catalogue's path.

    Layers whose files are not there are left out.
    """
    catalogue = pystac.Catalog("region", description=name)
    catalogue.add_items(list(_items(place)))
    catalogue.normalize_hrefs(
        str(place.out.resolve()),
        strategy=pystac.layout.TemplateLayoutStrategy(item_template=ITEMS),
    )
    catalogue.catalog_type = pystac.CatalogType.SELF_CONTAINED
    for each in (*catalogue.get_items(recursive=True), catalogue):
        if isinstance(each, pystac.Item):
            each.make_asset_hrefs_relative()
        # Links of a self-contained catalogue hold wherever its folder is moved.
        found = each.to_dict(include_self_link=False)
        text = json.dumps(found, indent=1, sort_keys=True, ensure_ascii=False)
        write_whole(Path(each.self_href), f"{text}\n".encode())
    return place.out / FILE


def _items(place: Place) -> Iterator[pystac.Item]:
    """An item for each tile of the ground, and for each of the night."""
    shown = [layer for layer in LAYERS.values() if layer.shown]
    for kind, of_kind in (
        ("ground", [each for each in shown if each.on != "night"]),
        ("night", [each for each in shown if each.on == "night"]),
    ):
        for tile in place.tiles(of_kind[0]):
            there = [each for each in of_kind if place.file(each, tile).is_file()]
            if there:
                yield _item(place, f"{kind}_{tile.name}", tile, there)


def _item(place: Place, name: str, tile: Tile, there: list[Layer]) -> pystac.Item:
    to_degrees = transformer(place.crs, WGS84)
    corners = shapely.box(*place.lattice(there[0]).bounds(tile))
    way: Any = to_degrees.transform
    outline = shapely.transform(corners, way, interleaved=False)
    rounded = shapely.set_precision(outline, 10.0**-DECIMALS)
    item = pystac.Item(
        name,
        geometry=json.loads(shapely.to_geojson(rounded)),
        bbox=list(rounded.bounds),
        datetime=None,
        start_datetime=YEAR[0],
        end_datetime=YEAR[1],
        properties={},
    )
    for layer in there:
        path = place.file(layer, tile).resolve()
        item.add_asset(
            layer.name,
            pystac.Asset(
                str(path),
                title=layer.name,
                media_type=pystac.MediaType.COG,
                roles=["data"],
                extra_fields={"unit": layer.unit, "bands_named": list(layer.bands)},
            ),
        )
    return item
