"""Which bed gets which crop, on cases small enough to be solved on paper."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fieldmap.decide.calendar.shade_need import Need
from fieldmap.decide.crop_plan import (
    assign_beds,
    growing_windows,
    milp,
    shortfall,
    solve,
)
from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.cover_stock import CoverStock
from fieldmap.decide.crop_plan.demand import Candidates, Claim, Demand, Placement
from fieldmap.decide.crop_plan.growing_windows import CropOnClass, OwnDays, UsualYear
from fieldmap.decide.crop_plan.milp import Allocation, Option, Use
from fieldmap.decide.crop_plan.model import CoverUse, GrowingWindow, Stay
from fieldmap.decide.crop_plan.sowings import Farm
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH
from fieldmap.model.settings import Cover, CropChoice, Materials
from fieldmap.model.site import Stood
from fieldmap.read.crops import packaged_crops
from layers.sunlight import MOL_PER_MJ

NEVER = float("inf")


# ------------------------------------------------------------------ the solver
def best(options, beds, demands, limits=None):
    return milp.best(Allocation(options, beds, demands, limits or {}), 0.0).tolist()


def option(weeks, first=4.0, then=0.0, uses=(), bed_class=0, demand=0):
    return Option(bed_class, demand, weeks, first, then, uses)


@pytest.mark.parametrize(
    ("second", "taken"), [((2, 4), [0, 1]), ((3, 4), [1, 1]), ((0, 0), [0, 1])]
)
def test_a_bed_bears_two_crops_only_where_no_week_holds_both(second, taken):
    options = [option((0, 2)), option(second, then=1.0, demand=1)]
    assert best(options, [1], [1, 1]) == taken


def test_what_counts_in_the_first_place_is_not_given_up_for_the_rest():
    options = [option((0, 2), first=4.0), option((0, 2), 1.0, 900.0, demand=1)]
    assert best(options, [1], [1, 1]) == [1, 0]
    # Where that is equal the rest decides.
    options = [option((0, 2), then=8.0), option((0, 2), then=9.0, demand=1)]
    assert best(options, [1], [1, 1]) == [0, 1]


def test_a_search_that_is_given_up_early_costs_no_bed_on_a_farm_of_a_hundred():
    """The least that counts in the first place is a quarter, for a tunnel's own crop."""
    least = min(solve.PLACED_AGAIN, -solve.SAME_FAMILY, solve.TUNNEL_CLAIM)
    of_a_hundred = 100 * solve.PLACED
    assert least > milp.FIRST_GAP * of_a_hundred


def test_the_rest_decides_among_those_that_are_best_in_the_first_place():
    options = [
        option((0, 2), 4.0, 1.0),
        option((0, 2), 4.0, 2.0, demand=1),
        option((0, 2), 4.0, 1.5, demand=2),
        option((0, 2), 1.0, 900.0, demand=3),
    ]
    for turned in (options, options[:3][::-1] + options[3:]):
        at = turned.index(options[1])
        assert best(turned, [1], [1] * 4) == [int(each == at) for each in range(4)]


def test_no_more_beds_than_wanted_and_no_more_than_there_are():
    assert best([option((0, 2))], [5], [3]) == [3]
    assert best([option((0, 2))], [2], [3]) == [2]
    # One demand on two classes: all of the better, the rest of the other.
    options = [option((0, 2), then=1.0), option((0, 2), then=2.0, bed_class=1)]
    assert best(options, [5, 2], [3]) == [1, 2]


@pytest.mark.parametrize(("limit", "taken"), [(5.0, 2), (4.99, 1), (2.49, 0)])
def test_what_is_scarce_may_be_used_up_and_not_more(limit, taken):
    """Each takes 2.5 m."""
    uses = (Use("cloth", (0, 2), 2.5),)
    assert best([option((0, 2), uses=uses)], [3], [3], {"cloth": limit}) == [taken]


def test_what_is_used_already_is_not_there_to_be_shared_out():
    """Of 5 m 3 are out in week 1: none of 2.5 m is left for it; more than all is none."""
    uses = (Use("cloth", (0, 2), 2.5),)
    for taken, found in (([0.0, 3.0, 0.0], 0), ([0.0, 2.5, 0.0], 1), ([9.0] * 3, 0)):
        asked = Allocation(
            [option((0, 2), uses=uses)], [3], [3], {"cloth": 5.0}, {"cloth": taken}
        )
        assert milp.best(asked, 0.0).tolist() == [found]


