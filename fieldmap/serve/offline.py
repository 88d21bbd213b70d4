"""The drawing part of the page as one file that asks no network for anything."""

from pathlib import Path

from markupsafe import Markup

from fieldmap.errors import SiteError, problem
from fieldmap.read.start import folder as site_folder
from fieldmap.serve.app import DRAWING, filled, page_file
from fieldmap.serve.desk import Desk
from fieldmap.show.html import safe_json
from fieldmap.show.map.offline import sealed
from fieldmap.show.text.language import current
from fieldmap.show.text.site import open_page as texts

SCRIPTS = (*DRAWING, "walk.js", "offline.js")


def page(folder: Path) -> str:
    """The page with what is drawn of a site, for a phone in the field."""
    state = Desk(folder).state()
    shown = {
        key: state[key]
        for key in (
            "id",
            "words",
            "middle",
            "heights",
            "downhill",
            "plots",
            "surroundings",
        )
    }
    whole = filled(
        "offline.html",
        name=state["name"],
        say=texts.say(),
        language=current(),
        style=Markup(_style()),
        scripts=[Markup(page_file(name)) for name in SCRIPTS],
        given=safe_json(shown),
    )
    return sealed(whole)


def _style() -> str:
    """The style sheet without the font, which a phone has one like."""
    lines = page_file("page.css").splitlines()
    return "\n".join(line for line in lines if not line.startswith("@font-face"))


def write(folder: Path, file: Path) -> None:
    """Write the page, whole or not at all.

    Raises
    ------
    SiteError
        When its place is no file of HTML, or a folder.
    """
    if file.suffix.lower() != ".html" or file.is_dir():
        raise SiteError(
            problem("{file} is not a name of a page; end it in .html.", file=file)
        )
    site_folder.write(file.parent, {file.name: page(folder).encode()})
