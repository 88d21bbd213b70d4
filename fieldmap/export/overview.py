"""The page that lists the folder: for the phone, for the shop, for the office."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, NamedTuple

import jinja2

if TYPE_CHECKING:
    from pathlib import Path


class Listed(NamedTuple):
    """A file and what it is for."""

    name: str
    what: str


PHONE, SHOP, OFFICE = "For the phone", "For the shed and the shop", "For the office"
# By file name; a file that a plan does not hold is not listed.
PLACES: dict[str, tuple[Listed, ...]] = {
    PHONE: (
        Listed("map.html", "the map; opens with no signal"),
        Listed("dates.ics", "the work of the year, for the phone's calendar"),
        Listed("stakes.gpx", "corners to walk to; peg by tape, held level"),
        Listed("plan.kml", "outlines for a map app"),
    ),
    SHOP: (
        Listed("sheets/landowner.pdf", "two pages to go through with the landowner"),
        Listed("sheets/crew.pdf", "for the crew, block by block"),
        Listed("sheets/tunnel_door.pdf", "hangs on the tunnel's door"),
        Listed("sheets/tonight.pdf", "hangs in the shed: what to cover tonight"),
        Listed("sheets/dawn_walk.pdf", "a lesson before sunrise"),
        Listed("materials.xlsx", "what to buy and cut"),
        Listed("materials.csv", "the same, as plain text"),
        Listed("stakes.csv", "every peg"),
    ),
    OFFICE: (
        Listed("what_where.csv", "what grows where, from week to week"),
        Listed("beds.csv", "all that is known of each bed"),
        Listed("dates.csv", "first and last dates of every bed, crop and cover"),
        Listed("tunnel_choices.csv", "places for tunnels that were weighed"),
        Listed("plan.gpkg", "layers for a GIS program, with their look"),
        Listed("plan.json", "the whole plan for other programs"),
        Listed("layers/", "maps of single measures, for a GIS program"),
    ),
}
MAILED = "to_mail.zip"  # what is for the phone and the shop, in one file
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can hold
PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'">
<title>{{ name }}: the plan</title>
<style>
body { font: 1.1rem/1.5 sans-serif; color: #111; background: #fff;
  max-width: 42rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; line-height: 1.2; }
h2 { font-size: 1.2rem; margin: 1.5rem 0 .3rem; }
li { margin: .5rem 0; }
a { color: #003f7d; }
</style>
</head>
<body>
<main>
<h1>{{ name }}: the plan</h1>
{% for place, files in places %}
<h2>{{ place }}</h2>
<ul>
{% for file in files %}
<li><a href="{{ file.name }}">{{ file.name }}</a>: {{ file.what }}</li>
{% endfor %}
</ul>
{% endfor %}
{% if mailed %}
<h2>To send</h2>
<p><a href="{{ mailed }}">{{ mailed }}</a> holds what is for the phone, the shed and the
shop in one file. On an iPhone save the map first and open it in a browser: a preview
shows a still picture only.</p>
{% endif %}
</main>
</body>
</html>
"""


def page(site_name: str, names: set[str]) -> str:
    """The page for a folder that holds these files; the name is escaped.

    Parameters
    ----------
    names
        Relative to the folder, with slashes.
    """
    environment = jinja2.Environment(
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
    )
    places = [
        (place, [file for file in files if _is_there(file.name, names)])
        for place, files in PLACES.items()
    ]
    return environment.from_string(PAGE).render(
        name=" ".join(site_name.split()),
        places=[(place, files) for place, files in places if files],
        mailed=MAILED if MAILED in names else "",
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