def test_two_uses_of_one_thing_add_up_in_the_weeks_they_share():
    both = (Use("cloth", (0, 1), 2.0), Use("cloth", (1, 2), 2.0))
    assert best([option((0, 2), uses=both)], [1], [1], {"cloth": 4.0}) == [1]
    assert best([option((0, 2), uses=both)], [1], [1], {"cloth": 3.9}) == [0]
    # One after the other they do not.
    apart = (Use("cloth", (0, 1), 2.0), Use("cloth", (2, 2), 2.0))
    assert best([option((0, 2), uses=apart)], [1], [1], {"cloth": 2.0}) == [1]
    # What no limit names is not scarce.
    assert best([option((0, 2), uses=both)], [1], [1], {"hands": 0.0}) == [1]


def test_the_rows_of_no_more_than_are_counted_by_week():
    """Options of weeks 0-1 and 1-2 on two beds; cloth of the second in week 2 alone.

    The demands ask for 1 and 3. Weeks 0, 1 and 2 of the beds; week 2 of cloth: six rows.
    """
    uses = (Use("cloth", (2, 2), 2.5),)
    asked = Allocation(
        [option((0, 1)), option((1, 2), uses=uses, demand=1)],
        [2],
        [1, 3],
        {"cloth": 9.0},
    )
    rows, limits = milp._limits(asked)
    found = sorted(
        (*row, limit) for row, limit in zip(rows.toarray(), limits, strict=True)
    )
    assert found == [
        (0.0, 1.0, 2.0),
        (0.0, 1.0, 3.0),
        (0.0, 2.5, 9.0),
        (1.0, 0.0, 1.0),
        (1.0, 0.0, 2.0),
        (1.0, 1.0, 2.0),
    ]


def test_a_second_search_that_loses_what_the_first_found_is_not_followed(monkeypatch):
    options = [option((0, 2), first=4.0), option((0, 2), 1.0, 9.0, demand=1)]
    asked = Allocation(options, [1], [1, 1], {})
    answers = iter([np.array([1, 0]), np.array([0, 1])])
    monkeypatch.setattr(milp, "_solved", lambda *_: next(answers))
    assert milp.best(asked, 0.0).tolist() == [1, 0]


# ------------------------------------------------------------------ made-up choices
def crop(name, family="X"):
    value = None if family is None else SimpleNamespace(value=family)
    return SimpleNamespace(name=name, family=value, autumn_soil_c=None)


def demand(name="pepper", family="X", season="summer", beds=1, again=False, number=0):
    return Demand(number, crop(name, family), season, beds, again)


def bed_class(*beds, length_m=20.0, width_m=0.75, early=100.0, late=300.0, families=()):
    return BedClass(
        beds=beds,
        length_m=length_m,
        width_m=width_m,
        early=np.array([[early]]),
        late=np.array([[late]]),
        slackens=np.array([[np.nan]]),
        grows_until=np.array([NEVER]),
        light_mj_m2_day=(10.0,) * 12,
        families=frozenset(families),
    )


def placement(first_week, last_week, of=0, on=0, covers=(), days=0.0, same=""):
    """In whole weeks: week 10 has days 71 to 77."""
    from_day, to_day = 7 * first_week + 1, 7 * last_week + 7
    window = GrowingWindow("summer", from_day, to_day, to_day, tuple(covers))
    return Placement(of, on, window, days, same)


def assigned(classes, demands, placements, counts):
    """(bed, place of the placement) pairs, by bed and week."""
    found = assign_beds.beds(np.array(counts), Candidates(classes, demands, placements))
    pairs = [(bed, placements.index(each)) for bed, each in found]
    return sorted(pairs)


X, Y, UNKNOWN = demand(), demand("spinach", "Y"), demand("weed", None)


# ------------------------------------------------------------------ beds of a class
def test_a_crop_of_the_same_family_goes_to_a_bed_that_bore_nothing():
    here = [placement(10, 20), placement(21, 30, 1)]
    two_beds = [bed_class(0, 1)]
    assert assigned(two_beds, [X, demand("tomato")], here, [1, 1]) == [(0, 0), (1, 1)]


@pytest.mark.parametrize("later", [Y, UNKNOWN])
def test_another_family_follows_on_the_bed_that_was_free_for_the_shortest_time(later):
    here = [placement(10, 20), placement(21, 30, 1)]
    assert assigned([bed_class(0, 1)], [X, later], here, [1, 1]) == [(0, 0), (0, 1)]


def test_families_that_are_not_known_do_not_follow_each_other():
    here = [placement(10, 20), placement(21, 30, 1)]
    found = assigned([bed_class(0, 1)], [UNKNOWN, UNKNOWN], here, [1, 1])
    assert found == [(0, 0), (0, 1)]


