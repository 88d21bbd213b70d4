"""The whole list of a small farm: which jobs, in which weeks, and what is remarked.

1 January 2027 is a Friday; day 140 is Thursday, 20 May, day 112 Thursday, 22 April.
"""

from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, span

from fieldmap.decide import weekly_jobs
from fieldmap.decide.weekly_jobs.job import BedSet, Job
from fieldmap.decide.weekly_jobs.of_crop import CropOnBeds, PlannedBeds, Shaded, dated
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.show.text.decide import weekly_jobs as words
from fieldmap.show.text.language import of_site, spoken
from layers.sunlight import MOL_PER_MJ

SEED = crop("seed", shade_percent=span(0, 0))


def bed(name, group="first", july_mol=10.0):
    months = [1.0] * 12
    months[6] = july_mol / MOL_PER_MJ
    return SimpleNamespace(
        bed=SimpleNamespace(name=name, plot="Home", tunnel="", length_m=20.0),
        earliness=SimpleNamespace(group=group),
        light=SimpleNamespace(sun_mj_m2_day=tuple(months)),
    )


def site(
    *crops, owned=(), chosen=None, ends="2026-12-31", season=NORTH, tmax_c=20.0, **more
):
    """A farm of some crops, covers of 100 m, and weather that is the same all year."""
    days = pd.date_range("2025-01-01", ends)
    settings = {
        "calendar": SimpleNamespace(starts=None),
        "covers": [SimpleNamespace(kind=kind, length_m=100.0) for kind in owned],
        "crops": [SimpleNamespace(covers=covers) for covers in chosen or ()],
        "tunnels": (),
        "sun": SimpleNamespace(global_mj_m2_day=None),
    }
    for name in ("tunnels", "sun"):
        settings[name] = more.pop(name, settings[name])
    weather = pd.DataFrame({"tmin_c": tmax_c - 10.0, "tmax_c": tmax_c}, days)
    return SimpleNamespace(
        **{
            "settings": SimpleNamespace(**settings),
            "weather": SimpleNamespace(days=weather),
            "season": season,
            "crops": crops,
            "typical_year": None,
            "worked": (),
        }
        | more
    )


def dates(*crops, beds=1, early=140.0, late=np.inf, covers=("none",), known=True):
    shape = (3, len(crops), len(covers), beds)
    by_cover = np.reshape(early, (-1, 1)) * np.ones((len(covers), beds))
    return SimpleNamespace(
        crops=crops,
        covers=covers,
        early=np.broadcast_to(by_cover, shape),
        late=np.full(shape, late),
        last_sowing=np.full(shape, np.nan),
        slackens=np.full(shape[1:], np.nan),
        known=known,
        remarks=(Fact("why_none"),),
    )


def kinds(schedule):
    return {week.start: [task.kind for task in week.tasks] for week in schedule.weeks}


def remarks(schedule):
    return [fact.kind for fact in schedule.remarks]


def test_jobs_stand_in_their_weeks_from_the_first_day_of_the_season_year():
    found = weekly_jobs.make(site(SEED), [bed("A1")], dates(SEED))
    assert found.starts == date(2027, 1, 1)
    assert kinds(found) == {
        date(2027, 4, 19): ["order_seed"],
        date(2027, 5, 17): ["sow"],
    }
    assert [group.runs for group in found.groups] == [(("A1",),)]


def test_the_record_ends_with_its_last_day():
    # One that ends with New Year's Day is followed by the year after.
    found = weekly_jobs.make(site(SEED, ends="2027-01-01"), [bed("A1")], dates(SEED))
    assert found.starts == date(2028, 1, 1)
    south = site(SEED, ends="2027-06-30", season=SOUTH)
    assert weekly_jobs.make(south, [], dates(SEED)).starts == date(2027, 7, 1)


def test_the_day_that_the_site_names_goes_before_the_day_of_planning():
    here = site(SEED)
    today = date(2029, 5, 6)
    here.settings.calendar.starts = date(2028, 3, 4)
    assert weekly_jobs.make(here, [], dates(SEED)).starts == date(2028, 3, 4)
    found = weekly_jobs.make(here, [], dates(SEED), today)
    assert found.starts == date(2028, 3, 4)
    assert found.remarks[0] == Fact(
        "calendar_is_over", starts=found.starts, today=today
    )
    here.settings.calendar.starts = None
    found = weekly_jobs.make(here, [], dates(SEED), today)
    assert found.starts == today
    # 6 May 2029 is a Sunday: the list runs from Monday, 30 April.
    assert found.remarks[0] == Fact("jobs_run_from", date=date(2029, 4, 30))


