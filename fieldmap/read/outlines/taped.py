"""Outlines that were walked with a phone: corrected by taped lengths, or asked for them."""

from typing import NamedTuple

import geopandas as gpd
import numpy as np

from fieldmap.decide.pegging import walked
from fieldmap.decide.pegging.model import At
from fieldmap.decide.pegging.tape import taut_m
from fieldmap.errors import Problem, problem
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Pegging, Settings
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.wording import perhaps, quoted, refuse_any

EVERY_M = 0.5  # points of the ground under a tape


class Taped(NamedTuple):
    """Plots as far as lengths correct them.

    Attributes
    ----------
    untaped
        Plots whose lengths are still to be taped: no pegs are printed there.
    """

    plots: gpd.GeoDataFrame
    remarks: tuple[Fact, ...]
    untaped: frozenset[str]


def correct(plots: gpd.GeoDataFrame, settings: Settings, heights: Raster) -> Taped:
    """Stretch walked outlines to their taped lengths.

    Parameters
    ----------
    plots
        Outlines with `name`, in the CRS of the heights.
    settings
        Its `pegging` holds the taped lengths, and whether the outline was walked; its
        `beds` how long the tape is.
    heights
        Ground heights [m]: a tape follows the ground, and the map is level.

    Returns
    -------
    taped
        The outlines as far as they are corrected, remarks, and the plots whose lengths
        are missing.

    Raises
    ------
    SiteError
        With a sentence for every length that names no corner, and for lengths that no
        phone's error explains.
    """
    choices, tape_m = settings.pegging, settings.beds.tape_m
    outlines = list(zip(plots["name"].map(str), plots.geometry, strict=True))
    taped_m = {frozenset(each.between): each.length_m for each in choices.taped}
    problems = list(
        _unknown(choices, [name for each in outlines for name in walked.names(*each)])
    )
    if choices.outline != "walked":
        refuse_any(problems, CHOICES_FILE)
        return Taped(plots, (), frozenset())
    shapes, remarks, untaped = [], [], []

    def share_on_map(start: At, end: At) -> float:
        return _share_on_map(heights, start, end)

    for name, outline in outlines:
        pairs = walked.wanted(name, outline, tape_m)
        missing = [pair for pair in pairs if frozenset(pair) not in taped_m]
        shapes.append(outline)
        if missing or not pairs:
            untaped.append(name)
            lengths = [f"{first} – {second}" for first, second in missing]
            remarks.append(Fact("outline_wants_lengths", plot=name, lengths=lengths))
            continue
        found = walked.correction_of(name, outline, pairs, taped_m, share_on_map)
        if found is None:
            problems.append(_impossible(name))
            continue
        shapes[-1] = found.of(outline)
        least, most = (100 * (each - 1) for each in found.stretch)
        kind = "outline_stretched" if most - least > 0.01 else "outline_scaled"
        values = {"least": least, "most": most, "worst_m": found.worst_m}
        remarks.append(Fact(kind, plot=name, **values))
    refuse_any(problems, CHOICES_FILE)
    frame = plots.set_geometry(gpd.GeoSeries(shapes, index=plots.index, crs=plots.crs))
    return Taped(frame, tuple(remarks), frozenset(untaped))


def _unknown(choices: Pegging, corners: list[str]) -> list[Problem]:
    """A sentence for each name that is no corner."""
    return [
        problem(
            "{file}: a taped length names {name}, which is not a corner of a"
            " plot{perhaps}; fieldmap check lists the corners.",
            file=CHOICES_FILE,
            name=quoted(name),
            perhaps=perhaps(name, corners),
        )
        for each in choices.taped
        for name in each.between
        if name not in corners
    ]


def _impossible(plot: str) -> Problem:
    return problem(
        "{file}: the taped lengths of plot {plot} do not fit its outline at all;"
        " measure them again with a tape, from post to post along the ground.",
        file=CHOICES_FILE,
        plot=quoted(plot),
    )


def _share_on_map(heights: Raster, start: At, end: At) -> float:
    """Of a length along the ground."""
    flat_m = float(np.hypot(*np.subtract(end, start)))
    share = np.linspace(0, 1, max(2, int(flat_m / EVERY_M) + 1))
    at = np.array(start) + share[:, None] * np.subtract(end, start)
    return flat_m / taut_m(share * flat_m, heights.interpolate(*at.T))
