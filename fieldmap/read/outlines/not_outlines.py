"""What to say of a file that is none of outlines."""

from fieldmap.errors import Problem, problem
from fieldmap.read.door import SiteFile

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