def test_a_week_that_both_hold_asks_for_another_bed():
    here = [placement(10, 20), placement(20, 30, 1)]
    assert assigned([bed_class(0, 1)], [X, Y], here, [1, 1]) == [(0, 0), (1, 1)]


def test_a_placement_that_is_taken_twice_gets_two_beds():
    assert assigned([bed_class(3, 7)], [X], [placement(10, 20)], [2]) == [
        (3, 0),
        (7, 0),
    ]


def test_a_bed_that_bore_nothing_is_left_for_whoever_cannot_follow_its_own_family():
    """Before any crop is moved: Y after X, then X again, on two beds."""
    candidates = Candidates([bed_class(0, 1)], [X, Y], [])
    first, other, again = placement(10, 20), placement(21, 30, 1), placement(31, 40)
    found = assign_beds._one_class([again, other, first], (0, 1), candidates)
    # Y goes where X stood; X goes after Y, which was free for a shorter time.
    assert [(bed, each) for bed, each in found] == [(0, first), (0, other), (0, again)]
    same = [first, placement(21, 30)]
    found = assign_beds._one_class(same, (0, 1), candidates)
    assert [bed for bed, _ in found] == [0, 1]


def test_what_comes_later_is_not_followed():
    candidates = Candidates([bed_class(0)], [X, Y], [])
    early, middle, late = placement(10, 20), placement(21, 30, 1), placement(31, 40)
    assert not assign_beds._follows(early, [late], candidates)
    assert assign_beds._follows(late, [early], candidates)
    # What came right before counts, in whatever order it is listed.
    assert not assign_beds._follows(late, [middle, early], candidates)
    assert not assign_beds._follows(late, [early, middle], candidates)
    assert not assign_beds._follows(late, [], candidates)


# ------------------------------------------------------------------ moves
def moved(later, others, *classes, demands=(X, X), counts=None):
    """What stands where, after X in weeks 10-20 of bed 0 and another X right after."""
    places = [placement(10, 20), later, *others]
    taken = counts or [1, 1, *[0] * len(others)]
    return assigned([bed_class(0), *classes], list(demands), places, taken)


LATER = placement(21, 30, 1)
STAYS = [(0, 0), (0, 1)]


def test_the_later_crop_moves_to_a_bed_that_is_free_for_it():
    assert moved(LATER, [placement(21, 30, 1, 1)], bed_class(1)) == [(0, 0), (1, 2)]


def test_of_two_free_beds_the_one_that_wins_most_days_is_taken():
    others = [placement(21, 30, 1, 1, days=2.0), placement(21, 30, 1, 2, days=3.0)]
    found = moved(LATER, others, bed_class(1), bed_class(2))
    assert found == [(0, 0), (2, 3)]


def test_it_moves_to_the_next_best_bed_where_the_best_asks_for_a_cover():
    covered = placement(21, 30, 1, 1, FILM, days=3.0)
    bare = placement(21, 30, 1, 2, days=2.0)
    found = moved(LATER, [covered, bare], bed_class(1), bed_class(2))
    assert found == [(0, 0), (2, 3)]


def test_it_does_not_move_to_where_its_family_stood_last_year():
    other = placement(21, 30, 1, 1, same="X")
    assert moved(LATER, [other], bed_class(1, families="X")) == STAYS
    # Unless it did so on its own bed too.
    poor = LATER._replace(same_family="X")
    assert moved(poor, [other], bed_class(1, families="X")) == [(0, 0), (1, 2)]


@pytest.mark.parametrize(
    ("weeks", "goes"),
    [((5, 20), True), ((5, 21), False), ((30, 40), False), ((31, 40), True)],
)
def test_it_does_not_move_to_a_bed_that_is_taken(weeks, goes):
    others = [placement(21, 30, 1, 1), placement(*weeks, 2, 1)]
    found = moved(LATER, others, bed_class(1), demands=(X, X, Y), counts=[1, 1, 0, 1])
    assert ((1, 2) in found) == goes


@pytest.mark.parametrize("weeks", [(5, 20), (31, 40)])
def test_it_does_not_move_to_where_its_family_would_follow_itself_again(weeks):
    others = [placement(21, 30, 1, 1), placement(*weeks, 2, 1)]
    found = moved(LATER, others, bed_class(1), demands=(X, X, X), counts=[1, 1, 0, 1])
    assert (0, 1) in found


FILM = (CoverUse("clear_film", 150, 170, 9.0),)


