"""The card for the door of each walk-in tunnel: when to open and when to close."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fieldmap.decide.crop_plan import Stay
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.decide.weekly_jobs.venting import TOO_HOT_C, Venting
from fieldmap.model.season_year import SeasonYear
from fieldmap.show.print.paper import (
    Block,
    Head,
    Large,
    Lines,
    NewPage,
    Paper,
    Table,
    cautions,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import door_card
from fieldmap.show.text.decide.care import venting
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

WORDS = texts("fieldmap.show.text.print.sheets", "door")
TITLE = texts("fieldmap.show.text.print.sheets", "titles")["tunnel_door"]
ROWS = {"a4": 3, "letter": 1}


class Doors(NamedTuple):
    """What is said at the doors.

    Attributes
    ----------
    hot
        When closed covers overheat, those of tunnels by their names.
    floor
        Beds inside tunnels.
    months
        In which doors are watched daily.
    """

    tunnels: Sequence[TunnelPlace]
    hot: Sequence[Venting]
    stays: Sequence[Stay]
    floor: Sequence[Bed]
    months: Sequence[tuple[int, int]]
    season: SeasonYear
    units: Units


def blocks(the: Doors, paper: Paper) -> tuple[Block, ...]:
    """A page for each tunnel; without any, one that holds for all."""
    heads = [
        Head(
            _(WORDS["title_of"]).format(tunnel=tunnel.name),
            tuple(_of_tunnel(the, tunnel)),
        )
        for tunnel in the.tunnels
    ]
    first, *others = (_card(the, head, paper) for head in heads or [Head(_(TITLE))])
    return (*first, *(each for card in others for each in (NewPage(), *card)))


def _of_tunnel(the: Doors, tunnel: TunnelPlace) -> Iterator[str]:
    """Which one it is, when it overheats, and what the plan grows in it."""
    units, size = the.units, tunnel.size
    said = phrase(
        "tunnel_size",
        units,
        length_m=size.length_m,
        width_m=size.width_m,
        height_m=size.height_m,
    )
    yield _(WORDS["tunnel"]).format(
        plot=tunnel.plot, size=said, way=quantities.axis(tunnel.bearing_deg)
    )
    for each in the.hot:
        if (each.name, each.kind) == (tunnel.name, "tunnel"):
            yield _(WORDS["hot"]).format(
                limit=quantities.temperature(TOO_HOT_C, units),
                weeks=names.started(venting.weeks(each.maybe, the.season)),
            )
    stays = sorted(the.stays, key=lambda stay: stay.from_day)
    beds = {bed.name for bed in the.floor if bed.tunnel == tunnel.name}
    inside = [stay.crop for stay in stays if stay.bed in beds]
    if inside:
        crops = names.listed([_(crop) for crop in dict.fromkeys(inside)])
        yield _(WORDS["crops"]).format(crops=crops)


def _card(the: Doors, head: Head, paper: Paper) -> tuple[Block, ...]:
    """When to open and close, then what is always true, by its signs."""
    unit = "°F" if the.units == "us" else "°C"
    columns = [_(text).format(unit=unit) for text in WORDS["log"]]
    return (
        head,
        Large((*door_card.when_to_open(the.units), door_card.season(the.months))),
        cautions(_("Always"), door_card.SIGNS),
        Lines(translated(WORDS["who"])),
        Table(
            tuple(columns),
            (("",) * len(columns),) * ROWS[paper],
            (1.0,) * 5,
        ),
    )
