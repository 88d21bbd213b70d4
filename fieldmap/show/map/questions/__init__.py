"""The grower's questions, and what the map shows and says for each."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from rasterio.features import geometry_mask
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import TerrainFields
from fieldmap.decide.calendar.planting_dates import how
from fieldmap.decide.crop_plan.cover_use import planned_shade
from fieldmap.model.raster import Raster
from fieldmap.model.site import PUDDLES
from fieldmap.plan import Plan
from fieldmap.show.map.questions import (
    build,
    cold,
    early,
    grows,
    light,
    terrain,
    what_if,
)
from fieldmap.show.map.questions.light import first_for_shade
from fieldmap.show.map.questions.standing import Place, Spell, spells
from fieldmap.show.map.questions.view import Question, Swatch, View, answer
from fieldmap.show.map.tables.work import amount
from fieldmap.show.text.language import _
from fieldmap.show.text.map import cold_air, tonight
from fieldmap.show.text.map import questions as words
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.sentence import phrase, say

__all__ = ["Asked", "Question", "View", "first_for_shade", "percent"]

# Patterns of beds on the evening that is asked about, and the signs whose words they bear.
TONIGHT = {
    "cover": "cover",
    "example": "example",
    "odds": "odds",
    "example-odds": "odds",
    "let-go": "lost",
    "outlined": "leave",
}


@dataclass(frozen=True)
class Asked:
    """What the grower may ask of a plan."""

    plan: Plan

    @cached_property
    def steps(self) -> tuple[grows.Step, ...]:
        """What grows where, from job to job; nothing where no crop is planned."""
        plan = self.plan
        crops = {crop.name: how(crop) for crop in plan.dates.crops}
        names = [bed.name for bed in self.places]
        return grows.steps(plan.crop_plan, names, crops, plan.weekly_jobs.starts)

    @cached_property
    def standing(self) -> tuple[Spell, ...]:
        """What stands where through the year."""
        return spells(self.plan.crop_plan, self.places)

    @property
    def _puddles_in(self) -> list[str]:
        """Plots on which the grower saw puddles."""
        plots, seen = self.plan.site.plots, self.plan.site.seen(PUDDLES)
        return [str(name) for name in plots["name"][plots.intersects(seen)]]

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """All beds, then those inside tunnels, which no map draws."""
        beds = (ranked.bed for ranked in self.plan.beds)
        return grows.places(self.plan.crop_plan, beds)

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """All in their order, but for those that nothing answers here."""
        first = {"sun": self.plan.site.spring_month}
        views = {key: tuple(found) for key, found in self._views()}
        return tuple(
            Question(key, _(words.QUESTIONS[key]), views[key], first.get(key, 0))
            for key in words.QUESTIONS
            if views.get(key)
        )

    def _views(self) -> Iterator[tuple[str, list[View]]]:
        """The views of each question."""
        plan, of_grows = self.plan, self.steps
        site, analysis, beds = plan.site, plan.analysis, plan.beds
        units = site.settings.units
        plots = [str(name) for name in site.plots["name"]]
        air_ran = analysis.cold_air.night is not None
        plot_of = {ranked.bed.name: ranked.bed.plot for ranked in beds}
        yield (
            "early",
            [early.view(beds, plan.dates, plots, [words.early(air_ran=air_ran)])],
        )
        if of_grows:
            yield (
                "grows",
                [
                    grows.view(
                        plan.crop_plan, self.places, len(beds), of_grows, self.standing
                    )
                ],
            )
        yield "tonight", [_tonight()]
        yield "cold", list(self._cold(air_ran=air_ran))
        yield (
            "what-if",
            [
                what_if.view(effect, at, analysis, plot_of, units)
                for at, effect in enumerate(plan.what_ifs)
            ],
        )
        sun_more = [label("hours_apart")]
        yield "sun", [light.sun(analysis.light, beds, at, sun_more) for at in range(12)]
        yield "shade", [self._shade(sun_more)]
        fall_percent = percent(analysis.terrain)
        # The finest roughness that slopes still show.
        finest_m = max(site.settings.ground.smoothing_m, fall_percent.cell_size_m)
        outlines = dict(zip(plots, site.plots.geometry, strict=True))
        yield (
            "steep",
            [terrain.steep(fall_percent, finest_m, beds, outlines, units, [])],
        )
        yield (
            "water",
            [
                terrain.water(
                    analysis.wetness_index,
                    beds,
                    site.plots.geometry,
                    self._puddles_in,
                    [words.explained("water")],
                )
            ],
        )
        yield from self._work(fall_percent)

    def _cold(self, *, air_ran: bool) -> Iterator[View]:
        """The place as it is."""
        plan = self.plan
        by_station = plan.site.station_cell is not None
        shown = cold.Shown(plan.site.settings.units, by_station, air_ran)
        behind = [cold_air.barrier(one, shown.units) for one in plan.cold_air_barriers]
        more = [words.cold(by_station=by_station, air_ran=air_ran), *behind]
        extras = ["flow"] if plan.flow_lines else []
        yield cold.view(plan.analysis.cold_air.offset_c, plan.beds, shown, extras, more)

    def _shade(self, more: list[str]) -> View:
        """What the plan shades, else what comes first."""
        plan = self.plan
        planned = planned_shade(
            plan.crop_plan,
            plan.materials.inside.shades,
            [bed.bed.name for bed in plan.beds],
        )
        return light.shade(
            plan.analysis.light,
            plan.beds,
            plan.site.summer_month,
            first_for_shade(plan.beds),
            planned,
            more,
        )

    def _work(self, fall_percent: Raster) -> Iterator[tuple[str, list[View]]]:
        """What is built."""
        plan, settings = self.plan, self.plan.site.settings
        others = [
            each
            for each in plan.tunnel_choices
            if each.letter != settings.tunnel_choice
        ]
        said = [
            phrase(
                "tunnel_choice_taken"
                if each.letter == settings.tunnel_choice
                else "tunnel_choice",
                settings.units,
                letter=each.letter,
                place=phrase(f"tunnel_place_{each.letter.lower()}"),
                said=each.comparison,
            )
            for each in plan.tunnel_choices
        ]
        reasons = [
            say(fact, settings.units)
            for place in plan.tunnels
            for fact in place.reasons
        ]
        yield (
            "tunnels",
            [
                build.tunnels(
                    fall_percent,
                    _on_plots(fall_percent, plan.site.plots.geometry),
                    plan.tunnels,
                    others,
                    plan.site.spring_month,
                    [*said, *reasons],
                    settings.units,
                )
            ],
        )
        plots = [str(name) for name in plan.site.plots["name"]]
        beds = [bed.bed.name for bed in plan.beds]
        yield (
            "materials",
            [
                build.materials(
                    plan.materials,
                    beds,
                    build.pegs_by_plot(plots, plan.stakes.fields),
                    amount,
                    settings.units,
                    has_tunnels=bool(plan.tunnels),
                )
            ],
        )


def percent(terrain_fields: TerrainFields) -> Raster:
    """Grade of the smoothed ground, as beds and tunnels have it: roughness left out."""
    rise = np.hypot(terrain_fields.east.values, terrain_fields.north.values)
    return terrain_fields.smooth_m.with_values(100.0 * rise)


def _on_plots(grid: Raster, outlines: Iterable[BaseGeometry]) -> npt.NDArray[np.bool_]:
    return np.asarray(
        geometry_mask(
            outlines,
            out_shape=grid.shape,
            transform=grid.transform,
            invert=True,
            all_touched=True,
        )
    )


def _tonight() -> View:
    """What the page fills in by the low that is forecast."""
    return View(
        answer=answer(words.explained("tonight")),
        swatches=tuple(
            Swatch(kind, _(tonight.SIGN_LABELS[sign])) for kind, sign in TONIGHT.items()
        ),
    )
