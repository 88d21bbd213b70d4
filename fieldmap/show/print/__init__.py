"""Edge: printed sheets as PDF, for the landowner, the crew, the door and learners."""

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import fields
from datetime import date
from functools import partial

from shapely.geometry import box

from fieldmap.cache.digest import digest
from fieldmap.decide.calendar.in_tunnels import door_months
from fieldmap.errors import PlanError, problem
from fieldmap.model.settings import SheetName
from fieldmap.model.site import OwnWords
from fieldmap.plan import Decided, Plan
from fieldmap.show.kept import drawn, spoken_here
from fieldmap.show.print import before_you_sign, crew, door, landowner, wall
from fieldmap.show.print.ground.drawing import PlanDrawing
from fieldmap.show.print.ground.ground_facts import (
    ColdPlace,
    cold_places,
    first_and_last,
)
from fieldmap.show.print.ground.ground_plan import ground_plan, key
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.print.paper import (
    INNER_MM,
    Block,
    Paper,
    Sheet,
    pdf,
)
from fieldmap.show.print.teaching import build, dawn_walk, walk
from fieldmap.show.print.teaching.stops import Walked, entry_of
from fieldmap.show.print.two_languages import together
from fieldmap.show.text import language
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import weekly_jobs
from fieldmap.show.text.language import _, date_in_words, of_site, spoken
from fieldmap.show.text.site.analysis import named_pockets
from fieldmap.show.typeset import not_drawn

TITLES = texts("fieldmap.show.text.print.sheets", "titles")
FOOT = texts("fieldmap.show.text.print.sheets", "foot")
Blocks = tuple[Block, ...]
Room = tuple[float, float]
At = tuple[float, float]


def pdfs(plan: Plan) -> dict[str, bytes]:
    """Every sheet of a plan by its file name; the same plan gives the same bytes."""
    settings = plan.site.settings
    paper = settings.sheets.paper or ("letter" if settings.units == "us" else "a4")
    _check_letters(plan.site.own_words, settings.files.words)
    sheets = _Sheets(plan, paper)
    made_of = sheets.made_of() + spoken_here()
    written = {}
    for name, blocks in sheets.by_name().items():
        inputs = {"name": name, "made of": made_of}
        if name == "landowner":
            inputs["what ifs"] = digest(plan.what_ifs)

        draw = partial(sheets.set, name, blocks)
        written[f"{name}.pdf"] = drawn("sheet", inputs, draw)
    return written


def _check_letters(own: Sequence[OwnWords], file: str) -> None:
    """Raise PlanError where words have letters that would be printed as boxes."""
    problems = [
        problem(
            "{file}: {said!r} of {language!r} has letters that no font here has"
            " ({letters}); install a font that has them (pip install fontpkg-...), or"
            " leave the word out and write it by hand.",
            file=file,
            said=said,
            language=each.language,
            letters=not_drawn(said),
        )
        for each in own
        for said in (each.language, *each.words.values())
        if not_drawn(said)
    ]
    if problems:
        raise PlanError(problems)


def _in(code: str, units: str) -> AbstractContextManager[None]:
    """What is said meanwhile is in a language; that which is spoken stays as it is."""
    if code == language.current().code:
        return nullcontext()
    return spoken(of_site(code, units))


def _blocks_in(code: str, units: str, blocks: Callable[[], Blocks]) -> Blocks:
    with _in(code, units):
        return blocks()


def _foot(site_name: str, today: date | None) -> str:
    """Whose plan it is, and of which day."""
    name = " ".join(site_name.split())
    if today is None:
        return name
    return _(FOOT["plan"]).format(site=name, day=date_in_words(today))


