"""Plots and surroundings as GeoJSON of our own writing (RFC 7946)."""

import json
from collections.abc import Iterable, Mapping
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.read.start.outline.around import Around
from fieldmap.read.start.outline.sort import Plot

_PLACES = 1e-7  # degrees: a centimetre


def plots(drawn: Iterable[Plot]) -> bytes:
    """The file of plots."""
    return _collection(
        (plot.outline, {"name": plot.name, **_of_plot(plot.attributes)})
        for plot in drawn
    )


def _of_plot(attributes: Mapping[str, Any]) -> dict[str, Any]:
    kept = ("ground", "soil", "wet_in_march", "bearing_deg")
    return {key: attributes[key] for key in kept if attributes.get(key) is not None}


def around(things: Iterable[Around]) -> bytes:
    """The file of surroundings, or of what was left aside."""
    return _collection(
        (
            each.shape,
            {
                "name": each.name,
                "kind": each.kind,
                **each.attributes,
                **({"not_known": ", ".join(each.missing)} if each.missing else {}),
            },
        )
        for each in things
    )


def _collection(shapes: Iterable[tuple[BaseGeometry, dict[str, Any]]]) -> bytes:
    features = [
        {
            "type": "Feature",
            "properties": {k: v for k, v in said.items() if v is not None},
            "geometry": shapely.geometry.mapping(
                shapely.orient_polygons(shapely.set_precision(shape, _PLACES))
            ),
        }
        for shape, said in shapes
    ]
    whole = {"type": "FeatureCollection", "features": features}
    return (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode()
