"""What the landowner reads: what is proposed, why, and what is to be agreed."""

from collections.abc import Iterable, Iterator, Sequence

from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.names import listed
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all

MOST_NAMES = 4  # of cold pockets
TITLE = later("What we would like to do on your ground")
PLAN = later("A plan of the plots with beds, tunnels and what stands around.")
PLAN_KEY = later(
    "Thick lines: your ground. Narrow strips: beds. Hatched boxes with a T: "
    "walk-in tunnels, which one can stand in."
)
NOTHING_STANDS_OUT = later("No place stands out on this ground.")
WHAT_STAYS = later("What stays, and what goes")
FILL_IN = later("Fill in together. A line that is left empty is not agreed.")
AGREEMENT = (
    later("What"),
    later("How much"),
    later("Stays until"),
    later("Who takes it away"),
    later("By when"),
)
AGREED = (
    later("This holds from, and until:"),
    later("Landowner, date:"),
    later("Grower, date:"),
)
# What is drawn, and what is said below it.
SEASONS = (
    (later("The plots in spring."), later("Spring. {seen}")),
    (later("The plots in high summer."), later("High summer. {seen}")),
    (later("The plots in autumn."), later("Autumn. {seen}")),
    (later("The plots in winter."), later("Winter. {seen}")),
)
CHANGES = later("Changes around that we looked into")
YOUR_WORD = later(
    "Nothing of this is done without your word, and that of neighbours below."
)
# By the sign beside them.
CAUTIONS = texts(__name__, "cautions")


def lead(
    ground_m2: float, bed_areas_m2: Sequence[float], tunnels: int, units: Units
) -> str:
    """What we would like to do."""
    built = (
        plural(
            "One walk-in tunnel is planned.",
            "{number} walk-in tunnels are planned.",
            tunnels,
        )
        if tunnels
        else _("No walk-in tunnel is planned.")
    )
    return plural(
        "We would like to grow vegetables on {ground} of your ground. {planted} of it would "
        "be planted, in {number} narrow bed. Low hoops with cloth or clear film over them "
        "keep frost off in spring and autumn, and shade cloth keeps beds cool in summer. "
        "{built} Beds are made by hand; hoops, cloth and tunnels can be taken away again.",
        "We would like to grow vegetables on {ground} of your ground. {planted} of it would "
        "be planted, in {number} narrow beds with paths between. Low hoops with cloth or "
        "clear film over them keep frost off in spring and autumn, and shade cloth keeps "
        "beds cool in summer. {built} Beds are made by hand; hoops, cloth and tunnels can "
        "be taken away again.",
        len(bed_areas_m2),
        ground=quantities.area(round(ground_m2), units),
        planted=quantities.area(round(sum(bed_areas_m2)), units),
        built=built,
    )


def reasons(
    first_plots: Iterable[str],
    cold_pockets: Sequence[str],
    tunnels: Iterable[TunnelPlace],
    years: tuple[int, int] | None,
    units: Units,
) -> Iterator[str]:
    """Why just so; `years` are those of the record from which dates come."""
    first = list(dict.fromkeys(first_plots))
    if first:
        yield _("The ground that can be planted first lies in: {plots}.").format(
            plots=listed(first)
        )
    if cold_pockets:
        yield _(
            "On still nights cold air collects in these places: {places}. Tender "
            "plants keep out of them."
        ).format(places=listed(cold_pockets[:MOST_NAMES]))
    for each in tunnels:
        yield _("Tunnel {tunnel}: {reasons}").format(
            tunnel=each.name, reasons=" ".join(say_all(each.reasons[:2], units))
        )
    if years is not None:
        yield _(
            "The dates we work with come from the weather record of {first} to {last}. "
            "They are odds, and no promise."
        ).format(first=years[0], last=years[1])


def things(
    bed_areas_m2: Sequence[float], tunnels: Iterable[TunnelPlace], units: Units
) -> list[tuple[str, str]]:
    """What comes onto the ground, and how much of it."""
    planted = plural(
        "{number} bed, {area}",
        "{number} beds, {area}",
        len(bed_areas_m2),
        area=quantities.area(round(sum(bed_areas_m2)), units),
    )
    return [
        (_("Beds and paths"), planted),
        *(
            (
                _("Walk-in tunnel {tunnel}").format(tunnel=each.name),
                _("{length} long, {width} wide, {height} tall").format(
                    length=quantities.length(each.size.length_m, units),
                    width=quantities.length(each.size.width_m, units),
                    height=quantities.length(each.size.height_m, units),
                ),
            )
            for each in tunnels
        ),
        (
            _("Low hoops, cloth and film, pegs and bags"),
            _("out of sight when not in use"),
        ),
        (_("Water pipe and taps"), ""),
        (_("Old film and worn cloth"), _("taken away, never burnt or buried")),
    ]


def seen(beds: int, with_crop: int, covered: int) -> str:
    """How many beds carry a crop on a day, and how many a cover."""
    if not covered:
        return plural(
            "{number} of {beds} beds carries a crop; none is covered.",
            "{number} of {beds} beds carry a crop; none is covered.",
            with_crop,
            beds=str(beds),
        )
    return plural(
        "{crops} of {beds} beds carry a crop; {number} lies under cloth or film.",
        "{crops} of {beds} beds carry a crop; {number} lie under cloth or film.",
        covered,
        crops=str(with_crop),
        beds=str(beds),
    )


def to_talk_about(
    water_points: int, gates: int, roof_m2: float, units: Units
) -> Iterator[str]:
    """What has no answer yet."""
    yield _water(water_points)
    if roof_m2:
        yield _roof_water(roof_m2, units)
    yield _access(gates)
    yield _(
        "Permit: ask the local office whether a tunnel needs one, and how far it must "
        "keep from the boundary. Insurance: whose cover holds for people, tunnel and "
        "crops?"
    )
    yield _(
        "Neighbours: film glints and rattles; spray may drift over from fields near by. "
        "Tell them before it is built."
    )


def _roof_water(roof_m2: float, units: Units) -> str:
    if units == "us":
        gallons = roof_m2 * quantities.FEET_PER_METRE**2 * 0.623
        return _(
            "Roof water: the tunnels shed {gallons} gallons of every inch. Where may "
            "it run?"
        ).format(gallons=f"{gallons:,.0f}")
    # A millimetre of rain on a square metre is a litre.
    return _(
        "Roof water: the tunnels shed {litres} litres of every 25 mm of rain. "
        "Where may it run?"
    ).format(litres=f"{roof_m2 * 25:,.0f}")


def _water(points: int) -> str:
    if not points:
        return _(
            "Water: no water point is on the map. How much may be drawn, from when to "
            "when, and who pays?"
        )
    return plural(
        "Water: one water point is on the map. How much may be drawn, from when to when, "
        "and who pays?",
        "Water: {number} water points are on the map. How much may be drawn, from when to "
        "when, and who pays?",
        points,
    )


def _access(gates: int) -> str:
    if not gates:
        return _(
            "Access: no gate is on the map. Which way, at what hours, with what vehicle?"
        )
    return plural(
        "Access: one gate is on the map. Which way, at what hours, with what vehicle?",
        "Access: {number} gates are on the map. Which way, at what hours, with what "
        "vehicle?",
        gates,
    )