@pytest.mark.parametrize(
    ("length_m", "width_m", "covers", "goes"),
    [
        (20.0, 0.75, FILM, True),
        (19.0, 0.75, FILM, True),
        (20.1, 0.75, FILM, False),
        (20.0, 0.8, FILM, False),
        (20.0, 0.75, (), False),
    ],
)
def test_a_covered_crop_moves_only_under_the_same_cover_over_no_larger_bed(
    length_m, width_m, covers, goes
):
    other = placement(21, 30, 1, 1, covers)
    larger = bed_class(1, length_m=length_m, width_m=width_m)
    found = moved(
        LATER._replace(window=placement(21, 30, 1, 0, FILM).window), [other], larger
    )
    assert ((1, 2) in found) == goes


def test_a_bare_crop_may_move_to_a_larger_bed():
    larger = bed_class(1, length_m=90.0, width_m=1.5)
    assert moved(LATER, [placement(21, 30, 1, 1)], larger) == [(0, 0), (1, 2)]


def test_another_family_between_two_of_one_breaks_the_chain():
    three = [placement(10, 20), placement(21, 30, 1), placement(31, 40, 2)]
    free = placement(31, 40, 2, 1)
    found = assigned(
        [bed_class(0), bed_class(1)], [X, Y, X], [*three, free], [1, 1, 1, 0]
    )
    assert found == [(0, 0), (0, 1), (0, 2)]


def test_weeks_are_bits():
    # Weeks 1, 2 and 3: 2 + 4 + 8.
    assert assign_beds._weeks(placement(1, 3)) == 14
    assert assign_beds._weeks(placement(0, 0)) == 1


# ------------------------------------------------------------------ over New Year
def garlic(of=0, on=0):
    """From week 43 to day 238 of the year after, 26 August: weeks 0 to 33, 53 to 86."""
    window = GrowingWindow("winter", 302, 365 + 217, 365 + 238, ())
    return Placement(of, on, window, 0.0, "")


def test_weeks_of_the_year_after_are_those_of_this_one_again():
    assert garlic().window.held == (43, 53 + 33)
    ten_bits = (1 << 10) - 1  # weeks 43 to 52
    assert assign_beds._weeks(garlic()) == (ten_bits << 43) + (1 << 34) - 1


def test_what_stands_over_new_year_goes_where_no_spring_crop_is_wanted():
    """Both are free in autumn; the bed with kale in week 11 was free for a shorter time."""
    here = [placement(11, 31, 1), garlic()]
    two_beds = [bed_class(0, 1)]
    assert assigned(two_beds, [X, Y], here, [1, 1]) == [(0, 0), (1, 1)]
    # Also where its bed is wanted in autumn: kale follows kale then.
    again = [*here, placement(33, 51, 1)]
    found = assigned(two_beds, [X, Y], again, [1, 1, 1])
    assert found == [(0, 0), (0, 2), (1, 1)]
    # A crop that comes once it is done leaves it room: 26 August lies in week 33.
    late = [placement(34, 42, 1), garlic()]
    assert assigned(two_beds, [X, Y], late, [1, 1]) == [(1, 0), (1, 1)]
    # One that meets its end, or its beginning in week 43, goes elsewhere.
    for weeks in ((33, 42), (34, 43), (34, 45)):
        meets = [placement(*weeks, 1), garlic()]
        assert assigned(two_beds, [X, Y], meets, [1, 1]) == [(0, 0), (1, 1)]


def test_what_stands_into_the_first_week_of_the_year_leaves_that_week_to_no_other():
    """Kale of weeks 0 to 10, and a crop from week 43 to day 7 of the year after."""
    window = GrowingWindow("winter", 302, 370, 365 + 7, ())
    here = [placement(0, 10, 1), Placement(0, 0, window, 0.0, "")]
    found = assigned([bed_class(0, 1)], [X, Y], here, [1, 1])
    assert found == [(0, 0), (1, 1)]


def test_where_a_ring_of_weeks_does_not_close_the_plan_of_this_year_holds():
    """Two beds: 0 to 20, 15 to 45 and garlic from 43 meet in pairs, all three on two beds.

    No week holds three, yet garlic meets both, so one of them shares its bed with it.
    """
    three = [placement(0, 20), placement(15, 41), garlic(1)]
    found = assigned([bed_class(0, 1)], [X, Y], three, [1, 1, 1])
    assert sorted(which for _bed, which in found) == [0, 1, 2]


