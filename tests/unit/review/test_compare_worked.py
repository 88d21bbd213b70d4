"""Places side by side, on two plots of two beds whose sums fit on a slip of paper."""

from pathlib import Path
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up_crops import crop
from shapely.geometry import box

from fieldmap.decide.layout.beds import Bed
from fieldmap.errors import PlanError
from fieldmap.model.estimate import Estimate
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import PUDDLES
from fieldmap.review import candidate, compare
from fieldmap.review.compare import ALIKE, BETTER, WORSE

DECEMBER, JULY, JUNE, JANUARY = 11, 6, 5, 0


def bed(name, plot, west_m, length_m, *, sun, slope, water):
    """A bed of 1 m across, with its light of midwinter and of midsummer."""
    months = [5.0] * 12
    for month, value in sun.items():
        months[month] = value
    return SimpleNamespace(
        bed=Bed(name, plot, box(west_m, 0, west_m + length_m, 1), length_m, 1.0, 90.0),
        light=SimpleNamespace(sun_mj_m2_day=tuple(months)),
        slope_percent=slope,
        water_share=water,
    )


# High has a bed of 10 m and one of 30; Low one of 20 m and one of 20.
BEDS = (
    bed("A1", "High", 0, 10, sun={DECEMBER: 2, JULY: 20, JUNE: 19, JANUARY: 3}, slope=1.0, water=0.5),
    bed("A2", "High", 20, 30, sun={DECEMBER: 4, JULY: 22, JUNE: 21, JANUARY: 5}, slope=3.0, water=0.0),
    bed("B1", "Low", 100, 20, sun={DECEMBER: 1, JULY: 10, JUNE: 9, JANUARY: 2}, slope=8.0, water=1.0),
    bed("B2", "Low", 200, 20, sun={DECEMBER: 1, JULY: 12, JUNE: 9, JANUARY: 2}, slope=9.0, water=0.5),
)  # fmt: skip


def draws(*days):
    """Days of beds that are the same in all of eleven draws."""
    return np.repeat(np.array(days, float)[:, np.newaxis], 11, axis=1)


def dates(early=(100, 110, 130, 120), late=(300, 290, 280, 270), **more):
    crops = (crop("tomato"), crop("pea", "hardy"), crop("kale", "hardy"))
    grid = np.zeros((3, 3, 2, 4))
    grid[:, 1, 0] = [[50, 52, 60, 62], [60, 62, 70, 72], [70, 72, 80, 82]]
    grid[:, 2, 0] = 90.0
    return SimpleNamespace(
        **{
            "known": True,
            "crops": crops,
            "early": grid,
            "early_draws": draws(*early),
            "late_draws": draws(*late),
            "reference_crop": "tomato",
        }
        | more
    )


def place(plot, length_m, width_m):
    size = SimpleNamespace(length_m=length_m, width_m=width_m)
    return SimpleNamespace(plot=plot, size=size)


def low_tunnel(name, hoops, cover_m):
    return SimpleNamespace(bed=name, hoops=hoops, cover_length_m=cover_m)


def plan(dated=None, wet=(None, None), season=NORTH, name="Hill", seen=None, **more):
    plots = gpd.GeoDataFrame(
        {"name": ["High", "Low"], "wet_in_march": list(wet), "first_worked": None},
        geometry=[box(0, 0, 60, 10), box(100, 0, 230, 10)],
    )
    site = SimpleNamespace(
        plots=plots,
        season=season,
        seen=seen or (lambda *_what: shapely.Polygon()),
        settings=SimpleNamespace(name=name),
        folder=Path("/somewhere/hill"),
        alternatives=(),
    )
    return SimpleNamespace(
        **{
            "site": site,
            "beds": BEDS,
            "dates": dated or dates(),
            "means": SimpleNamespace(
                is_flow_known=True,
                cold_air_m=np.array([0.5, 1.5, 3.0, 2.0]),
                wind_share=np.array([[0.2, 0.4, 0.6, 1.0], [9] * 4, [9] * 4]),
            ),
            "analysis": SimpleNamespace(light=SimpleNamespace(sky="clear sky")),
            "cold_pockets": gpd.GeoDataFrame(
                geometry=[box(40, 0, 45, 1), box(100, 0, 110, 1)]
            ),
            "tunnels": (place("High", 20.0, 6.0), place("Low", 10.0, 4.0), place("Low", 5.0, 4.0)),
            "materials": SimpleNamespace(
                low_tunnels=(
                    low_tunnel("A1", 8, 13.0),
                    low_tunnel("A2", 21, 33.0),
                    low_tunnel("B1", 14, 23.0),
                ),
                cost=1200.0,
            ),
        }
        | more
    )  # fmt: skip


def of_plot(plot, **more):
    return candidate.of_plan(plan(**more), plot, (plot,))


