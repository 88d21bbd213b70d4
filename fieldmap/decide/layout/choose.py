"""For each plot: which way its beds run and why, what else would do, and its beds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from fieldmap.analyse import zonal_means
from fieldmap.decide.layout import bearings as ways
from fieldmap.decide.layout import beds as beds_
from fieldmap.decide.layout import split_plot
from fieldmap.decide.layout.bearings import SERVES_TO, SHORT_M, Kind, Way
from fieldmap.model.site import letter
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

    from fieldmap.analyse.fields import Analysis
    from fieldmap.decide.layout.bearings import Falls, Left
    from fieldmap.decide.layout.beds import Bed
    from fieldmap.model.settings import Beds
    from fieldmap.model.site import OwnBed, Site

# While it is looked where a plot might be cut, bearings are tried this far apart.
COARSE_DEG = 15.0
# Of path, taken by the edges and bags of a cover (common practice, no source).
EDGE_M = 0.3
LIGHT = later(
    "Which way beds run makes no real difference to the light on low crops. Tall ones "
    "(over about 1.5 m) in rows from east to west shade the next row; tall_crops = true "
    "in [beds] counts that."
)
STANDARD = later(
    "Rows too steep: more than 2 % along the row, or more than half the fall of the "
    "ground, where the ground falls 2 % and more (USDA NRCS practice standard 330; up "
    "to 3 % within 45 m of a grassed outlet, which the map does not know). It is told "
    "and never forbidden."
)
KINDS: dict[Kind, str] = {
    "fixed": later("as you chose"),
    "long side": later("along the long side"),
    "side": later("along another side"),
    "contour": later("along the contour"),
    "step": later("along no line of the plot"),
}
# What sorted ways out, one question after the other.
QUESTIONS = {
    "steep": later("left {number} of {before} for rows that are not too steep"),
    "area": later("{number} of {before} for planted ground"),
    "short": later("{number} of {before} for few short beds"),
    "along": later("{number} of {before} for little fall along the beds"),
    "north": later("{number} of {before} for beds from north to south"),
}


@dataclass(frozen=True)
class Layout:
    """How beds run on one part of a plot.

    Attributes
    ----------
    part, parts
        Which of how many; a bent plot has several.
    ground
        What is free for beds before tunnels are placed, in the site's CRS.
    bearing_deg
        Of its beds, from true north, 0 to under 180.
    way, other
        What is kept and what it comes to before tunnels are placed; the best way that
        a person would call another, None where there is none.
    looked_at
        How many ways were compared.
    reasons
        Plain sentences: what it is, why, and what to mind.
    runner_up
        What `other` gives and gives up.
    blocks, beds
        Names of the blocks; their beds, tunnels left out.
    area_m2
        That these beds plant.
    too_steep
        Names of the beds that fall more than the standard has it.
    """

    plot: str
    part: int
    parts: int
    ground: BaseGeometry
    bearing_deg: float
    way: Way
    other: Way | None
    looked_at: int
    reasons: tuple[str, ...]
    runner_up: str
    blocks: tuple[str, ...] = ()
    beds: tuple[str, ...] = ()
    area_m2: float = 0.0
    too_steep: tuple[str, ...] = ()


def choose(site: Site, analysis: Analysis) -> tuple[Layout, ...]:
    """How beds run on every plot that has none drawn.

    Tunnels do not count: they are placed after, and move no bed of another plot.

    Raises
    ------
    PlanError
        When the keep-clear strip leaves no ground of a plot.
    """
    choices = site.settings.beds
    off = shapely.union_all(beds_.kept_off(site.surroundings, choices.setback_m))
    east, north = analysis.terrain.east, analysis.terrain.north
    found = []
    for number, (name, outline) in enumerate(
        zip(site.plots["name"], site.plots.geometry, strict=True)
    ):
        if name in site.plots_with_beds:
            continue
        free = beds_.inside(name, outline, choices).difference(off)
        fixed_deg = site.bed_bearing_deg(number)
        if fixed_deg is not None:
            fixed_deg = (fixed_deg - site.convergence_deg) % 180.0

        def fall_of(ground: BaseGeometry) -> Falls:
            return ways.falls(ground, east.interpolate, north.interpolate)

        grounds = [free]
        if fixed_deg is None and not free.is_empty:
            grounds = split_plot.parts(
                free, choices.lane_m, lambda part: _coarsely(part, choices)
            )
        for part, ground in enumerate(grounds, start=1):
            shape = outline if len(grounds) == 1 else _largest(ground)
            found.append(
                _chosen(
                    site,
                    str(name),
                    (part, len(grounds)),
                    ground,
                    shape,
                    fall_of(ground if not ground.is_empty else outline),
                    fixed_deg,
                )
            )
    return tuple(found)


def _largest(ground: BaseGeometry) -> Polygon:
    """The piece that shows which way a part lies."""
    parts: list[Polygon] = shapely.get_parts(ground).tolist()
    return max(parts, key=lambda each: each.area)


def _coarsely(ground: BaseGeometry, choices: Beds) -> float:
    """Growing ground at the best of few bearings and one start."""
    if ground.is_empty:
        return 0.0
    long_deg = beds_.long_side_deg(_largest(ground))
    bearings: list[tuple[float, Kind]] = [
        ((long_deg + step) % 180.0, "step") for step in np.arange(0, 180, COARSE_DEG)
    ]
    level = ways.Falls(np.zeros(1), np.zeros(1))
    found = ways.weigh(ground, bearings, long_deg, level, choices, tried=1)
    return max(way.area_m2 for way in found)


def _chosen(
    site: Site,
    plot: str,
    part: tuple[int, int],
    ground: BaseGeometry,
    shape: Polygon,
    fall: Falls,
    fixed_deg: float | None,
) -> Layout:
    """The way kept on one part, with reasons and the runner-up."""
    choices = site.settings.beds
    turn_deg = site.convergence_deg
    long_deg = beds_.long_side_deg(shape)
    free = ways.weigh(ground, ways.candidates(shape, fall), long_deg, fall, choices)
    computed, left = ways.best(free, choices, turn_deg)
    way = computed
    if fixed_deg is not None:
        (way,) = ways.weigh(ground, [(fixed_deg, "fixed")], long_deg, fall, choices)
    others = [
        each
        for each in free
        if ways.apart_deg(each.grid_deg, way.grid_deg) >= ways.OTHER_DEG and each.beds
    ]
    other = ways.best(others, choices, turn_deg)[0] if others else None
    told = _Told(site, fall, turn_deg)
    return Layout(
        plot=plot,
        part=part[0],
        parts=part[1],
        ground=ground,
        bearing_deg=told.true_deg(way),
        way=way,
        other=other,
        looked_at=len(free),
        reasons=tuple(told.reasons(way, left)),
        runner_up=told.beside(way, other),
    )


@dataclass(frozen=True)
class _Told:
    """Ways in plain words."""

    site: Site
    fall: Falls
    turn_deg: float

    def true_deg(self, way: Way) -> float:
        return float(np.round(way.grid_deg + self.turn_deg, 6) % 180.0)

    def name(self, way: Way) -> str:
        true_deg = self.true_deg(way)
        return f"{quantities.axis(true_deg)} ({true_deg:.0f}°), {_(KINDS[way.kind])}"

    def reasons(self, way: Way, left: Sequence[Left]) -> list[str]:
        """What it is, why, and what to mind."""
        units = self.site.settings.units
        said = [_("Beds run {way}.").format(way=self.name(way))]
        if way.kind != "fixed":
            said.append(_why(left))
        said.append(
            _("Along the beds the ground {along}, across them it {across}.").format(
                along=quantities.fall(way.along_percent, units),
                across=quantities.fall(way.across_percent, units),
            )
            if max(way.along_percent, way.across_percent) >= ways.SAME_FALL_PERCENT
            else _("The ground is level.")
        )
        if way.over_share >= 0.005:
            said.append(
                _(
                    "On {percent} of the ground rows run too steep: water takes soil "
                    "along. Keep paths in grass and soil covered, or let beds run nearer "
                    "to the contour."
                ).format(percent=_percent(way.over_share))
            )
        if len(self.fall.east) and np.median(self.fall.slope) > SERVES_TO:
            said.append(
                _(
                    "The ground falls over 10 %: beds along the contour alone do not "
                    "hold the soil there; keep strips of grass between them."
                )
            )
        if way.short:
            said.append(
                _("{short} of {beds} beds are shorter than {length}.").format(
                    short=way.short,
                    beds=way.beds,
                    length=quantities.length(SHORT_M, units),
                )
            )
        return said

    def beside(self, way: Way, other: Way | None) -> str:
        """What another way gives and gives up against the one that is kept."""
        if other is None:
            return _("No other way has room for a bed.")
        better, worse = _apart(way, other, self.site.settings.units)
        if not better and not worse:
            return _("Next best, and no real difference: {way}.").format(
                way=self.name(other)
            )
        told = [_("Next best: {way}.").format(way=self.name(other))]
        if better:
            told.append(_("Better: {what}.").format(what="; ".join(better)))
        if worse:
            told.append(_("Worse: {what}.").format(what="; ".join(worse)))
        return " ".join(told)


def _why(left: Sequence[Left]) -> str:
    """How one question after another left fewer ways."""
    parts: list[str] = []
    before = left[0].ways
    for name, count in left[1:]:
        if count < before:
            parts.append(_(QUESTIONS[name]).format(number=count, before=before))
            before = count
    if not parts:
        return _(
            "{number} ways were compared and none is really better: the plot's own lines "
            "decide."
        ).format(number=left[0].ways)
    told = _("{number} ways were compared; that {steps}").format(
        number=left[0].ways, steps=", ".join(parts)
    )
    if before == 1:
        return f"{told}."
    return _("{told}. Between these the plot's own lines decide.").format(told=told)


def _apart(
    way: Way, other: Way, units: quantities.Units
) -> tuple[list[str], list[str]]:
    """In what another way is really better than the one that is kept, and worse."""
    differences = [
        (
            way.over_share - other.over_share,
            ways.SAME_OVER,
            _("rows too steep on {there} of the ground, not {here}").format(
                there=_percent(other.over_share), here=_percent(way.over_share)
            ),
        ),
        (
            (other.area_m2 - way.area_m2) / max(way.area_m2, other.area_m2, 1.0),
            ways.SAME_AREA,
            _("{there} of growing ground, not {here}").format(
                there=quantities.area(round(other.area_m2), units),
                here=quantities.area(round(way.area_m2), units),
            ),
        ),
        (
            way.short / max(way.beds, 1) - other.short / max(other.beds, 1),
            ways.SAME_SHORT,
            _("{there} short beds, not {here}").format(
                there=other.short, here=way.short
            ),
        ),
        (
            way.along_percent - other.along_percent,
            ways.SAME_FALL_PERCENT,
            _("along the beds it {there}, here it {here}").format(
                there=quantities.fall(other.along_percent, units),
                here=quantities.fall(way.along_percent, units),
            ),
        ),
    ]
    better = [said for gain, same, said in differences if gain > same]
    worse = [said for gain, same, said in differences if -gain > same]
    return better, worse


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def with_bearings(site: Site, layouts: Sequence[Layout]) -> Site:
    """The site with the bearing of the largest part of each plot as its own."""
    first = {each.plot: each.bearing_deg for each in layouts if each.part == 1}
    column = [
        first.get(name, site.bed_bearing_deg(number))
        for number, name in enumerate(site.plots["name"])
    ]
    return replace(site, plots=site.plots.assign(bearing_deg=column))


def fill(
    site: Site,
    analysis: Analysis,
    layouts: Sequence[Layout],
    obstacles: Sequence[BaseGeometry],
) -> tuple[list[Bed], tuple[Layout, ...]]:
    """All beds of a site, plot by plot, and the layouts with theirs.

    Parameters
    ----------
    obstacles
        What came after the layout: the working space of tunnels.
    """
    found: list[Bed] = []
    told: list[Layout] = []
    off = shapely.union_all(list(obstacles))
    for number, (name, outline) in enumerate(
        zip(site.plots["name"], site.plots.geometry, strict=True)
    ):
        found += [
            _own(each, site.convergence_deg)
            for each in site.own_beds
            if each.plot == name
        ]
        mine = [each for each in layouts if each.plot == name]
        parts: list[tuple[BaseGeometry, float]] = [
            (each.ground.difference(off), each.way.grid_deg) for each in mine
        ]
        blocks = beds_.laid_out(parts, outline, site.settings.beds)
        here = beds_.named(str(name), letter(number), blocks, site.convergence_deg)
        found += here
        prefixes = beds_.prefixes_of(letter(number), len(blocks))
        for at, each in enumerate(mine):
            names = tuple(
                prefix
                for prefix, block in zip(prefixes, blocks, strict=True)
                if block.part == at
            )
            its = [bed for bed in here if bed.block in names]
            told.append(
                replace(
                    each,
                    blocks=names,
                    beds=tuple(bed.name for bed in its),
                    area_m2=sum(bed.area_m2 for bed in its),
                )
            )
    steep = _too_steep(site, analysis, found)
    return found, tuple(
        replace(each, too_steep=tuple(name for name in each.beds if name in steep))
        for each in told
    )


def _own(drawn: OwnBed, convergence_deg: float) -> Bed:
    """A bed as it lies."""
    corners = shapely.get_coordinates(drawn.outline)[:3]
    sides = np.hypot(*np.diff(corners, axis=0).T)
    grid_deg = beds_.long_side_deg(drawn.outline)
    return beds_.Bed(
        name=drawn.name,
        plot=drawn.plot,
        outline=drawn.outline,
        length_m=float(sides.max()),
        width_m=float(sides.min()),
        bearing_deg=float(np.round(grid_deg + convergence_deg, 6) % 180.0),
        exists=True,
    )


def _too_steep(site: Site, analysis: Analysis, beds: Sequence[Bed]) -> set[str]:
    """Names of the beds that fall more than the standard has it."""
    if not beds:
        return set()
    outlines, ground = [bed.outline for bed in beds], analysis.terrain
    east, north = (
        zonal_means.means(rise, outlines) for rise in (ground.east, ground.north)
    )
    lie = beds_.lie(east, north, beds, site.convergence_deg)
    along, across = lie.along_percent / 100, lie.across_percent / 100
    steep = ways.too_steep(np.hypot(along, across), along)
    return {bed.name for bed, over in zip(beds, steep, strict=True) if over}


def hints(site: Site, layouts: Sequence[Layout]) -> list[str]:
    """What was done that the grower did not ask for, or could ask for."""
    choices = site.settings.beds
    units = site.settings.units
    said = []
    for plot in sorted(site.plots_with_beds):
        said.append(
            _(
                "Plot {plot} keeps its beds of {file}: no others are laid out there, and "
                "no tunnel stands on them."
            ).format(plot=plot, file=site.settings.files.beds)
        )
    path = quantities.short_length(choices.path_m, units)
    wide = quantities.short_length(choices.covered_path_m, units)
    edge = quantities.short_length(EDGE_M, units)
    if choices.under_one_hoop == 2 and layouts:
        said.append(
            _(
                "A new bed is two strips of {strip} with a path of {within} between "
                "them, under one hoop: {whole} from edge to edge. Every count of new "
                "beds is one of such pairs."
            ).format(
                strip=quantities.short_length(choices.bed_width_m, units),
                within=quantities.short_length(choices.path_within_m, units),
                whole=quantities.short_length(choices.width_m, units),
            )
        )
    if choices.path_m > choices.path_width_m:
        said.append(
            _(
                "Beds are meant for covers: paths are {path} wide instead of {narrow}, "
                "since edges and bags take about {edge} of path each side (common "
                "practice)."
            ).format(
                path=path,
                narrow=quantities.short_length(choices.path_width_m, units),
                edge=edge,
            )
        )
    elif site.settings.covers and choices.path_m < choices.covered_path_m:
        said.append(
            _(
                "Paths are {path} wide. Edges and bags of covers take about {edge} of "
                "path each side (common practice): covered = true in [beds] makes paths "
                "{wide} wide."
            ).format(path=path, wide=wide, edge=edge)
        )
    for each in layouts:
        if each.too_steep:
            beds = plural("1 bed falls", "{number} beds fall", len(each.too_steep))
            said.append(
                _(
                    "Plot {plot}: {beds} too steep for rows of tilled ground (over 2 % "
                    "along, or over half the fall of the ground): {names}."
                ).format(
                    plot=each.plot,
                    beds=beds,
                    names=quantities.listed(_shown(each.too_steep)),
                )
            )
    return said


def _shown(names: Sequence[str], most: int = 6) -> list[str]:
    """Names, cut where they are many."""
    if len(names) <= most:
        return list(names)
    rest = len(names) - most + 1
    return [*names[: most - 1], plural("1 more", "{number} more", rest)]