def test_what_is_not_known_of_the_beds_and_the_sky_is_remarked():
    plain = weekly_jobs.make(site(SEED), [bed("A1")], dates(SEED))
    assert remarks(plain) == [
        "jobs_run_from",
        "jobs_for_any_beds",
        "shade_by_clear_light",
        "shade_no_hot_month",
    ]
    means = SimpleNamespace(global_mj_m2_day=(1.0,) * 12)
    for cloudy in (site(SEED, typical_year=object()), site(SEED, sun=means)):
        found = weekly_jobs.make(cloudy, [bed("A1")], dates(SEED))
        assert "shade_by_clear_light" not in remarks(found)
    both = site(SEED, typical_year=object(), sun=means)
    assert "shade_by_clear_light" not in remarks(
        weekly_jobs.make(both, [], dates(SEED))
    )
    planned = weekly_jobs.make(site(SEED), [bed("A1")], dates(SEED), planned={})
    assert "jobs_for_any_beds" not in remarks(planned)
    unknown = weekly_jobs.make(site(SEED), [bed("A1")], dates(known=False))
    assert "why_none" in remarks(unknown)
    assert "why_none" not in remarks(plain)


def test_a_crop_without_jobs_is_remarked_for_its_beds():
    found = weekly_jobs.make(site(SEED), [bed("A1")], dates(SEED, early=np.inf))
    assert found.weeks == ()
    assert "crop_never_warm" in remarks(found)


def test_covers_that_do_not_reach_are_remarked():
    beds = [bed(f"A{number}") for number in range(1, 7)]
    found = weekly_jobs.make(
        site(SEED, owned=["clear_film"]), beds, dates(SEED, beds=6)
    )
    assert "covers_too_short" in remarks(found)
    few = weekly_jobs.make(
        site(SEED, owned=["clear_film"]), beds[:5], dates(SEED, beds=5)
    )
    assert "covers_too_short" not in remarks(few)


def test_each_crop_has_the_covers_that_are_owned_and_chosen_for_it():
    covers = ("none", "light_fabric", "clear_film")
    dated = dates(SEED, SEED, early=(160.0, 150.0, 140.0), covers=covers)

    def used(owned, chosen):
        here = site(SEED, SEED, owned=owned, chosen=chosen)
        found = weekly_jobs.make(here, [bed("A1")], dated)
        return {
            task.cover
            for week in found.weeks
            for task in week.tasks
            if task.kind.startswith("sow")
        }

    both = ["light_fabric", "clear_film"]
    # Without a list of crops all covers may be used for all.
    assert used(both, None) == {"clear_film"}
    assert used(both, [None, None]) == {"clear_film"}
    assert used(both, [["light_fabric"], None]) == {"light_fabric", "clear_film"}
    assert used(["light_fabric"], [["clear_film"], []]) == {""}
    assert used([], None) == {""}


def test_light_of_the_middle_bed_of_a_group_decides_on_shade():
    # A hot year; 20 mol are the most that is best, and 30 % cloth leaves 18 of 25.7.
    hot = crop("hot", shade_percent=span(0, 50))
    for july_mol, is_shaded in (((10, 15, 40), False), ((10, 25.7, 40), True)):
        beds = [bed(f"A{at}", july_mol=mol) for at, mol in enumerate(july_mol, 1)]
        found = weekly_jobs.make(site(hot, tmax_c=35.0), beds, dates(hot, beds=3))
        shaded = [kind for week in kinds(found).values() for kind in week]
        assert ("shade_on" in shaded) is is_shaded


def test_beds_that_are_planned_for_a_crop_are_shaded_by_name():
    hot = crop("hot", shade_percent=span(0, 50))
    beds = [bed(f"A{at}", july_mol=25.7) for at in (1, 2, 3)]
    cloth = Shaded("shade_40", 152, 244)
    stay = PlannedBeds(
        "summer", frozenset({"A2", "A3"}), None, None, 140, 200, 300, cloth
    )
    found = weekly_jobs.make(
        site(hot, tmax_c=35.0), beds, dates(hot, beds=3), planned={"hot": [stay]}
    )
    (shaded,) = (t for week in found.weeks for t in week.tasks if t.kind == "shade_on")
    assert [each.runs for each in shaded.beds] == [(("A2", "A3"),)]


