"""Every file that a plan writes, and every column of its tables, from what writes them."""

import fnmatch
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from fieldmap.show.files import (
    MAILED,
    OVERVIEW,
    PLAN,
    compare,
    geopackage,
    grids,
    overview,
    review,
)
from fieldmap.show.files.tables import (
    beds,
    crop_plan,
    dates,
    materials,
    names,
    stakes,
    tunnels,
)
from fieldmap.show.text.files import bands, contents

WHAT = tomllib.loads(Path(__file__).with_name("columns.toml").read_text("utf-8"))
# Columns of layers that no list of columns makes.
PLOTS = ("name", "ground", "soil", "wet_in_march", "area_m2")
POCKETS = (
    *("name", "depth_m", "area_m2"),
    *("offset_low_c", "offset_central_c", "offset_high_c", "behind", "cut_off"),
)
USED_AT = {
    "phone": "For the phone",
    "shop": "For the shed and the shop",
    "office": "For the office",
}


def columns() -> Mapping[str, Sequence[str]]:
    """The columns of each table, by its file."""
    return {
        "beds.csv": names((*beds.COLUMNS, *beds.FIRST_DATES)),
        "dates.csv": names(dates.COLUMNS),
        "what_where.csv": names(crop_plan.columns(lambda _day: (1, 1))),
        "tunnel_choices.csv": names(tunnels.CHOICE_COLUMNS),
        "materials.csv": names(materials.COLUMNS),
        "materials.xlsx, hoops": names(materials.LOW_TUNNEL_COLUMNS),
        "stakes.csv": names(stakes.COLUMNS),
        "plan.gpkg, plots": PLOTS,
        "plan.gpkg, tunnels": names(tunnels.COLUMNS),
        "plan.gpkg, cold_pockets": POCKETS,
        "plan.gpkg, marks": names(geopackage.MARK_COLUMNS),
        "plan.gpkg, drain_lines": names(geopackage.FLOW_LINE_COLUMNS),
        "review.csv": review.COLUMNS,
        "compare.csv": compare.COLUMNS,
    }


def meanings(table: str) -> Iterator[tuple[str, str]]:
    """Each column of a table with its meaning; alike columns share a row.

    Raises
    ------
    ValueError
        When a column has no meaning, or a meaning no column.
    """
    left = dict(WHAT[table])
    for name in columns()[table]:
        known = [each for each in WHAT[table] if fnmatch.fnmatchcase(name, each)]
        if not known:
            raise ValueError(f"columns.toml has no line for {name} of {table}")
        if known[0] in left:
            yield known[0], left.pop(known[0])
    if left:
        raise ValueError(
            f"columns.toml has {sorted(left)} of {table}, which no file has"
        )


def page() -> str:
    """The page of the reference."""
    parts = [
        "# Files and columns of a plan",
        "`fieldmap plan SITE` writes one folder, `SITE/plan`. Numbers in tables are metric. The name of a column ends with its unit. If a cell is empty, the value is not known or does not apply. A date that is the same each year is written MM-DD. Names of columns and keys are in English in every language.",
    ]
    for used, listed in overview.FILES.items():
        parts += [f"## {USED_AT[used]}", _table(("file", "what it is"), _about(listed))]
    parts += [
        "## For all",
        _table(
            ("file", "what it is"),
            [
                (f"`{OVERVIEW}`", "the page that lists the folder"),
                (
                    f"`{MAILED}`",
                    "all files for the phone, the shed and the shop, in one file to send",
                ),
            ],
        ),
        f"The form of `{PLAN}` is described in [plan.json](plan_json.md).",
        "## Columns",
    ]
    for table in columns():
        rows = [(f"`{name}`", what) for name, what in meanings(table)]
        parts += [f"### {table}", _note(table), _table(("column", "meaning"), rows)]
    parts += ["## Layers", _layers()]
    return "\n\n".join(filter(None, parts)) + "\n"


def _note(table: str) -> str:
    return {
        "beds.csv": "One line for each bed. The layer `beds` of `plan.gpkg` has the same columns, without the first dates.",
        "dates.csv": "One line for each bed, crop and cover.",
        "what_where.csv": "One line for each stay of a crop on a bed.",
        "tunnel_choices.csv": "First the places of each choice. Then, for each size, at most 200 places that no other place beats in everything.",
        "materials.xlsx, hoops": "One line for each bed with a low tunnel. The first sheet has the columns of `materials.csv`. The third sheet is the cutting list in words.",
        "review.csv": "`fieldmap review --out` writes this table.",
        "compare.csv": "`fieldmap compare --out` writes this table.",
    }.get(table, "")


def _about(listed: Sequence[str]) -> Iterator[tuple[str, str]]:
    for name in listed:
        yield f"`{name}`", contents.WHAT_FOR[name]


def _layers() -> str:
    """The GeoTIFFs: one line each."""
    rows = []
    for grid in grids.GRIDS:
        what = bands.LAYERS[grid.name].replace("{sky} ", "").replace("{share:.0f}", "6")
        rows.append((f"`layers/{grid.name}.tif`", what, grid.unit, _bands(grid.bands)))
    head = "Cloud-optimised GeoTIFF, float32, NaN where missing, unit and description in each band."
    return head + "\n\n" + _table(("file", "what it is", "unit", "bands"), rows)


def _bands(of: Sequence[str]) -> str:
    return "months, January first" if len(of) == 12 else ", ".join(of)


def _table(
    head: Sequence[str], rows: Iterator[Sequence[str]] | Sequence[Sequence[str]]
) -> str:
    lines = [f"| {' | '.join(line)} |" for line in (head, *rows)]
    return "\n".join([lines[0], "|---" * len(head) + "|", *lines[1:]])
