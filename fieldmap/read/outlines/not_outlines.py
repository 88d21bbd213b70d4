"""What to say of a file that is none of outlines, or of more than anyone draws."""

import numpy as np
import numpy.typing as npt

from fieldmap.errors import Problem, problem
from fieldmap.read.door import SiteFile

# A farm with every hedge and house around it has some thousand.
MOST_SHAPES, MOST_COLUMNS = 50_000, 500
MOST_POINTS, MOST_POINTS_OF_SHAPE = 300_000, 20_000
FORMATS = problem(
    "GeoJSON (.geojson), GeoPackage (.gpkg), Shapefile (.shp) or a zip of one"
)


def not_outlines(file: SiteFile) -> Problem:
    """What to say of a file whose content is not that of its ending."""
    return file.problem(
        "{file} cannot be read as outlines; it is damaged or of another kind than"
        " its name says. Save it as {formats}.",
        formats=FORMATS,
    )


def check_counts(file: SiteFile, shapes: int, columns: int) -> None:
    """Raise SiteError where a file holds more shapes or columns than are read.

    Parameters
    ----------
    file
        The file, for the message.
    shapes
        Number of shapes in it.
    columns
        Number of columns in it.

    Raises
    ------
    SiteError
        When it holds more of either than is read.
    """
    for count, most, what in (
        (shapes, MOST_SHAPES, problem("shapes")),
        (columns, MOST_COLUMNS, problem("columns")),
    ):
        if count > most:
            raise file.site_error(
                "{file} holds over {most:,} {what}; delete what you do not need.",
                most=most,
                what=what,
            )


def check_points(file: SiteFile, counts: npt.NDArray[np.int_]) -> None:
    """Raise SiteError where shapes have more corners than are read."""
    largest = int(counts.max(initial=0))
    if largest > MOST_POINTS_OF_SHAPE:
        raise file.site_error(
            "{file} has a shape of {points:,} corners, and fieldmap reads at most"
            " {most:,}; simplify it.",
            points=largest,
            most=MOST_POINTS_OF_SHAPE,
        )
    if counts.sum() > MOST_POINTS:
        raise file.site_error(
            "{file} has {points:,} corners in all, and fieldmap reads at most {most:,};"
            " delete what you do not need.",
            points=int(counts.sum()),
            most=MOST_POINTS,
        )