class _Sheets:
    """What each sheet of a plan is made of, in the language that is spoken when asked."""

    def __init__(self, plan: Plan, paper: Paper) -> None:
        self.plan, self.paper = plan, paper
        self.site, self.units = plan.site, plan.site.settings.units
        self.beds = [ranked.bed for ranked in plan.beds]
        self.first = first_and_last(plan.beds)
        self.drawn = SitePlan(
            plots=self.site.plots,
            surroundings=self.site.surroundings,
            aside=self.site.aside,
            beds=self.beds,
            tunnels=plan.tunnels,
            stakes=plan.stakes,
            convergence_deg=self.site.convergence_deg,
            units=self.units,
            width_mm=INNER_MM[paper][0],
            height_mm=INNER_MM[paper][1],
        )

    def made_of(self) -> str:
        """All that every sheet is made of; what changes would do stands on one of them."""
        plan = self.plan
        decided = {
            each.name: getattr(plan, each.name)
            for each in fields(Decided)
            if each.name not in ("site", "warnings")
        }
        shown = plan.analysis.cold_air.depth_m.bounds
        return digest((self.site.without_what_ifs, decided, plan.happened, shown))

    def set(self, name: SheetName, blocks: Callable[[], Blocks]) -> bytes:
        """One sheet in its language, or in two."""
        settings = self.site.settings
        asked = settings.sheets.languages
        first, *second = asked.get(name) or (language.current().code,)
        with _in(first, settings.units):
            made = blocks()
            sheet = Sheet(
                _(TITLES[name]),
                _foot(settings.name, self.plan.today),
                f"fieldmap {self.plan.made_with.get('version', '')}",
                together(made, _blocks_in(second[0], settings.units, blocks))
                if second
                else made,
                _(FOOT["page"]),
            )
            return pdf(sheet, self.paper)

    def by_name(self) -> dict[SheetName, Callable[[], Blocks]]:
        """Each asked for by its name."""
        return {
            "landowner": self._landowner,
            "before_you_sign": self._before_you_sign,
            "crew": self._crew,
            "tunnel_door": self._door,
            "tonight": self._tonight,
            "dawn_walk": self._dawn_walk,
            "walk": self._walk,
            "build": self._build,
        }

    def _ground(self, room_mm: Room, kept_free: Sequence[At] = ()) -> PlanDrawing:
        """The ground with what the plan says of heights and cold air."""
        shown = box(*self.plan.analysis.cold_air.depth_m.bounds)
        known = self.site.elevation, self.plan.cold_pockets
        return ground_plan(self.drawn, *known, shown, room_mm, kept_free)

    def _bare_ground(self, room_mm: Room, kept_free: Sequence[At]) -> PlanDrawing:
        """The same ground without heights and cold air, for those who are to guess."""
        nothing = None, self.plan.cold_pockets[:0], box(0, 0, 0, 0)
        return ground_plan(self.drawn, *nothing, room_mm, kept_free)

    def _cold(self) -> tuple[ColdPlace, ...]:
        classes = {crop.name: crop.crop_class.value for crop in self.site.crops}
        pockets, stays = named_pockets(self.plan.cold_pockets), self.plan.crop_plan
        return tuple(cold_places(pockets, self.site.plots, self.beds, stays, classes))

    def _landowner(self) -> Blocks:
        plan = self.plan
        rows = landowner.rows_of_pictures(self.beds, plan.crop_plan)
        map_mm = landowner.MAP_MM, landowner.map_tall_mm(rows, self.paper)
        ground = self._ground(map_mm)
        landowner.add_changes(ground, plan.what_ifs, list(self.site.plots.geometry))
        proposal = landowner.Proposal(
            site=self.site.settings.name,
            drawn=self.drawn,
            plan=ground,
            first=self.first,
            cold=self._cold(),
            crop_plan=plan.crop_plan,
            lows=plan.materials.low_tunnels,
            effects=plan.what_ifs,
            years=self.site.weather.years if plan.dates.known else None,
            water_l_day={it.month: it.litres_day for it in plan.watering.months},
            pipes=plan.watering.pipes,
            in_grass=plan.plots_in_grass,
        )
        return landowner.blocks(proposal, self.paper)

    def _before_you_sign(self) -> Blocks:
        plan, site = self.plan, self.site
        known = before_you_sign.Known(
            site=site.settings.name,
            plots=site.plots,
            surroundings=site.surroundings,
            beds=plan.beds,
            first=self.first,
            cold=self._cold(),
            water_l_day={it.month: it.litres_day for it in plan.watering.months},
            lines=plan.materials.lines,
            in_grass=plan.plots_in_grass,
        )
        return before_you_sign.blocks(known, self.units)

    def _crew(self) -> Blocks:
        weeks = weekly_jobs.weeks(self.plan.weekly_jobs, self.units)
        tape_m = self.site.settings.beds.tape_m
        return crew.blocks(self.drawn, self.plan.materials, weeks, tape_m)

    def _door(self) -> Blocks:
        doors = door.Doors(
            tunnels=self.plan.tunnels,
            hot=self.plan.venting if self.plan.tunnels else (),
            stays=self.plan.crop_plan.stays,
            floor=self.plan.crop_plan.floor,
            months=door_months(self.site.weather.days["tmax_c"]),
            season=self.site.season,
            units=self.units,
        )
        return door.blocks(doors, self.paper)

    def _tonight(self) -> Blocks:
        return wall.blocks(self.plan.tonight, self.plan.materials.weights, self.units)

    def _dawn_walk(self) -> Blocks:
        beds, around = self.plan.beds, self.site.surroundings
        return dawn_walk.blocks(beds, around, self._bare_ground, self.paper, self.units)

    def _walk(self) -> Blocks:
        plan, site = self.plan, self.site
        walked = Walked(
            start=entry_of(site.surroundings, site.plots.geometry.iloc[0]),
            beds=plan.beds,
            first=self.first,
            tunnels=plan.tunnels,
            barriers=plan.cold_air_barriers,
            flow_lines=plan.flow_lines,
            plots=site.plots,
            surroundings=site.surroundings,
            season=site.season,
        )
        grounds = self._bare_ground, self._ground
        cold = not plan.cold_pockets.empty
        signs = partial(key, drawn=self.drawn, has_pocket=cold, has_change=False)
        return walk.blocks(walked, grounds, signs, self.paper, self.units)

    def _build(self) -> Blocks:
        settings = self.site.settings
        lows = self.plan.materials.low_tunnels
        return build.blocks(
            build.builds(
                lows,
                self.beds,
                settings.beds.path_m,
                self.plan.crop_plan.stays,
                self.site.season,
            ),
            [bed.name for bed in self.beds],
            settings.materials.anchor,
            self.site.own_words,
            self.paper,
            self.units,
            in_two=len(settings.sheets.languages.get("build", ())) > 1,
        )
