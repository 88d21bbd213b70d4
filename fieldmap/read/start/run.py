"""The steps of `fieldmap start`, in their order."""

import json
from collections.abc import Iterable, Mapping, Sequence
from importlib import resources
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import shapely
from shapely.errors import GEOSException

from fieldmap.errors import Problem, SiteError, problem
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds
from fieldmap.model.settings import Files
from fieldmap.read import door
from fieldmap.read.door import ASIDE_FILE, CHOICES_FILE, SiteFile
from fieldmap.read.outlines.plots import read_plots
from fieldmap.read.place import distance_km, time_zone
from fieldmap.read.start import folder as site_folder
from fieldmap.read.start.elevation import choose, local, phone
from fieldmap.read.start.given import Given, What, by_what, opened
from fieldmap.read.start.made import FETCHED, Made
from fieldmap.read.start.outline import geojson, picture
from fieldmap.read.start.outline.gather import gather, stated
from fieldmap.read.start.outline.sort import Plot, Sorted, files_of, sort
from fieldmap.read.start.outline.things import Thing
from fieldmap.read.start.weather import choose as weather
from fieldmap.read.wording import fault_of_name, quoted, typed

NAMES = Files()
FAR_KM = 50.0  # an outline this far from the place that was named is another's
AT_M = 0.0015  # degrees around a place that is only named: some 150 m


def start(given: Given) -> list[Fact]:
    """Make a site folder, or add to one; what was made of it, and the next step.

    Raises
    ------
    SiteError
        When something cannot be read or fetched; then nothing is written.
    """
    site_folder.check(given.folder)
    files = by_what(opened(path) for path in given.files)
    if given.elevation is not None and "://" not in given.elevation:
        files.setdefault("elevation", []).append(_heights(Path(given.elevation)))
    made = Made(given.now)
    drawn = _outlines(given, files.get("outlines", []), made)
    bounds = _bounds(given, drawn)
    there = site_folder.choices_of(given.folder)
    made.choices = there if there is not None else _new_choices(given, drawn)
    if drawn is not None and any(plot.walked is not None for plot in drawn.plots):
        made.choices = site_folder.with_walked_outline(made.choices)
    if bounds is not None:
        _elevation(given, files.get("elevation", []), bounds, made)
        _check_unit(drawn, bounds, made)
        weather.gather(given, files, bounds, made)
    if made.choices != there:
        made.files[CHOICES_FILE] = made.choices.encode()
    if made.fetched:
        made.files[FETCHED] = made.list_of_fetched(given.folder)
    if not made.files or set(made.files) == {CHOICES_FILE}:
        if drawn is None and made.facts:
            return [*made.facts, Fact("start_nothing_yet")]
        raise SiteError(_nothing_to_begin_with(files))
    _ask_before_replacing(given, made.files)
    site_folder.write(given.folder, made.files)
    return [*made.facts, *_next(given.folder)]


def _heights(path: Path) -> SiteFile:
    """The file of heights that was named as one."""
    file = opened(path)
    if file.ending not in local.ENDINGS:
        raise file.site_error(
            "{file} ends in {ending}, and no elevation does; it is a GeoTIFF (.tif), an"
            " ASCII grid (.asc), XYZ, LAS or LAZ.",
            ending=quoted(file.path.suffix),
        )
    return file


def _nothing_to_begin_with(files: Mapping[What, Sequence[SiteFile]]) -> Problem:
    """What to say where no file says where the place lies."""
    names = ", ".join(file.name for some in files.values() for file in some)
    if not names:
        return problem(
            "fieldmap needs something to make a site from, or to add to one; name a"
            " walk or a drawing of the plot, or say where the plot lies with --at"
            " LATITUDE,LONGITUDE."
        )
    return problem(
        "there is nothing to make a site of, or to add to one: {files} says no outline;"
        " name a walk, a drawing or a table of corners (plot,longitude,latitude), or say"
        " where the plot lies with --at LATITUDE,LONGITUDE.",
        files=names,
    )


