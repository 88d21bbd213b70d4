"""What differs from cell to cell, as continuous colour with lines at whole steps."""

from collections.abc import Mapping
from typing import TypedDict

import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.model.raster import Raster
from fieldmap.show.contours import lines_at
from fieldmap.show.kept import cells, written
from fieldmap.show.map.scene import packed
from fieldmap.show.map.scene.frame import Frame
from fieldmap.show.map.scene.ground import FieldPicture, field_picture

SIMPLER_M = 0.5
SHORTEST_M = 25.0


class Field(TypedDict):
    """Colours of a ramp on the ground, and dotted lines with what they say."""

    picture: FieldPicture
    ramp: str
    lines: packed.Lines
    said: list[str]


def field(places: Raster, ramp: str, frame: Frame, steps: Mapping[float, str]) -> Field:
    """A field as places from 0 to 1 along a ramp.

    Parameters
    ----------
    places
        NaN: clear.
    ramp
        Key of the ramp.
    frame
        Frame of the page, in which picture and lines lie.
    steps
        Places at which a line is drawn, and what stands on it.
    """
    inputs = {"ramp": ramp, "frame": frame, "steps": list(steps.items())}
    return written(
        "field",
        inputs | cells("places", places),
        lambda: _field(places, ramp, frame, steps),
    )


def _field(
    places: Raster, ramp: str, frame: Frame, steps: Mapping[float, str]
) -> Field:
    found: list[tuple[npt.NDArray[np.float64], str]] = []
    for place, said in steps.items():
        for points in lines_at(places, place):
            line = shapely.LineString(points)
            if line.length >= SHORTEST_M:
                thin = shapely.get_coordinates(line.simplify(SIMPLER_M))
                found.append((frame.points(thin, places.crs), said))
    return Field(
        picture=field_picture(places, frame),
        ramp=ramp,
        lines=packed.lines([line for line, _said in found]),
        said=[said for _line, said in found],
    )
