"""The hand-over: a folder that is written whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from fieldmap.decide import weekly_jobs
from fieldmap.errors import PlanError
from fieldmap.output_folder import LIST_KEY, check_place, names
from fieldmap.show.files import (
    calendar,
    geopackage,
    grids,
    kml,
    materials,
    overview,
    stakes,
    styles,
    tables,
)
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from fieldmap.plan import Plan


def write(plan: Plan, folder: Path, map_html: str, sheets: Mapping[str, bytes]) -> None:
    """Write a plan's folder beside its place, then move it there.

    `sheets` are printed pages by their file names, for the folder of that name.

    A folder that holds only files of an earlier plan is replaced.

    Raises
    ------
    PlanError
        When the place is a file, or holds files we did not write, or cannot be
        written.
    """
    check_place(folder)
    with _written_beside(folder) as beside:
        (beside / "layers").mkdir()
        grids.write(plan, beside / "layers")
        geopackage.write(plan, beside / "plan.gpkg")
        styles.add(beside / "plan.gpkg")
        kml.write(plan, beside / "plan.kml")
        (beside / "beds.csv").write_text(tables.beds_csv(plan), encoding="utf-8")
        (beside / "dates.csv").write_text(tables.dates_csv(plan), encoding="utf-8")
        what_where = tables.what_where_csv(plan)
        (beside / "what_where.csv").write_text(what_where, encoding="utf-8")
        if plan.tunnel_choices:
            weighed = tables.tunnel_choices_csv(plan)
            (beside / "tunnel_choices.csv").write_text(weighed, encoding="utf-8")
        listed = materials.csv_of(plan.materials)
        (beside / "materials.csv").write_text(listed, encoding="utf-8")
        (beside / "materials.xlsx").write_bytes(
            materials.workbook(plan.materials, plan.site.settings.units)
        )
        if plan.stakes.stakes:
            pegs = stakes.csv_of(plan.stakes)
            (beside / "stakes.csv").write_text(pegs, encoding="utf-8")
            stakes.write_gpx(plan.stakes, beside / "stakes.gpx")
        (beside / "dates.ics").write_bytes(_calendar(plan))
        (beside / "map.html").write_text(map_html, encoding="utf-8")
        (beside / "sheets").mkdir()
        for name, page in sheets.items():
            (beside / "sheets" / name).write_bytes(page)
        mailed = overview.zipped(beside, names(beside))
        (beside / overview.MAILED).write_bytes(mailed)
        written = {*names(beside), "plan.json", "index.html"}
        listed = overview.page(plan.site.settings.name, written)
        (beside / "index.html").write_text(listed, encoding="utf-8")
        document = tables.plan_document(plan) | {LIST_KEY: sorted(written)}
        (beside / "plan.json").write_text(tables.as_json(document), encoding="utf-8")


def _calendar(plan: Plan) -> bytes:
    """The list by week, stamped with its own first day."""
    site = plan.site
    return calendar.ics(
        plan.weekly_jobs, site.settings.name, weekly_jobs.first_day(site)
    )


@contextmanager
def _written_beside(folder: Path) -> Iterator[Path]:
    """A folder that takes the place of `folder` if all goes well, or else vanishes."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise _cannot_write(folder, error) from error
    try:
        yield beside
        beside.chmod(0o755)
        _replace(folder, beside)
    except PlanError:
        raise
    except _WRITE_ERRORS as error:
        raise _cannot_write(folder, error) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _replace(folder: Path, beside: Path) -> None:
    if not folder.exists():
        beside.rename(folder)
        return
    aside = beside.with_name(f"{beside.name}-old")
    folder.rename(aside)
    try:
        beside.rename(folder)
    except OSError:
        aside.rename(folder)
        raise
    shutil.rmtree(aside, ignore_errors=True)


_WRITE_ERRORS = (OSError, *geopackage.WRITE_ERRORS, *grids.WRITE_ERRORS)


def _cannot_write(folder: Path, error: Exception) -> PlanError:
    number = getattr(error, "errno", None)
    why = os.strerror(number) if number else str(error)
    return PlanError(
        _(
            "{folder} could not be written ({why}); free some space or give another folder "
            "with --out; nothing was left behind"
        ).format(folder=folder, why=why)
    )
