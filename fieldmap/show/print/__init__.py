"""Edge: printed sheets as PDF, for the landowner, the crew, the door and learners."""

from fieldmap.decide.calendar.in_tunnels import door_months
from fieldmap.decide.tonight import evenings
from fieldmap.decide.tonight.evening_round import evening_round
from fieldmap.plan import Plan
from fieldmap.show.print import crew, dawn_walk, landowner, wall
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
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import door_card, weekly_jobs
from fieldmap.show.text.language import _

TITLES = texts("fieldmap.show.text.print.sheets", "titles")
DOOR_CAUTIONS = texts("fieldmap.show.text.print.sheets", "door_cautions")


def pdfs(plan: Plan) -> dict[str, bytes]:
    """Every sheet of a plan by its file name; the same plan gives the same bytes."""
    site, settings = plan.site, plan.site.settings
    units = settings.units
    usual: Paper = "letter" if units == "us" else "a4"
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
        units=units,
        width_mm=width_mm,
    )
    weeks = weekly_jobs.weeks(plan.weekly_jobs)
    door = door_card.sentences(door_months(site.weather.days["tmax_c"]), units)
    nights = evenings(evening_round(site, plan.beds), "clear", "calm", units)
    sheets: dict[str, tuple[Block, ...]] = {
        "landowner": landowner.blocks(plan, drawn, width_mm),
        "crew": crew.blocks(drawn, plan.materials, weeks, settings.beds.tape_m),
        # One card; its cautions stand in the sentences and again as signs.
        "tunnel_door": (Large(door), cautions(_("Always"), DOOR_CAUTIONS)),
        "tonight": wall.blocks(nights, units),
        "dawn_walk": dawn_walk.blocks(plan.beds, drawn, width_mm),
    }
    titles = {name: _(title) for name, title in TITLES.items()}
    made = f"fieldmap {plan.made_with.get('version', '')}"
    owner = " ".join(settings.name.split())
    return {
        f"{name}.pdf": pdf(Sheet(titles[name], owner, made, blocks), paper)
        for name, blocks in sheets.items()
    }