def _outlines(given: Given, files: Iterable[SiteFile], made: Made) -> Sorted | None:
    """Plots and surroundings of all files together."""
    things = [thing for file in files for thing in gather(file, given.crs)]
    if not things:
        return None
    try:
        return _sorted(given, things, made)
    except GEOSException as error:
        raise SiteError(
            problem(
                "{files}: the areas cross each other almost everywhere, so no plots can be"
                " made from them; keep each plot once.",
                files=files_of(things),
            )
        ) from error


def _sorted(given: Given, things: Sequence[Thing], made: Made) -> Sorted:
    """Plots and surroundings as files, and what is said of them."""
    drawn = sort(things, given.error_m, given.ask)
    has_plots = door.is_there(given.folder, NAMES.plots)
    if not drawn.plots and not has_plots:
        raise SiteError(
            problem(
                "no plot is in {files}: no area, and no walk that comes back to where it"
                " began. Walk once around the plot, and record it as a track.",
                files=files_of(things),
            )
        )
    if drawn.plots:
        made.files[NAMES.plots] = geojson.plots(drawn.plots)
    if drawn.around:
        made.files[NAMES.surroundings] = geojson.around(drawn.around)
    if drawn.aside:
        made.files[ASIDE_FILE] = geojson.around(drawn.aside)
    walks = [plot for plot in drawn.plots if plot.walked is not None]
    for number, plot in enumerate(walks, start=1):
        made.files[f"walk_{number}.svg"] = picture.svg(plot, given.say)
        made.facts.append(Fact("start_picture_is", file=f"walk_{number}.svg"))
    made.facts[:0] = [*_where(drawn.plots), *drawn.facts, *_found(drawn)]
    return drawn


def _where(plots: Sequence[Plot]) -> Iterable[Fact]:
    """How many plots there are, and where, so that a wrong place is seen at once."""
    if plots:
        middle = shapely.unary_union([plot.outline for plot in plots]).centroid
        yield Fact(
            "start_plots",
            number=len(plots),
            names=[plot.name for plot in plots if plot.name],
            latitude=middle.y,
            longitude=middle.x,
            zone=time_zone(middle.x, middle.y),
        )


def _found(drawn: Sorted) -> Iterable[Fact]:
    """What was found around, and what was left aside."""
    if drawn.around:
        kinds = [str(each.kind) for each in drawn.around]
        yield Fact("start_around", kinds=list(dict.fromkeys(kinds)), number=len(kinds))
    for each in drawn.aside:
        kind = "start_aside_unknown" if each.kind is None else "start_aside_incomplete"
        yield Fact(
            kind,
            name=each.name or each.kind or "?",
            missing=[Fact(f"start_lacks_{column}") for column in each.missing],
            file=ASIDE_FILE,
        )


def _bounds(given: Given, drawn: Sorted | None) -> Bounds | None:
    """West, south, east and north of the plots, or of the place that was named."""
    at = None
    if given.at is not None:
        latitude, longitude = given.at
        at = longitude - AT_M, latitude - AT_M, longitude + AT_M, latitude + AT_M
    if drawn is not None and drawn.plots:
        shapes = [plot.outline for plot in drawn.plots]
        west, south, east, north = shapely.unary_union(shapes).bounds
    elif door.is_there(given.folder, NAMES.plots):
        file = door.open_file(given.folder, NAMES.plots, door.MOST_BYTES_OF_OUTLINES)
        west, south, east, north = read_plots(file).frame.to_crs(4326).total_bounds
    else:
        return at
    if given.at is not None:
        _check_near(given.at, ((west + east) / 2, (south + north) / 2))
    return float(west), float(south), float(east), float(north)


def _check_near(at: tuple[float, float], middle: tuple[float, float]) -> None:
    """Raise SiteError where outlines lie far from the place that the user names."""
    latitude, longitude = at
    away_km = distance_km(longitude, latitude, *middle)
    if away_km <= FAR_KM:
        return
    said = {"km": away_km, "latitude": middle[1], "longitude": middle[0]}
    is_swapped = (
        abs(middle[0]) <= 90
        and distance_km(longitude, latitude, middle[1], middle[0]) <= FAR_KM
    )
    if is_swapped:
        raise SiteError(
            problem(
                "the outlines lie {km:.0f} km from --at (at latitude {latitude:.4f},"
                " longitude {longitude:.4f}); with the two numbers in the other order they"
                " would be near it, so their latitude and longitude look swapped.",
                **said,
            )
        )
    raise SiteError(
        problem(
            "the outlines lie {km:.0f} km from --at (at latitude {latitude:.4f},"
            " longitude {longitude:.4f}); correct the one that is wrong.",
            **said,
        )
    )


