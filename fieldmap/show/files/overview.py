"""The page that lists the folder: for the phone, for the shop, for the office."""

from collections.abc import Iterable

from markupsafe import Markup, escape

from fieldmap.show import html
from fieldmap.show.text.files import contents as words
from fieldmap.show.text.language import _


def page(site_name: str, listed: Iterable[tuple[str, str]], mailed: str = "") -> str:
    """The page for a folder that holds these files; the name is escaped.

    Parameters
    ----------
    listed
        Name and a key of `USED_AT` of every file, in the order of the page.
    mailed
        The file that is sent to the phone and the shop, if there is one.
    """
    places: dict[str, list[tuple[str, str]]] = {}
    for name, used_at in listed:
        said = (name, _(words.WHAT_FOR[name]))
        places.setdefault(_(words.USED_AT[used_at]), []).append(said)
    link = Markup('<a href="{0}">{0}</a>').format(mailed)
    return html.page(
        "files/overview.html",
        title=_(words.TITLE).format(site=" ".join(site_name.split())),
        places=places.items(),
        to_send=_(words.TO_SEND),
        about_mailed=mailed and escape(_(words.ABOUT_MAILED)).format(file=link),
    )
