"""The files of a plan: what is written into its folder."""

import errno
import io
import os
import zipfile
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from pathlib import Path

import geopandas as gpd
import numpy as np

from fieldmap import output_folder
from fieldmap.plan import Plan
from fieldmap.show.files import (
    calendar,
    geopackage,
    grids,
    kml,
    overview,
    phone,
    plan_json,
    workbook,
)
from fieldmap.show.files.tables import (
    beds,
    crop_plan,
    csv_of,
    dates,
    materials,
    stakes,
    tunnels,
)
from fieldmap.show.map.data import cards
from fieldmap.show.map.questions import early
from fieldmap.show.map.questions.view import BedRamp
from fieldmap.show.text.map import cold_air

# Written after all others: a zip of them, the page that lists them, the plan with their
# names.
MAILED, OVERVIEW, PLAN = "to_mail.zip", "index.html", "plan.json"
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can hold
WRITE_ERRORS = (OSError, *geopackage.WRITE_ERRORS, *grids.WRITE_ERRORS)


Contents = Mapping[str, str | bytes]


def write(
    plan: Plan, folder: Path, drawn: Contents, later: Callable[[], Contents] = dict
) -> None:
    """Write a plan's folder whole or not at all; see `output_folder.write`.

    Parameters
    ----------
    plan
        The finished plan, of which tables, GIS files, grids and `plan.json` are
        written.
    folder
        Folder to write. The files of an earlier plan in it are replaced as a whole.
    drawn
        The map and the sheets, by the names of their files.
    later
        Gives those of them that are still being drawn; asked when all else is written.

    Raises
    ------
    PlanError
        When the place is a file, or holds files we did not write, or cannot be written.
    """
    settings, pegs = plan.site.settings, plan.stakes.stakes

    def fill(place: Path) -> None:
        with ThreadPoolExecutor(1) as beside:
            grids_written = beside.submit(
                copy_context().run, grids.write, plan.analysis, place / "layers"
            )
            fill_but_grids(place)
            grids_written.result()
        # Before what is later, as that is waited for.
        document = plan_json.document(plan)
        for name, content in later().items():
            _save(content, place / name)
        there = output_folder.names(place)
        _save(_zipped(place, there, settings.name), place / MAILED)
        written = sorted({*there, MAILED, OVERVIEW, PLAN})
        _save(overview.page(settings.name, written, MAILED), place / OVERVIEW)
        _save(
            plan_json.text(document | {output_folder.LIST_KEY: written}), place / PLAN
        )

    def fill_but_grids(place: Path) -> None:
        layers = geopackage.layers(plan)
        contents = {
            "dates.ics": calendar.ics(
                plan.weekly_jobs,
                settings.name,
                {each.bed.name: each.bed.plot for each in plan.beds},
                settings.units,
            ),
            "materials.xlsx": workbook.workbook(
                plan.materials, plan.crop_plan, settings.units
            ),
            "materials.csv": csv_of(materials.COLUMNS, plan.materials.lines),
            "what_where.csv": crop_plan.csv(plan.crop_plan),
            "beds.csv": beds.csv(plan.beds, plan.dates, settings.units),
            "dates.csv": dates.csv(
                ([each.bed.name for each in plan.beds], plan.dates),
                ([each.name for each in plan.tunnels], plan.tunnel_dates),
            ),
            "plan.kml": kml.document(
                settings.name, layers | _balloons(plan, layers), _on_ramp(plan)
            ),
            **drawn,
        }
        if plan.tunnel_choices:
            compared = plan.tunnel_choices, plan.nondominated_tunnels
            contents["tunnel_choices.csv"] = tunnels.choices_csv(
                *compared, settings.tunnels, plan.site.crs
            )
        if pegs:
            contents["stakes.csv"] = csv_of(stakes.COLUMNS, pegs)
            phone.write_pegs(pegs, place / "stakes.gpx")
            _check_end(place / "stakes.gpx", b"</gpx>")
        for name, content in contents.items():
            _save(content, place / name)
        geopackage.write(layers, place / "plan.gpkg")

    output_folder.write(folder, fill, WRITE_ERRORS)


def _check_end(path: Path, end: bytes) -> None:
    """Raise OSError unless a file was written to its end: the library may not say so."""
    if not (path.is_file() and path.read_bytes().rstrip().endswith(end)):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))


def _save(content: str | bytes, path: Path) -> None:
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content.encode() if isinstance(content, str) else content)


def _balloons(
    plan: Plan, layers: Mapping[str, gpd.GeoDataFrame]
) -> dict[str, gpd.GeoDataFrame]:
    """Layers with the few words that a map app shows of tunnels and cold pockets."""
    units = plan.site.settings.units
    by_station = plan.site.station_cell is not None
    pockets = layers["cold_pockets"]
    of_pockets = [
        cold_air.pocket(pocket, units, by_station=by_station)
        for pocket in pockets.itertuples()
    ]
    of_tunnels = [
        " ".join(cards.of_tunnel(tunnel, units, by_station=by_station))
        for tunnel in plan.tunnels
    ]
    return {
        "cold_pockets": pockets.assign(reasons=of_pockets),
        "tunnels": layers["tunnels"].assign(reasons=of_tunnels),
    }


def _on_ramp(plan: Plan) -> list[float]:
    """Place of each bed on the map's ramp of dates; those that never come are last."""
    plots = [str(name) for name in plan.site.plots["name"]]
    if not plan.beds:
        return []
    shown = early.view(plan.beds, plan.dates, plots, ()).picture.beds
    values = shown.at if isinstance(shown, BedRamp) else np.ones(len(plan.beds))
    return [float(each) if np.isfinite(each) else 1.0 for each in values]


def _zipped(folder: Path, names: set[str], site_name: str) -> bytes:
    """What is for the phone and the shop, with a page that lists it.

    The same files give the same bytes.
    """
    mailed = (*overview.FILES["phone"], *overview.FILES["shop"])
    contents = {name: (folder / name).read_bytes() for name in mailed if name in names}
    contents[OVERVIEW] = overview.page(site_name, list(contents)).encode()
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name, content in contents.items():
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return made.getvalue()