# ------------------------------------------------------------------ one candidate
def test_sums_and_means_are_those_of_the_beds_of_the_plot():
    found = of_plot("High")
    assert (found.name, found.bed_names, found.sky) == (
        "High",
        ("A1", "A2"),
        "clear sky",
    )
    numbers = dict(found.numbers)
    assert numbers.pop("cost") == 1200.0
    assert numbers.pop("wet_percent") != numbers  # NaN: nobody said
    assert numbers == {
        "growing_area_m2": 40.0,
        "winter_light_mj_m2_day": 3.0,  # (2 + 4) / 2
        "summer_light_mj_m2_day": 21.0,
        "pocket_percent": pytest.approx(12.5),  # 5 of 40 m²
        "open_wind_percent": pytest.approx(30.0),  # (.2 + .4) / 2
        "slope_percent": 2.0,
        "water_percent": pytest.approx(12.5),  # half of 10 m² of 40
        "cold_air_m": 1.5,
        "tunnel_places": 1,
        "tunnel_area_m2": 120.0,
        "hoops": 29,
        "cover_m": 46.0,
    }
    assert found.deepest_bed == "A2"
    low = of_plot("Low")
    assert (low.deepest_bed, low.numbers["cold_air_m"]) == ("B1", 3.0)
    assert low.numbers["tunnel_area_m2"] == 60.0
    assert low.numbers["slope_percent"] == 8.5
    assert low.numbers["hoops"] == 14


def test_in_the_south_winter_is_june_and_summer_january():
    numbers = of_plot("High", season=SOUTH).numbers
    assert numbers["winter_light_mj_m2_day"] == 20.0
    assert numbers["summer_light_mj_m2_day"] == 4.0


def test_wet_ground_is_known_where_it_was_said_of_the_plot_or_seen_on_the_site():
    assert np.isnan(of_plot("High").numbers["wet_percent"])
    assert np.isnan(of_plot("High", wet=(None, True)).numbers["wet_percent"])
    assert of_plot("High", wet=(True, None)).numbers["wet_percent"] == 100.0
    assert of_plot("High", wet=(False, True)).numbers["wet_percent"] == 0.0

    # Of two plots what is said of one is known: 40 of 80 m².
    both = candidate.of_plan(plan(wet=(True, None)), None, ("High", "Low"))
    assert both.numbers["wet_percent"] == 50.0

    def seen(*what):
        # Puddles over the longer bed.
        return box(15, -1, 60, 2) if PUDDLES in what else shapely.Polygon()

    assert of_plot("High", seen=seen).numbers["wet_percent"] == 75.0
    assert of_plot("Low", seen=seen).numbers["wet_percent"] == 0.0


def test_where_no_air_was_let_run_no_depth_is_known():
    means = plan().means
    means.is_flow_known = False
    found = of_plot("High", means=means)
    assert np.isnan(found.numbers["cold_air_m"])
    assert found.deepest_bed == ""


def test_a_plot_without_beds_has_no_means():
    found = candidate.of_plan(plan(), "None", ("None",))
    assert found.dates is None
    assert found.numbers["growing_area_m2"] == 0
    for kind in (
        "winter_light_mj_m2_day",
        "pocket_percent",
        "slope_percent",
        "water_percent",
        "open_wind_percent",
    ):
        assert np.isnan(found.numbers[kind]), kind


def test_a_cost_that_lacks_a_price_is_not_known():
    unpriced = SimpleNamespace(low_tunnels=(), cost=None)
    assert np.isnan(of_plot("High", materials=unpriced).numbers["cost"])


def test_dates_are_those_of_the_middle_bed_draw_by_draw():
    early = np.array([[100.0] * 6 + [110.0] * 5, [120.0] * 11, [0.0] * 11, [0.0] * 11])
    found = of_plot("High", dated=dates(early_draws=early)).dates
    assert found.reference_crop == "tomato"
    assert found.early_days.tolist() == [110.0] * 6 + [115.0] * 5
    assert found.late_days.tolist() == [295.0] * 11
    # Of the hardy crops, without a cover: (50 + 52) / 2 and so on.
    assert found.hardy_early_days == {
        "pea": Estimate(51.0, 61.0, 71.0),
        "kale": Estimate(90.0, 90.0, 90.0),
    }
    assert of_plot("High", dated=dates(known=False)).dates is None


# ------------------------------------------------------------------ marks
def test_more_is_better_from_more_than_a_twentieth_of_the_larger():
    # .95 × 100 = 95 is not over 95.
    beats = compare.beats_by_share(np.array([100.0, 95.0, 94.9]))
    assert beats.tolist() == [[0, 0, 1], [0, 0, 0], [0, 0, 0]]
    assert not compare.beats_by_share(np.array([np.nan, 1.0])).any()


