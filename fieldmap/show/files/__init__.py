"""The files of a plan: what is written into its folder, by whom, and where it is used."""

import io
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Literal, NamedTuple

from fieldmap import output_folder
from fieldmap.plan import Plan
from fieldmap.show.files import (
    calendar,
    geopackage,
    gpx,
    grids,
    kml,
    overview,
    plan_json,
    workbook,
)
from fieldmap.show.files.tables import (
    beds,
    crop_plan,
    dates,
    materials,
    stakes,
    tunnels,
)

Text = Callable[["Plan"], str]
Writer = Callable[["Plan", Path], object]


class File(NamedTuple):
    """A file of the folder, or a folder within it (its name ends in a slash).

    Attributes
    ----------
    write
        Writes it to a path; None for what is drawn elsewhere, or written last.
    is_there
        Whether a plan has one.
    """

    name: str
    used_at: Literal["phone", "shop", "office"]
    write: Writer | None = None
    is_there: Callable[[Plan], object] = lambda _plan: True


def _text(text_of: Text) -> Writer:
    return lambda plan, path: path.write_text(text_of(plan), encoding="utf-8")


# In the order of the overview; what each is for stands in `show.text.files.contents`.
FILES = (
    File("map.html", "phone"),
    File(
        "dates.ics",
        "phone",
        lambda it, path: path.write_bytes(
            calendar.ics(it.weekly_jobs, it.site.settings.name)
        ),
    ),
    File(
        "stakes.gpx",
        "phone",
        lambda it, path: gpx.write(it.stakes.stakes, path),
        lambda it: it.stakes.stakes,
    ),
    File("plan.kml", "phone", lambda it, path: kml.write(geopackage.layers(it), path)),
    File("sheets/landowner.pdf", "shop"),
    File("sheets/crew.pdf", "shop"),
    File("sheets/tunnel_door.pdf", "shop"),
    File("sheets/tonight.pdf", "shop"),
    File("sheets/dawn_walk.pdf", "shop"),
    File(
        "materials.xlsx",
        "shop",
        lambda it, path: path.write_bytes(
            workbook.workbook(it.materials, it.site.settings.units)
        ),
    ),
    File("materials.csv", "shop", _text(lambda it: materials.csv(it.materials.lines))),
    File(
        "stakes.csv",
        "shop",
        _text(lambda it: stakes.csv(it.stakes.stakes)),
        lambda it: it.stakes.stakes,
    ),
    File("what_where.csv", "office", _text(lambda it: crop_plan.csv(it.crop_plan))),
    File(
        "beds.csv",
        "office",
        _text(lambda it: beds.csv(it.beds, it.dates, it.site.settings.units)),
    ),
    File(
        "dates.csv",
        "office",
        _text(lambda it: dates.csv([each.bed.name for each in it.beds], it.dates)),
    ),
    File(
        "tunnel_choices.csv",
        "office",
        _text(
            lambda it: tunnels.choices_csv(
                it.tunnel_choices,
                it.nondominated_tunnels,
                it.site.settings.tunnels,
                it.site.crs,
            )
        ),
        lambda it: it.tunnel_choices,
    ),
    File(
        "plan.gpkg",
        "office",
        lambda it, path: geopackage.write(geopackage.layers(it), path),
    ),
    File("plan.json", "office"),
    File("layers/", "office", lambda it, path: grids.write(it.analysis, path)),
)
# Written after all others: a zip of them, the page that lists them, the plan with their
# names.
MAILED, OVERVIEW, PLAN = "to_mail.zip", "index.html", "plan.json"
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can hold
WRITE_ERRORS = (OSError, *geopackage.WRITE_ERRORS, *grids.WRITE_ERRORS)


def write(plan: Plan, folder: Path, drawn: Mapping[str, str | bytes]) -> None:
    """Write a plan's folder whole or not at all; see `output_folder.write`.

    Parameters
    ----------
    drawn
        The map and the sheets, by the names of their files.

    Raises
    ------
    PlanError
        When the place is a file, or holds files we did not write, or cannot be written.
    """

    def fill(place: Path) -> None:
        for file in FILES:
            if file.write and file.is_there(plan):
                file.write(plan, place / file.name)
        for name, page in drawn.items():
            _save(page, place / name)
        there = output_folder.names(place)
        _save(_zipped(place, there), place / MAILED)
        written = sorted({*there, MAILED, OVERVIEW, PLAN})
        listed = [
            (file.name, file.used_at)
            for file in FILES
            if any(name.startswith(file.name) for name in written)
        ]
        name = plan.site.settings.name
        _save(overview.page(name, listed, MAILED), place / OVERVIEW)
        document = plan_json.document(plan) | {output_folder.LIST_KEY: written}
        _save(plan_json.text(document), place / PLAN)

    output_folder.write(folder, fill, WRITE_ERRORS)


def _save(content: str | bytes, path: Path) -> None:
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content.encode() if isinstance(content, str) else content)


def _zipped(folder: Path, names: set[str]) -> bytes:
    """What is for the phone and the shop; the same files give the same bytes."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for file in FILES:
            if file.used_at == "office" or file.name not in names:
                continue
            entry = zipfile.ZipInfo(file.name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, (folder / file.name).read_bytes())
    return made.getvalue()