def test_a_plan_that_is_closed_round_the_year_gives_garlic_its_bed_until_it_is_done():
    """Garlic of weeks 43 to 33 meets 23 to 38 in spring and 36 to 52 in autumn.

    These two meet in weeks 36 to 38. No week holds all three, and no two share a bed: two
    beds bear two of them, and the one that counts least is left out.
    """
    spans = (43, 86), (23, 38), (36, 52)
    options = [
        option(weeks, first=worth, demand=at)
        for at, (weeks, worth) in enumerate(zip(spans, (4.0, 4.0, 1.0), strict=True))
    ]
    asked = Allocation(options, [2], [1, 1, 1], {})
    assert milp.best(asked, 0.0).tolist() == [1, 1, 1]
    closed = replace(asked, is_closed=True)
    assert milp.best(closed, 0.0).tolist() == [1, 1, 0]
    assert milp.best(replace(closed, beds=[3]), 0.0).tolist() == [1, 1, 1]
    # What ends in week 35 leaves the autumn its bed, and on another class nothing meets.
    for fits in ({"weeks": (23, 35)}, {"bed_class": 1}):
        options[1] = option(**{"weeks": (23, 38), "demand": 1} | fits)
        apart = replace(closed, options=options, beds=[2, 1])
        assert milp.best(apart, 0.0).tolist() == [1, 1, 1]


def test_what_fits_between_two_winters_leaves_the_other_beds_to_what_does_not():
    """Three beds: 25 to 41 fits beside what stands from week 42 to week 14.

    The others are free by then for two of weeks 39 to 52, which fit nowhere else.
    """
    winter = Placement(0, 0, GrowingWindow("winter", 295, 400, 365 + 99, ()), 0.0, "")
    assert winter.window.held == (42, 67)
    here = [placement(3, 17), placement(7, 21), placement(25, 41), placement(39, 52)]
    candidates = Candidates([bed_class(0, 1, 2)], [UNKNOWN], [winter, *here])
    counts = np.array([1, 1, 1, 1, 2])
    assert assign_beds.keeps_beds(counts, candidates)
    found = assign_beds.beds(counts, candidates)
    (alone,) = [bed for bed, each in found if each is winter]
    assert [bed for bed, each in found if each is here[2]] == [alone]
    # A third crop for spring would stand on the bed of what is there until week 14.
    more = Candidates(candidates.classes, [UNKNOWN], [*candidates.placements, here[0]])
    assert not assign_beds.keeps_beds(np.append(counts, 1), more)


def test_one_bed_bears_either_garlic_or_what_stands_there_in_spring():
    """Kale in weeks 11 to 31 and garlic meet; lettuce in weeks 34 to 42 fits beside it."""

    def taken(first, last):
        options = [
            milp.Option(0, 0, (43, 86), 2.0, 1.0),
            milp.Option(0, 1, (first, last), 1.0, 1.0),
        ]
        return milp.best(milp.Allocation(options, [1], [1, 1], {}), 0.0).tolist()

    assert taken(11, 31) == [1, 0]
    assert taken(34, 42) == [1, 1]
    assert taken(33, 42) == [1, 0]


# ------------------------------------------------------------------ what a place is worth
NO_STOCK = CoverStock(
    (), Materials(), {"clear_film": {}}, {"clear_film": (False,) * 53}, None
)


@pytest.mark.parametrize(
    ("again", "same", "first"),
    [(False, "", 4.0), (True, "", 1.0), (False, "X", 3.5), (True, "X", 0.5)],
)
def test_a_bed_for_a_wanted_crop_counts_four_and_one_for_a_second_sowing_one(
    again, same, first
):
    """Half a bed less where the family of last year would stand again."""
    candidates = Candidates([bed_class(0)], [demand(again=again)], [])
    found = solve._option(placement(10, 20, same=same), candidates, NO_STOCK, 25.0)
    assert found.first == first
    assert (found.bed_class, found.demand, found.weeks) == (0, 0, (10, 20))


def test_days_count_for_each_metre_of_bed_and_covers_cost_a_little_for_each_week():
    """Film in weeks 10-11 and 13-15: 18 days won, five weeks at 0.001 of a day.

    18 - 0.005 days on 20 m, and 3 days less two places of 0.0001 on the usual 25 m:
    359.9 + 74.995.
    """
    covers = (
        CoverUse("clear_film", 71, 84, 10.0),
        CoverUse("clear_film", 92, 112, 8.0),
    )
    candidates = Candidates([bed_class(0), bed_class(1), bed_class(2)], [demand()], [])
    here = placement(10, 20, 0, 2, covers, days=3.0)
    found = solve._option(here, candidates, NO_STOCK, 25.0)
    assert found.then == pytest.approx(434.895)


