"""The page that lists the folder: for the phone, for the shop, for the office."""

from collections.abc import Iterable, Sequence

from markupsafe import Markup, escape

from fieldmap.show import html
from fieldmap.show.text.files import contents as words
from fieldmap.show.text.language import _

# Files, and folders within the folder (their names end in a slash), by where they are
# used, in the order of the page; some plans lack some.
FILES = {
    "phone": ("map.html", "dates.ics", "stakes.gpx", "plan.kml"),
    "shop": (
        *("sheets/landowner.pdf", "sheets/before_you_sign.pdf", "sheets/crew.pdf"),
        *(
            "sheets/tunnel_door.pdf",
            "sheets/tonight.pdf",
            "sheets/build.pdf",
            "sheets/walk.pdf",
        ),
        "sheets/dawn_walk.pdf",
        *("materials.xlsx", "materials.csv", "stakes.csv"),
    ),
    "office": (
        *("what_where.csv", "beds.csv", "dates.csv", "tunnel_choices.csv"),
        *("plan.gpkg", "plan.json", "layers/"),
    ),
}


def page(site_name: str, written: Sequence[str], mailed: str = "") -> str:
    """The page for a folder that holds these files; the name is escaped.

    Parameters
    ----------
    site_name
        Name of the site, for the title.
    written
        Paths of the files in the folder, relative to it. Only these are listed.
    mailed
        The file that is sent to the phone and the shop, if there is one.
    """

    def listed(names: Iterable[str]) -> list[tuple[str, str]]:
        return [
            (name, _(words.WHAT_FOR[name]))
            for name in names
            if any(each.startswith(name) for each in written)
        ]

    said = words.OVERVIEW
    link = Markup('<a href="{0}">{0}</a>').format(mailed)
    return html.page(
        "files/overview.html",
        title=_(said["title"]).format(site=" ".join(site_name.split())),
        places=[(_(words.USED_AT[at]), listed(names)) for at, names in FILES.items()],
        to_send=_(said["to_send"]),
        about_mailed=mailed and escape(_(said["about_mailed"])).format(file=link),
    )