def test_frames_are_bared_where_there_is_film_or_a_tunnel():
    cold = {"tmax_c": 5.0}  # 0 °C in the mean
    for here, is_bared in (
        (site(SEED, **cold), False),
        (site(SEED, owned=["light_fabric"], **cold), False),
        (site(SEED, owned=["clear_film"], **cold), True),
        (site(SEED, owned=["slitted_film"], **cold), True),
        (site(SEED, tunnels=(object(),), **cold), True),
    ):
        found = weekly_jobs.make(here, [bed("A1")], dates(SEED))
        assert any("bare_frames" in week for week in kinds(found).values()) is is_bared


def test_a_crop_on_all_groups_is_on_all_beds_unless_its_beds_are_planned():
    beds = [bed("A1", "first"), bed("A2", "last")]

    def sown(planned=None):
        found = weekly_jobs.make(site(SEED), beds, dates(SEED, beds=2), planned=planned)
        (task,) = (
            task for week in found.weeks for task in week.tasks if task.kind == "sow"
        )
        return [(each.group, each.runs) for each in task.beds]

    assert sown() == [("all beds", ())]
    stay = PlannedBeds("spring", frozenset({"A1", "A2"}), None, None, 140, 190, 200)
    assert sown({"seed": [stay]}) == [("", (("A1", "A2"),))]


@pytest.mark.parametrize(
    ("starts", "before"),
    [
        # Rye of 8 September (day 251) is cut on 26 March (day 85 of the year after). A
        # list from January has the cutting before the sowing, so nothing in it sowed it.
        # It begins with the Monday of its week.
        (date(2027, 1, 1), "28 December 2026"),
        (date(2027, 3, 26), "22 March 2027"),
        # From August on it is sown first, and so it is from the first day of sowing.
        (date(2026, 8, 3), ""),
        (date(2026, 9, 8), ""),
        # What this autumn's list no longer sows may be sown already.
        (date(2026, 9, 14), "14 September 2026"),
    ],
)
def test_what_stands_through_the_winter_may_not_be_there_in_the_first_spring(
    starts, before
):
    on = BedSet("", (("A1",),))
    rye = Job("turn_in_green", 365 + 85, "winter rye", on, begun=251)
    settings = site().settings
    settings.calendar.starts = starts
    made = weekly_jobs.make(
        site(settings=settings), [bed("A1")], dates(), planned={}, more=[rye]
    )
    (task,) = (each for week in made.weeks for each in week.tasks)
    assert (task.begun_before is not None) == bool(before)
    ((said,),) = (week.jobs for week in words.weeks(made, "metric"))
    skip = f" Skip each crop that you did not sow or plant before {before}."
    assert said.count(skip if before else "Skip") == bool(before)


def test_in_spanish_the_day_before_which_it_was_sown_is_named_too():
    on = BedSet("", (("A1",),))
    rye = Job("turn_in_green", 365 + 85, "winter rye", on, begun=251)
    settings = site().settings
    settings.calendar.starts = date(2027, 1, 1)
    made = weekly_jobs.make(
        site(settings=settings), [bed("A1")], dates(), planned={}, more=[rye]
    )
    with spoken(of_site("es", "metric")):
        ((said,),) = (week.jobs for week in words.weeks(made, "metric"))
    assert (
        " Omita lo que no sembró ni plantó antes del 28 de diciembre de 2026." in said
    )


def test_what_ends_in_its_own_year_is_never_said_to_be_from_before():
    """Oats of day 80 are cut on day 130; the list begins on day 100 of the year."""
    on = BedSet("", (("A1",),))
    oats = Job("turn_in_green", 130, "oats", on)
    settings = site().settings
    settings.calendar.starts = date(2027, 4, 10)
    made = weekly_jobs.make(
        site(settings=settings), [bed("A1")], dates(), planned={}, more=[oats]
    )
    assert not any(task.begun_before for week in made.weeks for task in week.tasks)


def test_jobs_of_a_winter_crop_in_the_year_after_know_when_it_was_begun():
    """Planted on day 290, dug from day 365 + 180 on, and done by day 365 + 200."""
    planned = PlannedBeds(
        season="winter", beds=frozenset(("A1",)), ahead=None, behind=None,
        from_day=290, harvest_day=545, to_day=565, is_dated=True,
    )  # fmt: skip
    row = CropOnBeds(SEED, BedSet("", (("A1",),)), (0,), planned)
    begun = {job.kind: job.begun for job in dated(row, planned)}
    assert begun["sow"] is None
    assert begun["begin_to_pick"] == begun["last_days"] == 290