def test_a_placement_that_alone_asks_for_too_much_is_not_asked_about():
    """22.5 m of film over 20 m of bed: owned to the centimetre, or a centimetre less."""
    uses = (CoverUse("clear_film", 71, 84, 10.0),)
    candidates = Candidates(
        [bed_class(0)], [demand()], [placement(10, 20), placement(10, 20, covers=uses)]
    )
    for owned_m, counts in ((22.5, [0, 1]), (22.49, [1, 0])):
        film = Cover(kind="clear_film", width_m=3.0, length_m=owned_m)
        stock = CoverStock(
            (film,),
            Materials(),
            {"clear_film": {1.0: owned_m}},
            {"clear_film": (False,) * 53},
            None,
        )
        assert solve._counts(candidates, stock, milp.best).tolist() == counts


@pytest.mark.parametrize(
    ("season", "early", "days"),
    [
        ("spring", 100.0, -100.0),
        ("summer", 100.0, 199.0),
        ("autumn", 100.0, 299.0),
        # Never is as late as the end of the year.
        ("spring", NEVER, -365.0),
        ("summer", NEVER, -66.0),
        ("autumn", NEVER, 299.0),
    ],
)
def test_beds_are_compared_by_the_days_that_count_in_their_season(season, early, days):
    # Bare, and not under the cover that has other dates.
    beds = bed_class(0)._replace(
        early=np.array([[early, 10.0]]), late=np.array([[300.0, 350.0]])
    )
    where = CropOnClass(crop("x"), 0, beds, OwnDays(np.full(366, 40.0)), [], None)
    assert where.bare_days(season) == days


def test_families_of_last_year_by_bed_however_it_is_written():
    beds = [
        SimpleNamespace(bed=SimpleNamespace(name=name)) for name in ("A1", "A2", "Ab1")
    ]
    stood = [
        Stood("a1", "tomato", "Solanaceae"),
        Stood("A1", "kale", "Brassicaceae"),
        Stood("AB1", "weed", None),
        Stood("Z9", "kale", "Brassicaceae"),
    ]
    assert solve._families(stood, beds) == {
        "A1": frozenset({"Solanaceae", "Brassicaceae"}),
        "A2": frozenset(),
        "Ab1": frozenset(),
    }


@pytest.mark.parametrize(
    ("need", "found"),
    [
        (Need(Fact("x"), "shade_30", (6, 8)), ("shade_30", (6, 8))),
        (Need(Fact("x"), None, None), None),
        (Need(Fact("x"), "shade_30", None), None),
    ],
)
def test_cloth_is_hung_where_it_is_wanted(monkeypatch, need, found):
    asked = {}

    def answer(*given, **named):
        asked.update(named, owned=given[3])
        return need

    monkeypatch.setattr(growing_windows.shade_need, "need", answer)
    year = SimpleNamespace(tmax_c=pd.Series(dtype=float), season=None)
    crop, owned = demand().crop, ["light_fabric", "shade_30"]
    cloth = growing_windows.shade_cloth(crop, bed_class(0), year, ["a"], owned)
    assert cloth == found
    assert (asked["allowed"], asked["owned"]) == (["a"], ["shade_30"])
    under_line = bed_class(0)._replace(may_have_hoops=False)
    assert growing_windows.shade_cloth(crop, under_line, year, ["a"], owned) is None


# ------------------------------------------------------------------ why too few
def short(demands, placements, counts, classes=None, hands=None):
    candidates = Candidates(classes or [bed_class(0)], demands, placements)
    return list(shortfall.short(np.array(counts), candidates, hands))


def test_a_crop_that_got_what_it_wants_is_not_short():
    two = demand(beds=2)
    assert short([two], [placement(10, 20)], [2]) == []
    assert short([two], [placement(10, 20)] * 2, [1, 1]) == []
    (said,) = short([two], [placement(10, 20)], [1])
    assert said == Fact(
        "crop_short", crop="pepper", got=1, number=2, why=Fact("no_bed_free")
    )


def test_a_crop_that_is_short_is_said_after_one_that_is_not():
    (said,) = short([demand(), demand("kale")], [placement(10, 20)], [1])
    assert said["crop"] == "kale"


def test_a_crop_for_autumn_is_named_so():
    (said,) = short([demand(season="autumn")], [placement(10, 20)], [0])
    assert said["crop"] == Fact("crop_for_autumn", crop="pepper")


def test_a_second_sowing_that_cannot_be_is_not_missed():
    again = demand(again=True, season="autumn")
    assert short([again], [], []) == []
    assert len(short([again], [placement(10, 20)], [0])) == 1


