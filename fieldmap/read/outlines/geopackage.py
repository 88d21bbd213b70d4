"""What a GeoPackage is made of, before any library opens it.

It is a database, in which a table may be a question to be answered when it is read. Only
tables that hold what they show are let in.
"""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.not_outlines import not_outlines
from fieldmap.read.place import names_files, unusable_crs

_MARKS = (b"GPKG", b"GP10", b"GP11")
_RTREE = re.compile(r"\s*CREATE\s+VIRTUAL\s+TABLE\s+\S+\s+USING\s+rtree\b", re.I)
_COMPUTED = re.compile(r"\bGENERATED\b|\bAS\s*\(", re.I)
MOST_PARTS = 2000  # tables, indices and triggers


def check(path: Path, file: SiteFile) -> None:
    """Raise SiteError unless it is a GeoPackage of plain tables."""
    with path.open("rb") as opened:
        if opened.read(100)[68:72] not in _MARKS:
            raise SiteError(not_outlines(file))
    try:
        address = f"{path.as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(address, uri=True)) as base:
            base.text_factory = lambda text: text.decode("utf-8", "replace")
            listed = base.execute("SELECT * FROM sqlite_master")
            parts = listed.fetchmany(MOST_PARTS + 1)
            named = base.execute("SELECT * FROM gpkg_spatial_ref_sys")
            systems = str(named.fetchmany(MOST_PARTS))
    # What the database says of itself may be no text either.
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise SiteError(not_outlines(file)) from error
    for kind, name, _table, _page, made_by in parts:
        if kind == "view" or (kind == "table" and _is_computed(str(made_by or ""))):
            raise file.site_error(
                "{file}: {name} is a view or a computed table; save the outlines as a"
                " plain layer.",
                name=repr(str(name)[:60]),
            )
    if names_files(systems.encode("utf-8", "replace")):
        raise SiteError(unusable_crs(file, file.name))
    if len(parts) > MOST_PARTS:
        raise SiteError(not_outlines(file))


def _is_computed(made_by: str) -> bool:
    if re.match(r"\s*CREATE\s+VIRTUAL\b", made_by, re.I):
        return _RTREE.match(made_by) is None
    return _COMPUTED.search(made_by) is not None