def test_ranges_that_touch_are_not_distinguished():
    low, high = np.array([10.0, 20.0, 21.0]), np.array([20.0, 30.0, 40.0])
    assert compare.beats_apart(low, high).tolist() == [[0, 0, 0], [0, 0, 0], [1, 0, 0]]


def test_shared_draws_must_go_one_way_and_come_to_two_days():
    steady = np.full(11, 100.0)

    def beats(more):
        found = compare.beats_paired(np.array([steady + more, steady]))
        assert not found[0, 0]
        assert not found[1, 1]
        return bool(found[0, 1]), bool(found[1, 0])

    assert beats(2.0) == (True, False)
    assert beats(1.99) == (False, False)
    assert beats(-2.0) == (False, True)
    # One draw of eleven may go the other way, two may not.
    assert beats(np.array([-1.0] * 1 + [5.0] * 10)) == (True, False)
    assert beats(np.array([-1.0] * 2 + [5.0] * 9)) == (False, False)
    assert beats(np.array([0.0] * 2 + [5.0] * 9)) == (True, False)
    assert beats(np.array([np.nan] + [5.0] * 10)) == (False, False)


def row(found, kind):
    (one,) = (each for each in found.rows if each.kind == kind)
    return one


def marks(found, kind):
    return [value.mark for value in row(found, kind).values]


def central(found, kind):
    return [value.estimate.central for value in row(found, kind).values]


def test_plots_of_a_site_are_marked_by_what_is_better_for_a_grower():
    found = compare.compare([plan()])
    assert found.names == ("High", "Low")
    # 105 and 125; 295 and 275; so 190 and 150 days.
    assert central(found, "order_early_days") == [105.0, 125.0]
    assert marks(found, "order_early_days") == [BETTER, WORSE]
    assert central(found, "order_late_days") == [295.0, 275.0]
    assert marks(found, "order_late_days") == [BETTER, WORSE]
    assert central(found, "order_season_days") == [190.0, 150.0]
    assert marks(found, "order_season_days") == [BETTER, WORSE]
    assert row(found, "order_early_days").crop == "tomato"
    # The first hardy crop: 51 to 71 and 61 to 81 overlap.
    assert row(found, "hardy_early_day").crop == "pea"
    assert marks(found, "hardy_early_day") == [ALIKE, ALIKE]
    assert marks(found, "growing_area_m2") == [ALIKE, ALIKE]  # 40 and 40
    assert marks(found, "summer_light_mj_m2_day") == [BETTER, WORSE]
    # What has no range is not marked.
    assert marks(found, "slope_percent") == marks(found, "hoops") == [ALIKE, ALIKE]
    cold = row(found, "cold_air_m").values
    assert [(value.estimate.central, value.bed) for value in cold] == [
        (1.5, "A2"),
        (3.0, "B1"),
    ]
    assert {value.bed for value in row(found, "slope_percent").values} == {""}
    assert not any(each.kind == "cost" for each in found.rows)
    assert [fact.kind for fact in found.remarks] == ["compare_marks"]


def test_hardy_ranges_that_lie_apart_are_marked_the_earlier_better():
    dated = dates()
    dated.early[:, 1, 0, 2:] += 20.0
    found = compare.compare([plan(dated)])
    # 51 to 71 and 81 to 101.
    assert marks(found, "hardy_early_day") == [BETTER, WORSE]


def test_the_first_hardy_crop_that_is_not_the_reference_is_shown():
    dated = dates(reference_crop="pea")
    assert row(compare.compare([plan(dated)]), "hardy_early_day").crop == "kale"


def test_of_three_the_middle_one_is_worse_where_one_beats_it():
    span = [Estimate(*[value] * 3) for value in (10.0, 20.0, 30.0)]
    beats = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0]], bool)
    found = compare._marked("kind", span, beats)
    assert [value.mark for value in found.values] == [WORSE, WORSE, BETTER]


def test_sites_are_distinguished_by_ranges_and_named_by_folder_where_they_share_a_name():
    other = plan(dates((103, 113, 133, 123), (303, 293, 283, 273)))
    found = compare.compare([plan(), other])
    assert found.names == ("Hill (hill)", "Hill (hill)")
    # All four beds: middles of 115 and 118, the same in every draw, lie apart.
    assert central(found, "order_early_days") == [115.0, 118.0]
    assert marks(found, "order_early_days") == [BETTER, WORSE]
    assert marks(found, "order_late_days") == [WORSE, BETTER]
    # 285 - 115 and 288 - 118 are 170 days each.
    assert marks(found, "order_season_days") == [ALIKE, ALIKE]
    assert central(found, "cost") == [1200.0, 1200.0]
    assert compare.compare([plan(), plan(name="Dale")]).names == ("Hill", "Dale")


