"""Tonight's list over a made-up farm with crops as they are delivered, and its page.

Limits stand in crops.toml with their sources, worth of covers in layers.cover. A tomato is
harmed at 0 °C by the plant, so at 0, 2 or 4 °C at the screen.
"""

import html.parser
from dataclasses import replace

import pytest
from made_up import beds_in, plane, plot_box, site, surroundings
from made_up_evening import DAY, NIGHT, advice_for, bed, round_of, stand_of, standing
from shapely.geometry import Point

from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.tonight import Walk, advise
from fieldmap.decide.tonight.evening_round import evening_round
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.decide.tonight.standing import stand
from fieldmap.errors import PlanError
from fieldmap.model.estimate import Estimate
from fieldmap.model.observed import Observed, Range
from fieldmap.model.settings import Beds
from fieldmap.read.crops import packaged_crops
from fieldmap.show.files import tonight as pages
from fieldmap.show.text.decide import tonight as words

PLOT = plot_box(40, 40, 80, 60)


@pytest.fixture(scope="module")
def known():
    """What is known of crops, by name, from the table that is delivered."""
    return packaged_crops()


def farm(known, crops, kinds=(), around=None, choices=None, **more):
    """A site on level ground at 100 m with some crops and a 100 m roll of each cover."""
    more = {
        "station": {"latitude": 45.0, "longitude": 14.0, "elevation_m": 100.0}
    } | more
    roll = {"width_m": 2.5, "length_m": 100.0, "may_cut": True}
    made = site(
        plane(),
        {"Home": PLOT},
        around=around,
        crops=[{"name": name} | (choices or {}) for name in crops],
        covers=[{"kind": kind} | roll for kind in kinds],
        **more,
    )
    return replace(made, crops=tuple(known[name] for name in crops))


def rows(count, offset=(0.0, 0.0, 0.0)):
    """Beds of the plot that are alike in the air."""
    found = [bed(each.name) for each in beds_in(PLOT)[:count]]
    for mine, laid in zip(found, beds_in(PLOT)[:count], strict=True):
        mine.bed, mine.offset_c = laid, Estimate(*offset)
    return found


def said(made, beds, low_c, sky="clear", wind="calm"):
    """The list with the first crop on every bed since February."""
    stays = [
        Stay(
            "spring",
            40,
            300,
            365,
            (),
            bed=each.bed.name,
            crop=made.crops[0].name,
            days_by_place=0.0,
        )
        for each in beds
    ]
    stands = stand(DAY, CropPlan(stays=tuple(stays)), made.crops, ())
    night = Forecast(low_c, sky, wind)
    advice = advise(Walk.over(evening_round(made, beds), stands), night, NIGHT)
    units = made.settings.units
    return "\n".join(words.lines(words.in_words(advice, made.settings.name, units)))


def test_a_plot_a_hundred_metres_over_the_station_is_half_a_degree_colder(known):
    # 5.5 °C per km: 0.55 °C in 100 m, so 4.4 °C at the station is under 4 up there (and
    # 5.4 with the degree that is kept in hand on still nights).
    station = {"latitude": 45.0, "longitude": 14.0, "elevation_m": 0.0}
    above = farm(known, ["tomato"], ["heavy_fabric"], station=station)
    level = farm(known, ["tomato"], ["heavy_fabric"])
    for low_c, sky in ((5.4, "clear"), (2.4, "cloudy")):
        assert "Nothing needs a cover" in said(level, rows(1), low_c, sky)
        assert "Nothing needs a cover" not in said(above, rows(1), low_c, sky)


def test_without_a_station_the_forecast_is_taken_as_it_is_and_that_is_said(known):
    made = farm(known, ["tomato"], station=None)
    text = said(made, rows(1), 5.1)
    assert "does not know how high the weather station is" in text
    assert "Nothing needs a cover." in text


def test_what_thermometers_taught_takes_the_place_of_the_height(known):
    bias = Range(low=-3.0, central=-2.0, high=-1.0)
    learnt = Observed(readings_sha256="0" * 64, clear_calm_nights=12, bias_c=bias)
    made = replace(farm(known, ["tomato"]), observed=learnt)
    assert (
        "the lowest temperature here is likely 3 °C. At worst, the coldest bed gets 2 °C"
        in said(made, rows(1), 5.0)
    )


