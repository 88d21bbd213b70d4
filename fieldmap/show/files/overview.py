"""The page that lists the folder: for the phone, for the shop, for the office."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, NamedTuple

from markupsafe import Markup, escape

from fieldmap.show import html
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from pathlib import Path


class Listed(NamedTuple):
    """A file and what it is for."""

    name: str
    what: str


PHONE = later("For the phone")
SHOP = later("For the shed and the shop")
OFFICE = later("For the office")
# By file name; a file that a plan does not hold is not listed.
PLACES: dict[str, tuple[Listed, ...]] = {
    PHONE: (
        Listed("map.html", later("the map; opens with no signal")),
        Listed("dates.ics", later("the work of the year, for the phone's calendar")),
        Listed("stakes.gpx", later("corners to walk to; peg by tape, held level")),
        Listed("plan.kml", later("outlines for a map app")),
    ),
    SHOP: (
        Listed(
            "sheets/landowner.pdf", later("two pages to go through with the landowner")
        ),
        Listed("sheets/crew.pdf", later("for the crew, block by block")),
        Listed("sheets/tunnel_door.pdf", later("hangs on the tunnel's door")),
        Listed("sheets/tonight.pdf", later("hangs in the shed: what to cover tonight")),
        Listed("sheets/dawn_walk.pdf", later("a lesson before sunrise")),
        Listed("materials.xlsx", later("what to buy and cut")),
        Listed("materials.csv", later("the same, as plain text")),
        Listed("stakes.csv", later("every peg")),
    ),
    OFFICE: (
        Listed("what_where.csv", later("what grows where, from week to week")),
        Listed("beds.csv", later("all that is known of each bed")),
        Listed("dates.csv", later("first and last dates of every bed, crop and cover")),
        Listed("tunnel_choices.csv", later("places for tunnels that were weighed")),
        Listed("plan.gpkg", later("layers for a GIS program, with their look")),
        Listed("plan.json", later("the whole plan for other programs")),
        Listed("layers/", later("maps of single measures, for a GIS program")),
    ),
}
MAILED = "to_mail.zip"  # what is for the phone and the shop, in one file
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can hold
ABOUT_MAILED = later(
    "{file} holds what is for the phone, the shed and the shop in one file. On an iPhone "
    "save the map first and open it in a browser: a preview shows a still picture only."
)


def page(site_name: str, names: set[str]) -> str:
    """The page for a folder that holds these files; the name is escaped.

    Parameters
    ----------
    names
        Relative to the folder, with slashes.
    """
    places = [
        (
            _(place),
            [
                file._replace(what=_(file.what))
                for file in files
                if _is_there(file.name, names)
            ],
        )
        for place, files in PLACES.items()
    ]
    return html.page(
        "files/overview.html",
        title=_("{site}: the plan").format(site=" ".join(site_name.split())),
        places=[(place, files) for place, files in places if files],
        mailed=MAILED in names,
        to_send=_("To send"),
        about_mailed=escape(_(ABOUT_MAILED)).format(
            file=Markup('<a href="{0}">{0}</a>').format(MAILED)
        ),
    )


def _is_there(name: str, names: set[str]) -> bool:
    if name.endswith("/"):
        return any(other.startswith(name) for other in names)
    return name in names


def zipped(folder: Path, names: set[str]) -> bytes:
    """What is for the phone and the shop; the same files give the same bytes."""
    chosen = [
        file.name
        for place in (PHONE, SHOP)
        for file in PLACES[place]
        if file.name in names
    ]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name in chosen:
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, (folder / name).read_bytes())
    return made.getvalue()
