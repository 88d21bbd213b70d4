"""Edge: printed sheets as PDF, for the landowner, the crew, the door and learners."""

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import date

from fieldmap.decide.calendar.in_tunnels import door_months
from fieldmap.errors import PlanError, problem
from fieldmap.model.settings import SheetName
from fieldmap.model.site import OwnWords
from fieldmap.plan import Plan
from fieldmap.show.print import crew, landowner, wall
from fieldmap.show.print.paper import (
    INNER_MM,
    Block,
    Large,
    Paper,
    Sheet,
    cautions,
    pdf,
)
from fieldmap.show.print.site_plan import SitePlan
from fieldmap.show.print.teaching import build, dawn_walk
from fieldmap.show.print.two_languages import together
from fieldmap.show.text import language
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import door_card, weekly_jobs
from fieldmap.show.text.language import _, date_in_words, of_site, spoken
from fieldmap.show.typeset import not_drawn

TITLES = texts("fieldmap.show.text.print.sheets", "titles")
DOOR_CAUTIONS = texts("fieldmap.show.text.print.sheets", "door_cautions")
FOOT = texts("fieldmap.show.text.print.sheets", "foot")
Blocks = tuple[Block, ...]


def pdfs(plan: Plan) -> dict[str, bytes]:
    """Every sheet of a plan by its file name; the same plan gives the same bytes."""
    settings = plan.site.settings
    paper = settings.sheets.paper or ("letter" if settings.units == "us" else "a4")
    asked = settings.sheets.languages
    _check_letters(plan.site.own_words, settings.files.words)
    written = {}
    for name, blocks in _sheets(plan, paper).items():
        first, *second = asked.get(name) or (language.current().code,)
        with _in(first, settings.units):
            made = blocks()
            sheet = Sheet(
                _(TITLES[name]),
                _foot(settings.name, plan.today),
                f"fieldmap {plan.made_with.get('version', '')}",
                together(made, _blocks_in(second[0], settings.units, blocks))
                if second
                else made,
                _(FOOT["page"]),
            )
            written[f"{name}.pdf"] = pdf(sheet, paper)
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


def _sheets(plan: Plan, paper: Paper) -> dict[SheetName, Callable[[], Blocks]]:
    """What each sheet is made of, in the language that is spoken when it is asked."""
    site, settings = plan.site, plan.site.settings
    units = settings.units
    width_mm, _height_mm = INNER_MM[paper]
    beds = [ranked.bed for ranked in plan.beds]
    drawn = SitePlan(
        plots=site.plots,
        surroundings=site.surroundings,
        beds=beds,
        tunnels=plan.tunnels,
        stakes=plan.stakes,
        convergence_deg=site.convergence_deg,
        units=units,
        width_mm=width_mm,
    )
    kinds = build.builds(plan.materials.low_tunnels, beds, settings.beds.path_m)

    def door() -> Blocks:
        said = door_card.sentences(door_months(site.weather.days["tmax_c"]), units)
        # One card; its cautions stand in the sentences and again as signs.
        return Large(said), cautions(_("Always"), DOOR_CAUTIONS)

    return {
        "landowner": lambda: landowner.blocks(
            plan.beds,
            drawn,
            plan.cold_pockets,
            site.weather.years if plan.dates.known else None,
            plan.crop_plan.stays,
            plan.what_ifs,
            width_mm,
        ),
        "crew": lambda: crew.blocks(
            drawn,
            plan.materials,
            weekly_jobs.weeks(plan.weekly_jobs, units),
            settings.beds.tape_m,
        ),
        "tunnel_door": door,
        "tonight": lambda: wall.blocks(plan.tonight, [bed.name for bed in beds], units),
        "dawn_walk": lambda: dawn_walk.blocks(plan.beds, drawn, width_mm),
        "build": lambda: build.blocks(
            kinds,
            [bed.name for bed in beds],
            settings.materials.anchor,
            site.own_words,
            paper,
            units,
        ),
    }