# Of 90, 92 ... 110 the second, sixth and tenth are 92, 100 and 108.
UNSURE = 2.0 * np.arange(-5, 6)


def unsure(later=0.0, plots_apart=0.0):
    """Dates of which nobody knows ten days either way, on all beds alike."""
    low = later + plots_apart
    early = np.array([100.0 + later] * 2 + [100.0 + low] * 2)[:, np.newaxis]
    late = np.array([300.0 - later] * 2 + [300.0 - low] * 2)[:, np.newaxis]
    return dates(early_draws=early + UNSURE, late_draws=late + UNSURE)


def test_what_is_not_known_is_shared_by_plots_and_changes_but_not_by_sites():
    # Five days later in every draw.
    plots = compare.compare([plan(unsure(plots_apart=5.0))])
    assert marks(plots, "order_early_days") == [BETTER, WORSE]
    assert marks(plots, "order_late_days") == [BETTER, WORSE]
    here = plan(unsure())
    here.site.alternatives = (SimpleNamespace(name="No hedge"),)
    change = compare.compare_changes([here, plan(unsure(5.0))])
    assert marks(change, "order_early_days") == [BETTER, WORSE]
    sites = compare.compare([plan(unsure()), plan(unsure(5.0))])
    assert marks(sites, "order_early_days") == [ALIKE, ALIKE]


@pytest.mark.parametrize(
    ("later", "mark"), [(16.0, (ALIKE, ALIKE)), (16.5, (BETTER, WORSE))]
)
def test_sites_are_distinguished_where_all_of_one_range_lies_before_the_other(
    later, mark
):
    # 92 to 108, and 108 or 108.5 to 124.
    found = compare.compare([plan(unsure()), plan(unsure(later))])
    assert marks(found, "order_early_days") == list(mark)
    assert marks(found, "order_late_days") == list(mark)
    (first, second) = row(found, "order_early_days").values
    assert first.estimate == (92.0, 100.0, 108.0)
    assert second.estimate == (92.0 + later, 100.0 + later, 108.0 + later)


def test_less_than_two_days_between_plots_is_not_marked():
    found = compare.compare([plan(unsure(plots_apart=1.8))])
    assert (
        marks(found, "order_early_days")
        == marks(found, "order_late_days")
        == [ALIKE, ALIKE]
    )
    # 1.8 days at either end are 3.6 in a season; at one end they are 1.8.
    assert marks(found, "order_season_days") == [BETTER, WORSE]
    one_end = dates(
        early_draws=draws(100, 100, 101.8, 101.8), late_draws=draws(300, 300, 300, 300)
    )
    assert marks(compare.compare([plan(one_end)]), "order_season_days") == [
        ALIKE,
        ALIKE,
    ]


def test_what_sites_do_not_share_is_not_compared():
    beans = compare.compare([plan(), plan(dates(reference_crop="bean"))])
    kinds = [each.kind for each in beans.rows]
    assert "order_early_days" not in kinds
    assert "hardy_early_day" in kinds
    tender = dates(crops=(crop("tomato"),) * 3)
    kinds = [each.kind for each in compare.compare([plan(), plan(tender)]).rows]
    assert "hardy_early_day" not in kinds
    undated = compare.compare([plan(), plan(dates(known=False))])
    assert [fact.kind for fact in undated.remarks] == [
        "compare_marks",
        "compare_no_dates",
    ]


def test_light_of_another_sky_is_shown_and_not_marked():
    cloudy = SimpleNamespace(light=SimpleNamespace(sky="with cloud"))
    darker = plan(analysis=cloudy, beds=BEDS[2:] + BEDS[2:])
    found = compare.compare([plan(), darker])
    assert marks(found, "summer_light_mj_m2_day") == [ALIKE, ALIKE]
    assert found.remarks[-1].kind == "compare_other_sky"


def test_changes_stand_beside_the_place_as_it_is_without_tunnels_and_materials():
    here = plan()
    here.site.alternatives = (SimpleNamespace(name="No hedge"),)
    later = plan(dates((110, 120, 140, 130)))
    found = compare.compare_changes([here, later])
    assert found.names == (None, "No hedge")
    assert marks(found, "order_early_days") == [BETTER, WORSE]
    kinds = {each.kind for each in found.rows}
    assert not kinds & {"tunnel_places", "tunnel_area_m2", "hoops", "cover_m", "cost"}
    assert central(found, "growing_area_m2") == [80.0, 80.0]


def test_one_plot_and_no_change_are_nothing_to_compare():
    with pytest.raises(PlanError, match="nothing to compare"):
        compare.check(Path("hill"), ["High"])
    compare.check(Path("hill"), ["High", "Low"])
    with pytest.raises(PlanError, match="no change"):
        compare.check_changes(Path("hill"), [])
    compare.check_changes(Path("hill"), ["one"])