def test_what_ripens_under_cover_alone_is_short_of_cover_or_hands():
    fabric = (CoverUse("light_fabric", 71, 80, 9.0),)
    both = [placement(10, 20, covers=FILM), placement(10, 20, covers=fabric + FILM)]
    (said,) = short([demand()], both, [0, 0])
    kinds = ("clear_film", "light_fabric")
    assert said["why"] == Fact("no_cover_free", covers=kinds)
    (said,) = short([demand()], both, [0, 0], hands=0.0)
    assert said["why"] == Fact("no_cover_or_hands_free", covers=kinds)
    # Another crop's bare window says nothing of this one.
    (said, _) = short(
        [demand(), demand("kale")], [*both, placement(10, 20, 1)], [0, 0, 0]
    )
    assert said["why"].kind == "no_cover_free"


@pytest.mark.parametrize(
    ("dates", "why"),
    [
        # From day 200 to the day before 231.
        ([(199.2, 230.6)], Fact("too_few_days", number=30)),
        # What is not known on one bed is asked of the others, and is never "never".
        ([(np.nan, np.nan), (199.2, 230.6)], Fact("too_few_days", number=30)),
        ([(np.nan, np.nan)], Fact("dates_of_crop_not_known")),
        ([(np.nan, np.nan), (np.inf, 200.0)], Fact("never_warm_enough")),
        # Those of one bed: 19 days on the first, 20 on the second.
        ([(200, 220), (210, 231)], Fact("too_few_days", number=20)),
        ([(200, NEVER)], Fact("too_few_days", number=165)),
        ([(200, 180)], Fact("too_few_days", number=0)),
        ([(NEVER, 300)], Fact("never_warm_enough")),
        ([(NEVER, 300), (200, 231)], Fact("too_few_days", number=30)),
    ],
)
def test_a_crop_without_a_window_has_too_few_days(dates, why):
    classes = [bed_class(0, early=early, late=late) for early, late in dates]
    (said,) = short([demand()], [], [], classes)
    assert said["why"] == why


def test_the_days_that_are_too_few_are_those_under_the_best_cover():
    """Out from day 190 under one, and until the day before 240: 49 days."""
    covered = bed_class(0)._replace(
        early=np.array([[200.0, 190.0]]), late=np.array([[220.0, 240.0]])
    )
    (said,) = short([demand()], [], [], [covered])
    assert said["why"] == Fact("too_few_days", number=49)


@pytest.mark.parametrize(
    ("season", "outdoors", "why"),
    [
        # 30 days in the tunnel would be no less than 20 outdoors.
        ("summer", (200, 221), Fact("too_few_days", number=20)),
        ("summer", (NEVER, 300), Fact("never_warm_enough")),
        ("winter", (100, 330), Fact("winter_kills")),
    ],
)
def test_days_in_a_tunnel_say_nothing_of_a_crop_that_never_grows_there(
    season, outdoors, why
):
    early, late = outdoors
    outside = bed_class(0, early=early, late=late)
    tunnel = bed_class(1, early=100, late=NEVER)._replace(in_tunnel=True)
    wanted = demand(season=season)._replace(claim=Claim.NONE)
    (said,) = short([wanted], [], [], [outside, tunnel])
    assert said["why"] == why
    (said,) = short([wanted], [], [], [tunnel])
    assert said["why"] == Fact("no_bed_free")


def stay(bed, name, from_day, same=""):
    return Stay("summer", from_day, from_day, from_day + 9, (), bed, name, 0.0, same)


def test_what_was_taken_for_granted_is_said():
    again = demand("spinach", again=True, season="autumn")
    lost = demand("kale", again=True, season="autumn")
    candidates = Candidates([], [demand(), again, lost], [placement(1, 2, 1)])
    choices = [CropChoice(name="pepper"), CropChoice(name="kale", beds=1)]
    bean = SimpleNamespace(crop=crop("bean"), is_again=False)
    asked = [bean, SimpleNamespace(crop=crop("bean"), is_again=True)]
    assert list(shortfall.assumptions(candidates, choices, asked)) == [
        Fact("crop_plan_caution"),
        Fact("second_sowings", crops=["spinach", "bean"]),
        Fact("crops_without_amount", crops=["pepper"]),
    ]
    nothing = Candidates([], [demand()], [placement(1, 2)])
    assert list(shortfall.assumptions(nothing, choices[1:], asked[:1])) == [
        Fact("crop_plan_caution")
    ]