def test_no_cover_is_named_that_the_grower_did_not_choose_for_the_crop(known):
    owned = ["light_fabric", "heavy_fabric"]
    free = farm(known, ["tomato"], owned)
    bound = farm(known, ["tomato"], owned, choices={"covers": ["light_fabric"]})
    assert "heavy fabric" in said(free, rows(1), 2.5)
    text = said(bound, rows(1), 2.5)
    assert "heavy fabric" not in text
    assert "light fabric" in text


def test_shade_cloth_and_insect_net_are_not_night_covers(known):
    made = farm(known, ["tomato"], ["shade_50", "insect_net"])
    text = said(made, rows(1), 2.0)
    assert "Cover 1" not in text
    assert "gets too cold. None of your covers helps" in text


def test_a_bed_of_spinach_is_left_where_a_tomato_is_lost(known):
    assert "too cold" in said(farm(known, ["tomato"]), rows(2), -2.0)
    left = said(farm(known, ["spinach"]), rows(2), -2.0).split()
    assert "These need no cover: – Spinach: A1 and A2" in " ".join(left)


def test_the_gate_of_the_site_decides_where_the_walk_begins(known):
    beds = rows(3)
    by_last = beds[-1].bed.outline.centroid
    gate = surroundings(("gate", Point(by_last.x, by_last.y), {}))
    near = evening_round(farm(known, ["tomato"], around=gate), beds)
    assert [stop.ranked.bed.name for stop in near.stops] == ["A3", "A2", "A1"]
    # Beds side by side, in the order of the plan.
    path_m = pytest.approx(Beds().path_width_m)
    assert near.paths_m == (path_m, path_m, None)


# ------------------------------------------------------------------ the page
class Seen(html.parser.HTMLParser):
    """Tags, and text as a reader sees it."""

    def __init__(self):
        super().__init__()
        self.tags, self.text = [], ""

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        assert not any(name in ("src", "href") for name, _ in attrs)

    def handle_data(self, data):
        self.text += data


HOSTILE = "<script>alert('x')</script> & \"Söhne\" </style> {{ 7*7 }}"


def listed(plot="Home", name="Farm"):
    here = round_of(bed("A1", (-1.0, 0.0, 0.0), plot=plot))
    advice = advice_for(here, stand_of(standing("A1")), -4.0, dusk_c=4.0)
    return words.in_words(advice, name, "metric")


def test_the_page_holds_every_sentence_and_runs_nothing():
    found = listed(HOSTILE, HOSTILE)
    seen = Seen()
    seen.feed(pages.page(found))
    assert "script" not in seen.tags
    assert seen.tags.count("style") == 1
    text = " ".join(seen.text.split())
    assert " ".join(HOSTILE.split()) in text
    every = (*found.answer, *found.first, *found.advice, *found.hours, found.last)
    for line in (*every, *found.cautions, found.hours_note):
        assert line in text
    assert "a heater there without a flue (a pipe to the outside)" in text


def test_the_hours_are_folded_on_the_page_and_tomorrow_stands_last():
    page = pages.page(listed())
    folded = page[page.index("<details>") : page.index("</details>")]
    assert listed().hours[0] in folded
    assert "open" not in folded[: folded.index(">") + 1]
    assert page.index(listed().last) > page.index(listed().cautions[-1])


def test_a_page_replaces_an_earlier_page_and_nothing_else(tmp_path):
    advice = listed()
    file = tmp_path / "tonight.html"
    pages.write(advice, file)
    pages.write(advice, file)
    assert file.read_text(encoding="utf-8") == pages.page(advice)
    assert [path.name for path in tmp_path.iterdir()] == ["tonight.html"]
    file.write_text("my own page", encoding="utf-8")
    for place in (file, tmp_path / "tonight.txt", tmp_path / "no" / "tonight.html"):
        with pytest.raises(PlanError) as refused:
            pages.write(advice, place)
        assert len(refused.value.problems) == 1
    assert file.read_text(encoding="utf-8") == "my own page"
