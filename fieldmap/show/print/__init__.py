"""Edge: printed sheets as PDF, for the landowner, the crew, the door and learners."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.print import crew, dawn, landowner, signs, wall
from fieldmap.show.print.paper import Block, Large, Paper, Sheet, cautions, pdf
from fieldmap.show.text import door_card
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from fieldmap.plan import Plan


def pdfs(plan: Plan) -> dict[str, bytes]:
    """Every sheet of a plan by its file name; the same plan gives the same bytes."""
    chosen = plan.site.settings.sheets.paper
    paper: Paper = chosen or ("letter" if plan.site.settings.units == "us" else "a4")
    written: dict[str, tuple[str, tuple[Block, ...]]] = {
        "landowner.pdf": (
            _("What we would like to do on your ground"),
            landowner.blocks(plan, paper),
        ),
        "crew.pdf": (_first_block(plan), crew.blocks(plan, paper)),
        "tunnel_door.pdf": (_("When to open and close this tunnel"), _door(plan)),
        "tonight.pdf": (_("What to cover tonight"), wall.blocks(plan)),
        "dawn_walk.pdf": (
            _("Dawn walk: where does the cold air lie?"),
            dawn.blocks(plan, paper),
        ),
    }
    made = f"fieldmap {plan.made_with.get('version', '')}"
    name = " ".join(plan.site.settings.name.split())
    return {
        file: pdf(Sheet(title, name, made, blocks), paper)
        for file, (title, blocks) in written.items()
    }


def _first_block(plan: Plan) -> str:
    blocks = list(crew.of_blocks(plan))
    if not blocks:
        return _("For the crew")
    return crew.title(*blocks[0])


def _door(plan: Plan) -> tuple[Block, ...]:
    """One card; its cautions stand in the sentences and again as signs."""
    return (
        Large(door_card.sentences(plan.site)),
        cautions(
            _("Always"),
            (
                (_("A closed tunnel in sun overheats."), signs.HEAT),
                (_("No unvented heater, no engine inside."), signs.FUMES),
                (_("Lash all doors and sides before wind."), signs.WIND),
                (_("Never inside under snow."), signs.SNOW),
            ),
        ),
    )