def test_families_that_stand_again_or_follow_themselves_are_said():
    crops = [
        crop("pepper", "X"),
        crop("tomato", "X"),
        crop("spinach", "Y"),
        crop("weed", None),
    ]
    stays = [
        stay("A1", "pepper", 10, "X"),
        stay("A1", "tomato", 30),
        stay("A2", "tomato", 10, "X"),
        stay("A3", "pepper", 10, "X"),
        stay("A3", "spinach", 30),
        stay("A3", "weed", 50),
        stay("A3", "weed", 70),
        stay("A4", "weed", 10),
    ]
    stood = [Stood("A9", "mystery", None), Stood("A8", "mystery", None)]
    assert list(shortfall.families(stays, crops, stood)) == [
        Fact("same_family_again", crop="pepper", family="X", beds=["A1", "A3"]),
        Fact("same_family_again", crop="tomato", family="X", beds=["A2"]),
        Fact("families_unknown", crops=["mystery"]),
        Fact("family_follows_itself", after="tomato", before="pepper", beds=["A1"]),
    ]
    assert list(shortfall.families([], crops, [Stood("A1", "kale", "Y")])) == []


def test_why_nothing_can_be_planned():
    wanted, beds = [CropChoice(name="pepper")], [object()]

    def dates(early, late, *, known=True):
        shape = (3, 1, 2, 1)
        first, last = np.empty(shape), np.empty(shape)
        first[:], last[:] = np.array(early)[:, None], np.array(late)[:, None]
        return SimpleNamespace(early=first, late=last, known=known)

    whole = dates([100, 100], [300, 300])
    assert shortfall.why_empty(wanted, beds, whole) is None
    assert shortfall.why_empty([], beds, whole).kind == "no_crops_named"
    assert shortfall.why_empty(wanted, [], whole).kind == "no_beds_for_crops"
    unknown = dates([100, 100], [300, 300], known=False)
    assert shortfall.why_empty(wanted, beds, unknown).kind == "no_dates_for_crops"
    # A bed counts only where every date of it is known.
    for half in (dates([np.nan, 100], [300, 300]), dates([100, 100], [300, np.nan])):
        assert shortfall.why_empty(wanted, beds, half).kind == "no_bed_dates_for_crops"
    # The central estimate alone is asked for.
    outer = dates([100, 100], [300, 300])
    outer.early[0] = outer.late[2] = np.nan
    assert shortfall.why_empty(wanted, beds, outer) is None


# ------------------------------------------------------------------ every placement
def test_a_place_is_worth_the_days_it_wins_over_the_worst():
    """Tomatoes out on day 130 or 110, both until day 270: 140 and 160 days.

    At 15 °C all year, 5 over their base, a day is as warm as any of the place.

    Light is what they like best, and no day is hot.
    """
    tomato = packaged_crops()["tomato"]
    mj = tomato.best_light_mol.low / MOL_PER_MJ
    film = {"early": np.array([[130.0, 120.0]]), "late": np.array([[271.0, 271.0]])}
    warm = {"early": np.array([[110.0, 110.0]]), "late": np.array([[271.0, 271.0]])}
    classes = [
        bed_class(0, families=("Solanaceae",))._replace(
            light_mj_m2_day=(mj,) * 12, **film
        ),
        bed_class(1)._replace(light_mj_m2_day=(mj,) * 12, **warm),
    ]
    days = pd.Series(15.0, index=pd.date_range("2025-01-01", "2025-12-31"))
    year = UsualYear(days, np.full(365, 15.0), NORTH)
    dates = SimpleNamespace(covers=("none", "clear_film"))
    wishes = [Demand(0, tomato, "summer", 2, False)]

    def found(allowed):
        choice = CropChoice(name="tomato", covers=allowed)
        made = Farm((), classes, dates, year, NO_STOCK, (choice,))
        return [
            (each.bed_class, each.window.from_day, each.place_days, each.same_family)
            for each in solve._placements(wishes, made, {}, 6)
        ]

    bare = [(0, 130, 0.0, "Solanaceae"), (1, 110, 20.0, "")]
    covered = (0, 120, 0.0, "Solanaceae")
    assert found(None) == [bare[0], covered, bare[1]]
    assert found(["clear_film"]) == [bare[0], covered, bare[1]]
    assert found(["light_fabric"]) == bare
    assert found([]) == bare
    # What stands outdoors alone passes over a class inside a tunnel, and takes the next.
    classes[0] = classes[0]._replace(in_tunnel=True)
    assert {number for number, *_ in found([])} == {0, 1}
    wishes[0] = wishes[0]._replace(claim=Claim.NONE)
    assert found([]) == [(1, 110, 0.0, "")]
