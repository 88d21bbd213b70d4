"""Made-up evenings: beds on a line from a gate, what stands on them, and covers.

Beds lie 20 m apart on level ground: the first 10 m from the gate, the next 30 m, and so
on, so that no two of them are neighbours under one sheet.
"""

from datetime import date, datetime, timedelta, timezone
from types import SimpleNamespace

from made_up_crops import crop, limit
from shapely.geometry import box

from fieldmap.decide.tonight import Walk, advise
from fieldmap.decide.tonight.answer import usable
from fieldmap.decide.tonight.dusk import Dusk
from fieldmap.decide.tonight.evening_round import EveningRound, Stop
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.decide.tonight.standing import Stand, Standing
from fieldmap.decide.tonight.work import NightHours
from fieldmap.model.estimate import Estimate
from fieldmap.model.settings import Cover, Materials

DAY = date(2026, 5, 6)
ZONE = timezone(timedelta(hours=2))
# Sunset at 20:00 and sunrise at 5:00: a night of nine hours.
NIGHT = NightHours(
    DAY,
    datetime(2026, 5, 6, 20, 0, tzinfo=ZONE),
    datetime(2026, 5, 7, 5, 0, tzinfo=ZONE),
)
HUT = Estimate(0.0, 0.0, 0.0)  # harmed at 0 °C at the screen, known exactly
LEAF = Estimate(0.0, 2.0, 4.0)  # harmed at 0 °C by the plant
AT_SCREEN = crop("hut", damage_c=limit(0.0, at="screen"))
AT_PLANT = crop("leaf", damage_c=limit(0.0, at="plant"))


def bed(name, offset_c=(0.0, 0.0, 0.0), plot="Home", length_m=20.0, outline=None):
    """Of a ranked bed only what the list reads."""
    return SimpleNamespace(
        bed=SimpleNamespace(
            name=name, plot=plot, length_m=length_m, width_m=0.75, outline=outline
        ),
        offset_c=Estimate(*offset_c),
    )


def roll(kind, length_m, width_m=2.5, **more):
    """A cover that may be cut."""
    given = {"may_cut": True} | more
    return Cover(kind=kind, length_m=length_m, width_m=width_m, **given)


def round_of(
    *beds, owned=(), heights_c=None, covers_of=None, paths_m=(), inside=(), **more
):
    """A walk past beds in their order at the height of the station, some in a tunnel."""
    placed = []
    for at, ranked in enumerate(beds):
        if ranked.bed.outline is None:
            ranked.bed.outline = box(10 + 20 * at, 0, 10.75 + 20 * at, 20)
        height_c = 0.0 if heights_c is None else heights_c[at]
        tunnel = "T" if ranked.bed.name in inside else ""
        placed.append(Stop(ranked, at, height_c, 10.0 + 20 * at, tunnel))
    kinds = usable({cover.kind for cover in owned}, None)
    known = {
        "reference_c": 0.0,
        "spare_c": 0.0,
        "bias_c": None,
        "mixed_share": Estimate(0.1, 0.2, 0.3),
        "of_station": (),
    } | more
    return EveningRound(
        stops=tuple(placed),
        covers_of=covers_of or dict.fromkeys(("leaf", "hut", "root"), kinds),
        owned=tuple(owned),
        hoops=Materials(),
        plan_order=tuple(each.bed.name for each in beds),
        paths_m=paths_m or (None,) * len(beds),
        **known,
    )


def standing(bed_name, crop_name="hut", weeks=10, limit_c=HUT, **more):
    """What stands on a bed."""
    return Standing(bed_name, crop_name, weeks, limit_c, **more)


def stand_of(*standings):
    """By the plan."""
    return Stand(DAY, standings)


def advice_for(round_, stand, low_c, sky="clear", wind="calm", dusk_c=None, dusk=None):
    """The advice for a night, with the temperature at dusk as it was read or as a range."""
    if dusk_c is not None:
        dusk = Dusk.read(dusk_c)
    return advise(Walk.over(round_, stand), Forecast(low_c, sky, wind), NIGHT, dusk)


def verdicts(advice):
    """Bed -> what is done with what stands there."""
    return {row.standing.bed: row.verdict for row in advice.rows}