def _new_choices(given: Given, drawn: Sorted | None) -> str:
    names = [plot.name for plot in drawn.plots if plot.name] if drawn else []
    name = given.name or (names[0] if len(names) == 1 else given.folder.resolve().name)
    fault = fault_of_name(name)
    if fault is not None:
        raise SiteError(
            problem(
                "the name of the folder {fault}; say with --name what the place is"
                " called.",
                fault=fault,
            )
        )
    form = resources.files(__package__).joinpath("first_site.txt").read_text("utf-8")
    spoken = "" if given.language == "en" else f'language = "{given.language}"\n'
    quoted = json.dumps(name, ensure_ascii=False)
    return form.format(name=quoted, language=spoken, **given.comments)


def _elevation(given: Given, files: list[SiteFile], bounds: Bounds, made: Made) -> None:
    """Heights around the plots, if any are named or may be fetched."""
    if len(files) > 1:
        raise SiteError(
            problem(
                "you named {count} elevations ({files}); name only the most detailed one.",
                count=len(files),
                files=", ".join(file.name for file in files),
            )
        )
    if files:
        crs = stated(given.crs, files[0])
        found = choose.from_file(files[0], bounds, crs, given.height_unit)
    elif given.elevation is not None:
        found = choose.from_address(
            given.elevation, bounds, given.web, given.height_unit
        )
    elif door.is_there(given.folder, NAMES.elevation):
        return
    else:
        found = choose.from_services(bounds, given.web)
    made.facts += found.facts
    made.heights = found.heights
    if found.heights is None:
        return
    with TemporaryDirectory() as aside:
        path = Path(aside) / NAMES.elevation
        found.heights.write(path)
        content = path.read_bytes()
    if found.credit is not None:
        made.take(NAMES.elevation, content, found.credit, found.addresses)
    else:
        made.files[NAMES.elevation] = content


def _check_unit(drawn: Sorted | None, bounds: Bounds, made: Made) -> None:
    """Say so where heights of no stated unit fit the phone's only as feet."""
    taken = [fact for fact in made.facts if fact.kind == "start_metres_taken"]
    plots = () if drawn is None else drawn.plots
    measured = [plot.height_m for plot in plots if plot.height_m is not None]
    if not (taken and measured and made.heights):
        return
    ground_m, phone_m = phone.ground_m(made.heights, bounds), median(measured)
    if phone.look_like_feet(ground_m, phone_m):
        said = {"file": taken[0]["file"], "ground_m": ground_m, "phone_m": phone_m}
        made.facts.append(Fact("start_heights_like_feet", **said))


def _ask_before_replacing(given: Given, files: dict[str, bytes]) -> None:
    """Raise SiteError unless the user wants files to be replaced that are there."""
    changed = {CHOICES_FILE, FETCHED}  # added to, and not replaced
    there = [
        name
        for name in site_folder.existing(given.folder, files)
        if name not in changed
    ]
    if not there:
        return
    answer = given.ask(Fact("start_ask_replace", folder=str(given.folder), names=there))
    if (answer or "").strip().casefold() not in {"y", "yes", "s", "si", "sí"}:
        raise SiteError(
            problem(
                "{folder} has {files} already, and fieldmap replaces nothing unless you say"
                " yes; name another folder, or take the old files away.",
                folder=given.folder,
                files=", ".join(there),
            )
        )


def _next(folder: Path) -> list[Fact]:
    """The next step, by what is still missing."""
    name = typed(folder)
    if not door.is_there(folder, NAMES.plots):
        return [Fact("start_next_outline", folder=name)]
    if not door.is_there(folder, NAMES.elevation):
        return [Fact("start_next_elevation", folder=name)]
    without = (
        []
        if door.is_there(folder, NAMES.weather)
        else [Fact("start_no_weather", folder=name)]
    )
    return [*without, Fact("start_next_plan", folder=name)]
