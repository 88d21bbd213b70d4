"""Things on the ground to plots, what stands around them, and what is left aside."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from shapely.geometry import MultiPolygon, Polygon

from fieldmap.errors import SiteError, problem
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.surroundings import KINDS
from fieldmap.read.outlines.plots import MOST_PLOTS, SMALLEST_PLOT_M2
from fieldmap.read.place import utm
from fieldmap.read.start.outline import around, walk
from fieldmap.read.start.outline.around import Around, Ask
from fieldmap.read.start.outline.things import HOLE, PLOT, Thing, kind_of

Floats = npt.NDArray[np.float64]

# A line whose ends are farther apart than this share of it goes around nothing.
OPEN_SHARE = 0.2
ASKED_GAP_M = 10.0  # a walk that is closed over more than this is said
# A strip narrower than this in errors of a place has a width that the phone decides.
NARROW_ERRORS = 6.0
# Phones call a walk by the hour at which it began; a plot is not called so.
WHEN = re.compile(r"\b\d{1,2}:\d{2}\b|\b\d{4}-\d{2}-\d{2}")
# Standard deviations that a stated area may be out: 19 of 20 walks, and some room for
# what cleaning takes off or leaves on.
GIVE_OR_TAKE_SDS = 2.5


@dataclass(frozen=True)
class Plot:
    """One outline to plant.

    Attributes
    ----------
    outline
        In longitude and latitude.
    walked
        What became of a walk, in the metric CRS; None of what was drawn.
    track_m
        The walk as it was, (places, 2) in the same.
    height_m
        Of the walk, as the phone measured it; None where it did not.
    """

    name: str | None
    outline: Polygon | MultiPolygon
    attributes: dict[str, Any]
    walked: walk.Walked | None = None
    track_m: Floats | None = None
    height_m: float | None = None


@dataclass(frozen=True)
class Sorted:
    """Everything that was drawn, by what it is."""

    plots: tuple[Plot, ...]
    around: tuple[Around, ...]
    aside: tuple[Around, ...]
    facts: tuple[Fact, ...]


def sort(things: Sequence[Thing], error_m: float, ask: Ask) -> Sorted:
    """Plots, surroundings and the rest.

    Parameters
    ----------
    things
        Every shape of the files, in longitude and latitude.
    error_m
        Standard deviation of a place of a walk along each axis [m].
    ask
        Puts a question to the user; its answer is None where nobody is there.
    """
    crs = _metric(things)
    grounds: list[Plot] = []
    holes: list[Polygon] = []
    inner: list[Plot] = []
    stands: list[tuple[Thing, str]] = []
    unknown: list[Thing] = []
    facts: list[Fact] = []
    for thing in things:
        kind = kind_of(thing)
        if kind is not None and kind in KINDS:
            stands.append((thing, kind))
            continue
        plot, said = _as_plot(thing, crs, error_m)
        facts += said
        if plot is None:
            unknown.append(thing)
        elif kind == HOLE:
            holes.append(_in_metres(plot.outline, crs))
        else:
            (grounds if kind == PLOT else inner).append(plot)
    grounds += inner
    if len(grounds) > MOST_PLOTS:
        raise SiteError(
            problem(
                "{files}: {count:,} areas may be plots, and at most {most:,} go into one"
                " plan; keep those of one place.",
                files=files_of(things),
                count=len(grounds),
                most=MOST_PLOTS,
            )
        )
    corners = [thing for thing in unknown if thing.shape.geom_type == "Point"]
    if not grounds and len(corners) >= 3:
        plot, said = _of_corners(corners, crs)
        grounds.append(plot)
        facts += said
        unknown = [each for each in unknown if each.shape.geom_type != "Point"]
    plots, said = _apart(grounds, holes, crs)
    known, aside = around.complete(stands, unknown, ask)
    return Sorted(tuple(plots), known, aside, (*facts, *said))


def files_of(things: Iterable[Thing]) -> str:
    """Names of the files that things came from."""
    return ", ".join(dict.fromkeys(thing.file for thing in things))


def _metric(things: Sequence[Thing]) -> pyproj.CRS:
    shapes = np.array([thing.shape for thing in things], object)
    west, south, east, north = shapely.total_bounds(shapes)
    if east - west > 1 or north - south > 1:
        raise SiteError(
            problem(
                "the outlines of {files} lie up to {degrees:.0f} degrees apart ({south:.3f} to"
                " {north:.3f} north, {west:.3f} to {east:.3f} east); a site is a few"
                " kilometres across. Name the files of one place.",
                files=files_of(things),
                degrees=max(east - west, north - south),
                south=south,
                north=north,
                west=west,
                east=east,
            )
        )
    return utm((west + east) / 2, (south + north) / 2)


def _in_metres(shape: Any, crs: pyproj.CRS) -> Any:
    return _moved(shape, transformer(WGS84, crs))


def _in_degrees(shape: Any, crs: pyproj.CRS) -> Any:
    return _moved(shape, transformer(crs, WGS84))


def _moved(shape: Any, way: pyproj.Transformer) -> Any:
    def move(places: Floats) -> Floats:
        return np.column_stack(way.transform(*places.T))

    return shapely.transform(shape, move)


def _as_plot(
    thing: Thing, crs: pyproj.CRS, error_m: float
) -> tuple[Plot | None, list[Fact]]:
    """The area of a thing, None where it has none."""
    if thing.is_point:
        return None, []
    shape = _in_metres(thing.shape, crs)
    if thing.shape.geom_type == "Polygon":
        outline, said = _valid(shape, thing)
        return _plot(thing, outline, crs), said
    places = shapely.get_coordinates(shape)
    gap_m = float(np.hypot(*(places[-1] - places[0])))
    if gap_m > OPEN_SHARE * shape.length and not _comes_back(places):
        return None, []
    if thing.is_walk:
        return _of_track(thing, places, crs, error_m)
    return _of_line(thing, places, crs)


def _of_track(
    thing: Thing, places: Floats, crs: pyproj.CRS, error_m: float
) -> tuple[Plot | None, list[Fact]]:
    """The area that a walk goes around."""
    if thing.name and WHEN.search(thing.name):
        thing = replace(thing, name=None)
    walked = walk.clean(places, thing.seconds, error_m)
    plot = None if walked is None else _plot(thing, walked.outline, crs)
    if walked is None or plot is None:
        return None, []
    plot = replace(plot, walked=walked, track_m=places, height_m=thing.height_m)
    return plot, _of_walk(thing, walked, error_m)


def _of_line(
    thing: Thing, places: Floats, crs: pyproj.CRS
) -> tuple[Plot | None, list[Fact]]:
    """The area of a drawn line that ends near its beginning."""
    gap_m = float(np.hypot(*(places[-1] - places[0])))
    ring = places[:-1] if gap_m == 0 else places
    drawn, crossings, left_m2 = walk.mended(ring) if len(ring) > 2 else (None, (), 0.0)
    if drawn is None:
        return None, []
    said = [_mended(thing, crossings, left_m2)] if crossings else []
    if gap_m > 0:
        said.append(Fact("start_line_closed", name=_called(thing), gap_m=gap_m))
    return _plot(thing, drawn, crs), said


def _comes_back(places: Floats) -> bool:
    """Whether the last third of a walk comes near its first place."""
    late = places[-len(places) // 3 :]
    return bool(np.hypot(*(late - places[0]).T).min() < walk.BACK_WITHIN_ERRORS * 5)


def _plot(thing: Thing, outline: Any, crs: pyproj.CRS) -> Plot | None:
    if outline.area < SMALLEST_PLOT_M2:
        return None
    return Plot(thing.name, _in_degrees(outline, crs), dict(thing.attributes))


def _called(thing: Thing) -> str:
    return thing.name or thing.file


def _valid(shape: Polygon, thing: Thing) -> tuple[Polygon | MultiPolygon, list[Fact]]:
    """An area without crossings, and what was mended."""
    if shape.is_valid:
        return shape, []
    whole = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    parts = [part for part in shapely.get_parts(whole) if part.geom_type == "Polygon"]
    if not parts:
        return Polygon(), []
    largest = max(parts, key=lambda part: part.area)
    left_m2 = sum(part.area for part in parts) - largest.area
    return largest, [_mended(thing, ((0.0, 0.0),), left_m2)]


def _mended(
    thing: Thing, crossings: Sequence[tuple[float, float]], left_m2: float
) -> Fact:
    return Fact(
        "start_crossings_mended",
        name=_called(thing),
        number=len(crossings),
        left_m2=left_m2,
    )


def _of_walk(thing: Thing, walked: walk.Walked, error_m: float) -> list[Fact]:
    """What to say of a walk: its area and how sure that is."""
    name, area_m2 = _called(thing), walked.outline.area
    said = [
        Fact(
            "start_walk_area",
            name=name,
            area_m2=area_m2,
            give_or_take_m2=GIVE_OR_TAKE_SDS * walked.area_sd_m2,
            error_m=error_m,
        )
    ]
    if thing.pieces > 1:
        said.append(Fact("start_walk_joined", name=name, number=thing.pieces))
    if walked.crossings:
        said.append(_mended(thing, walked.crossings, walked.other_side_m2))
    if walked.gap_m > ASKED_GAP_M:
        said.append(Fact("start_line_closed", name=name, gap_m=walked.gap_m))
    width_m = 2 * area_m2 / walked.outline.length
    if width_m < NARROW_ERRORS * error_m:
        said.append(
            Fact("start_walk_narrow", name=name, width_m=width_m, error_m=error_m)
        )
    return said


def _of_corners(corners: Sequence[Thing], crs: pyproj.CRS) -> tuple[Plot, list[Fact]]:
    """One area of places that have no kind, in their order, or else around their middle."""
    places = np.array([_in_metres(each.shape, crs).coords[0] for each in corners])
    outline, said = Polygon(places), [Fact("start_corners", number=len(places))]
    if not outline.is_valid or outline.area == 0:
        away = places - places.mean(axis=0)
        outline = Polygon(places[np.argsort(np.arctan2(away[:, 1], away[:, 0]))])
        said.append(Fact("start_corners_ordered"))
    if not outline.is_valid or outline.area < SMALLEST_PLOT_M2:
        raise SiteError(
            problem(
                "{file}: its {count} places are corners of no area; name them in the"
                " order of a walk around the plot.",
                file=corners[0].file,
                count=len(corners),
            )
        )
    return Plot(None, _in_degrees(outline, crs), {}), said


def _apart(
    plots: Sequence[Plot], holes: Sequence[Polygon], crs: pyproj.CRS
) -> tuple[list[Plot], list[Fact]]:
    """Plots that share no ground: holes cut out, and of an overlap the first keeps it."""
    found: list[tuple[Plot, Any]] = []
    said: list[Fact] = []
    order = sorted(range(len(plots)), key=lambda n: -plots[n].outline.area)
    for number in order:
        plot = plots[number]
        shape = _in_metres(plot.outline, crs)
        outer = next(
            (at for at, (_, one) in enumerate(found) if _is_hole(shape, one)), None
        )
        if outer is not None:
            whole, ground = found[outer]
            found[outer] = whole, ground.difference(shape)
            said.append(_fact_of_two("start_taken_as_hole", plot, whole))
            continue
        for other, ground in found:
            if shape.intersects(ground) and shape.intersection(ground).area > 0:
                said.append(_fact_of_two("start_overlap_cut", plot, other))
                shape = shape.difference(ground)
        if shape.area >= SMALLEST_PLOT_M2:
            found.append((plot, shape))
    left_out = shapely.union_all(list(holes)) if holes else Polygon()
    kept = []
    for plot, shape in sorted(found, key=lambda each: plots.index(each[0])):
        ground = _areas(shape.difference(left_out))
        if ground.area >= SMALLEST_PLOT_M2:
            kept.append(replace(plot, outline=_in_degrees(ground, crs)))
    return kept, said


def _areas(shape: Any) -> Polygon | MultiPolygon:
    """The areas of a shape alone, without specks that cutting leaves."""
    parts = [
        part
        for part in shapely.get_parts(shape)
        if part.geom_type == "Polygon" and part.area >= SMALLEST_PLOT_M2
    ]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def _is_hole(shape: Any, other: Any) -> bool:
    """Whether a shape lies within another, and is not the same drawn twice."""
    return _within(shape, other) and not _within(other, shape)


def _within(shape: Any, other: Any) -> bool:
    return bool(shape.difference(other).area < 0.02 * shape.area)


def _fact_of_two(kind: str, one: Plot, other: Plot) -> Fact:
    return Fact(kind, name=one.name or "?", other=other.name or "?")
