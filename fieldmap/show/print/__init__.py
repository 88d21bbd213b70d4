"""Edge: printed sheets as PDF, for the landowner, the crew, the door and learners."""

from fieldmap.decide.calendar.door_months import door_months
from fieldmap.decide.tonight import evenings
from fieldmap.decide.tonight.evening_round import evening_round
from fieldmap.plan import Plan
from fieldmap.show.print import crew, dawn_walk, landowner, wall
from fieldmap.show.print.cautions import cautions
from fieldmap.show.print.paper import INNER_MM, Block, Large, Paper, Sheet, pdf
from fieldmap.show.print.site_plan import SitePlan
from fieldmap.show.text import print as words
from fieldmap.show.text.decide import door_card, weekly_jobs
from fieldmap.show.text.language import _


def pdfs(plan: Plan) -> dict[str, bytes]:
    """Every sheet of a plan by its file name; the same plan gives the same bytes."""
    site, settings = plan.site, plan.site.settings
    usual: Paper = "letter" if settings.units == "us" else "a4"
    paper: Paper = settings.sheets.paper or usual
    width_mm, _height_mm = INNER_MM[paper]
    beds = [ranked.bed for ranked in plan.beds]
    drawn = SitePlan(
        plots=site.plots,
        surroundings=site.surroundings,
        beds=beds,
        tunnels=plan.tunnels,
        stakes=plan.stakes,
        convergence_deg=site.convergence_deg,
        units=settings.units,
    )
    written: dict[str, tuple[str, tuple[Block, ...]]] = {
        "landowner.pdf": (
            _(words.landowner.TITLE),
            landowner.blocks(plan, drawn, width_mm),
        ),
        "crew.pdf": (
            crew.title(beds),
            crew.blocks(
                drawn, plan.materials, weekly_jobs.weeks(plan.weekly_jobs), width_mm
            ),
        ),
        "tunnel_door.pdf": (
            _(words.tunnel_door.TITLE),
            _door(
                door_card.sentences(
                    door_months(site.weather.days["tmax_c"]), site.settings.units
                )
            ),
        ),
        "tonight.pdf": (
            _(words.tonight.TITLE),
            wall.blocks(
                evenings(
                    evening_round(site, plan.beds), "clear", "calm", site.settings.units
                ),
                site.settings.units,
            ),
        ),
        "dawn_walk.pdf": (
            _(words.dawn_walk.TITLE),
            dawn_walk.blocks(
                plan.beds, plan.analysis.cold_air.depth_m, drawn, width_mm
            ),
        ),
    }
    made = f"fieldmap {plan.made_with.get('version', '')}"
    name = " ".join(settings.name.split())
    return {
        file: pdf(Sheet(title, name, made, blocks), paper)
        for file, (title, blocks) in written.items()
    }


def _door(card: tuple[str, ...]) -> tuple[Block, ...]:
    """One card; its cautions stand in the sentences and again as signs."""
    return Large(card), cautions(_("Always"), words.tunnel_door.CAUTIONS)
