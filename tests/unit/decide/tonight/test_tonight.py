"""Tonight's list against nights worked by hand.

Limits stand in crops.toml with their sources, worth of covers in layers.cover.
A tomato is harmed at 0 °C by the plant, so at 0, 2 or 4 °C at the screen.
"""

import html.parser
import re
from types import SimpleNamespace

import numpy as np
import pytest
from made_up import beds_in, plane, plot_box, site, surroundings
from shapely.geometry import Point

from fieldmap.decide import tonight
from fieldmap.decide.tonight import BedRun, CropLine
from fieldmap.decide.tonight.answer import Answer, Bare, answer, sign
from fieldmap.decide.tonight.evening_round import evening_round
from fieldmap.decide.tonight.forecast import Forecast, forecast
from fieldmap.errors import PlanError
from fieldmap.model.estimate import Estimate
from fieldmap.read.crops import packaged_crops
from fieldmap.show.files import tonight as pages
from fieldmap.show.text.decide import tonight as words

PLOT = plot_box(40, 40, 80, 60)


@pytest.fixture(scope="module")
def known():
    """What is known of crops, by name, from the table that is delivered."""
    return packaged_crops()


def ranked(bed, offset_c):
    """Of a ranked bed only what the list reads."""
    return SimpleNamespace(bed=bed, offset_c=Estimate(*offset_c))


def farm(known, crops, kinds=(), around=None, choices=None, plot="Home", **more):
    """A site on level ground at 100 m with some crops and 100 m of each cover."""
    from dataclasses import replace

    more = {
        "station": {"latitude": 45.0, "longitude": 14.0, "elevation_m": 100.0}
    } | more
    made = site(
        plane(),
        {plot: PLOT},
        around=around,
        crops=[{"name": name} | (choices or {}) for name in crops],
        covers=[{"kind": k, "width_m": 2.0, "length_m": 100.0} for k in kinds],
        **more,
    )
    return replace(made, crops=tuple(known[name] for name in crops))


def rows(count, offsets=None, plot="Home"):
    found = beds_in(PLOT, plot=plot)[:count]
    offsets = [(0.0, 0.0, 0.0)] * count if offsets is None else offsets
    return [ranked(bed, o) for bed, o in zip(found, offsets, strict=True)]


def still(low_c):
    return Forecast(low_c, "clear", "calm")


def listed(made, beds, night):
    """The list for a night in words."""
    advice = tonight.advise(evening_round(made, beds), night)
    return words.in_words(advice, made.settings.name, made.settings.units)


def said(made, beds, night):
    return "\n".join(words.lines(listed(made, beds, night)))


# ------------------------------------------------------------------ one crop, one bed
@pytest.mark.parametrize(
    ("worst_c", "likely_c", "owned", "verdict", "cover"),
    [
        # Over 4 °C even at worst: nothing to do.
        (4.1, 5.0, ("light_fabric",), "leave", None),
        # At 4 °C it is not surely unharmed; medium fabric is worth 1.1 °C at least.
        (4.0, 4.5, ("medium_fabric", "heavy_fabric"), "sure", "medium_fabric"),
        # 2 + 1.1 is not over 4, 2 + 3 is: the lightest cover that is sure.
        (2.0, 3.0, ("medium_fabric", "heavy_fabric"), "sure", "heavy_fabric"),
        # 0 - .5 is not over 4, but likely 1.5 + 1 is over 2.
        (0.0, 1.5, ("light_fabric",), "likely", "light_fabric"),
        # No cover, and likely 2.5 is over 2.
        (1.5, 2.5, (), "likely", None),
        # 0.8 + 1 is not over 2, fabric under film's 0.8 + 1.5 is.
        (-0.5, 0.8, ("light_fabric",), "wanting", "fabric_under_film"),
        # 0.2 + 1.5 is not over 2, medium fabric's 0.2 + 2.2 is.
        (-0.5, 0.2, ("light_fabric",), "wanting", "medium_fabric"),
        # -2 + 3.5, the most of all covers, is not over 2.
        (-3.0, -2.0, ("light_fabric",), "lost", None),
    ],
)
def test_a_tomato_on_a_still_night(known, worst_c, likely_c, owned, verdict, cover):
    air = Bare(worst_c, likely_c)
    given = answer(known["tomato"], air, owned, is_still=True)
    assert given == (verdict, cover)


def test_under_cloud_a_cover_counts_for_little_and_leaves_for_two_degrees(known):
    def under_cloud(air_c, *covers):
        air = Bare(air_c, air_c)
        return answer(known["tomato"], air, covers, is_still=False)

    # Any cover may be worth nothing then, and likely is worth .2 °C: 1.9 + .2 is over 2.
    assert under_cloud(1.5, "heavy_fabric").verdict == "lost"
    assert under_cloud(1.9, "heavy_fabric") == ("likely", "heavy_fabric")
    assert under_cloud(2.1) == ("leave", None)


# ------------------------------------------------------------------ the air on a bed
def test_cold_beds_are_covered_and_warm_ones_left(known):
    made = farm(known, ["tomato"], ["medium_fabric"])
    beds = rows(4, [(-1.0, -0.5, 0.0)] * 2 + [(0.5, 0.5, 0.5)] * 2)
    # How the plots run against the station is not known: 1 °C is kept in hand. 5.2 - 1
    # - 1 = 3.2 is under 4, and 3.2 + 1.1 over it; 5.2 - 1 + 0.5 is over 4.
    assert "Tomato: A1 to A2, cover with medium fabric; A3 to A4, can be left." in said(
        made, beds, still(5.2)
    )


def test_a_plot_a_hundred_metres_over_the_station_is_half_a_degree_colder(known):
    # 5.5 °C per km: 0.55 °C in 100 m, so 4.4 °C at the station is under 4 up there (and
    # 5.4 with the degree that is kept in hand on still nights).
    station = {"latitude": 45.0, "longitude": 14.0, "elevation_m": 0.0}
    above = farm(known, ["tomato"], ["light_fabric"], station=station)
    level = farm(known, ["tomato"], ["light_fabric"])
    for night in (still(5.4), Forecast(2.4, "cloudy", "calm")):
        assert "cover with light fabric" in said(above, rows(1), night)
        assert "Nothing needs a cover" in said(level, rows(1), night)


def test_without_a_station_the_forecast_is_taken_as_it_is_and_that_is_said(known):
    made = farm(known, ["tomato"], station=None)
    text = said(made, rows(1), still(5.1))
    assert "height of the station is not known" in text
    assert "Nothing needs a cover tonight." in text


def test_what_thermometers_taught_takes_the_place_of_the_height(known):
    from dataclasses import replace

    from fieldmap.model.observed import Observed, Range

    bias = Range(low=-3.0, central=-2.0, high=-1.0)
    learnt = Observed(readings_sha256="0" * 64, clear_calm_nights=12, bias_c=bias)
    made = replace(farm(known, ["tomato"]), observed=learnt)
    assert "about 3 °C" not in said(made, rows(1), still(5.0))
    assert "likely 3 °C, at worst 2 °C" in said(made, rows(1), still(5.0))


def test_a_bed_on_unknown_ground_is_named_and_not_judged(known):
    made = farm(known, ["tomato"], ["medium_fabric"])
    text = said(made, rows(2, [(np.nan,) * 3, (0.0,) * 3]), still(4.5))
    assert "Nothing is known of the ground of A1." in text
    assert "Tomato: all beds, cover with medium fabric." in text


def test_under_cloud_a_part_of_offsets_counts(known):
    """.1 to .6 is left where a valley may lie around; tomato is harmed at 2 °C.

    A1: 2.5 - .6 · 4 = .1 at worst, 2.5 - .17 · 3 = 2.0 likely, and fabric likely is worth .2.
    """
    made = farm(known, ["tomato"], ["light_fabric"])
    beds = rows(2, [(-4.0, -3.0, -2.0), (0.0, 0.0, 0.0)])
    text = said(made, beds, Forecast(2.5, "cloudy", "calm"))
    assert "cold air runs little" in text
    assert "A1, cover with light fabric, which is likely enough but not sure" in text
    assert "A2, can be left." in text


@pytest.mark.parametrize("sky", ["clear", "cloudy"])
def test_a_windy_night_has_no_list_by_bed(known, sky):
    made = farm(known, ["tomato", "spinach"], ["light_fabric"])
    text = said(made, rows(3), Forecast(1.0, sky, "windy"))
    assert "the order of beds does not hold" in text
    assert "take film down" in text
    assert "Harmed by that where they are out: tomato." in text
    assert not re.search(r"\bA\d", text)


# ------------------------------------------------------------------ covers and crops
def test_no_cover_is_named_that_the_grower_did_not_choose_for_the_crop(known):
    owned = ["light_fabric", "medium_fabric"]
    free = farm(known, ["tomato"], owned)
    bound = farm(known, ["tomato"], owned, choices={"covers": ["light_fabric"]})
    assert "cover with medium fabric" in said(free, rows(1), still(2.5))
    assert "cover with light fabric, which is likely" in said(
        bound, rows(1), still(2.5)
    )


def test_shade_cloth_and_insect_net_are_not_night_covers(known):
    made = farm(known, ["tomato"], ["shade_50", "insect_net"])
    assert "names no cover of yours that warms" in said(made, rows(1), still(3.5))


def test_fabric_goes_under_film_where_both_are_owned(known):
    # 0.7 + 1.2 is under 2, 0.7 + 1.2 + 0.5 over it.
    made = farm(known, ["tomato"], ["light_fabric", "clear_film"])
    assert "cover with light fabric under clear film" in said(made, rows(1), still(0.7))


def test_a_cover_that_does_not_reach_is_told_with_both_lengths(known):
    made = farm(known, ["tomato"], ["light_fabric"])
    beds = rows(4)
    length_m = sum(each.bed.length_m for each in beds)
    assert length_m > 100
    text = said(made, beds, still(3.5))
    assert "You own 100 m of light fabric" in text
    assert f"{length_m:.0f} m long" in text
    assert "You own" not in said(made, beds[:1], still(3.5))


def test_crops_with_the_same_answer_share_a_line(known):
    made = farm(known, ["tomato", "pepper", "spinach"], ["light_fabric"])
    text = said(made, rows(2), still(3.5))
    assert "Tomato and pepper: all beds, cover" in text
    assert "Can be left on every bed: spinach." in text


# ------------------------------------------------------------------ the walk
def in_order(made, beds):
    return list(evening_round(made, beds).beds)


def test_a_plot_is_walked_from_the_end_that_lies_nearer_to_the_gate(known):
    beds = rows(3)
    by_last = beds[-1].bed.outline.centroid
    gate = surroundings(("gate", Point(by_last.x, by_last.y), {}))
    near = farm(known, ["tomato"], around=gate)
    names = [each.bed.name for each in in_order(near, beds)]
    assert names == ["A3", "A2", "A1"]
    without = farm(known, ["tomato"])
    assert in_order(without, beds) == beds


# ------------------------------------------------------------------ what was typed
def test_the_low_is_read_in_the_units_of_the_site():
    assert forecast("32", "clear", "calm", "us") == still(0.0)
    assert forecast("-1.5", "clear", "calm", "metric") == still(-1.5)


@pytest.mark.parametrize(
    ("words", "units", "parts"),
    [
        (("one", "clear", "calm"), "metric", ("--low is 'one'", "°C")),
        (("nan", "clear", "calm"), "metric", ("--low is 'nan'",)),
        (("34", "clear", "calm"), "metric", ("--low is '34'", "20 °C")),
        (("90", "clear", "calm"), "us", ("--low is '90'", "68 °F")),
        (("1", "blue", "calm"), "metric", ("--sky is 'blue'", "clear or cloudy")),
        (("1", "clear", "breeze"), "metric", ("--wind is 'breeze'", "calm or windy")),
    ],
)
def test_a_word_that_cannot_be_used_is_refused_in_one_sentence(words, units, parts):
    with pytest.raises(PlanError) as refused:
        forecast(*words, units)
    (problem,) = refused.value.problems
    assert all(part in str(problem) for part in parts)


def test_in_us_units_no_celsius_is_shown(known):
    made = farm(known, ["tomato"], ["light_fabric"], units="us")
    text = said(made, rows(2), still(3.5))
    assert "38 °F" in text  # 3.5 °C is 38.3 °F
    assert "°C" not in text


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


def test_the_page_holds_every_sentence_and_runs_nothing(known):
    made = farm(known, ["tomato"], ["light_fabric"], plot=HOSTILE, name=HOSTILE)
    advice = listed(made, rows(2, plot=HOSTILE), still(3.5))
    seen = Seen()
    seen.feed(pages.page(advice))
    assert "script" not in seen.tags
    assert seen.tags.count("style") == 1
    assert HOSTILE in seen.text
    for line in words.lines(advice):
        assert line.strip() in seen.text
    assert "unvented heater" in seen.text


def test_a_page_replaces_an_earlier_page_and_nothing_else(known, tmp_path):
    advice = listed(farm(known, ["tomato"]), rows(1), still(3.5))
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


@pytest.mark.parametrize(
    ("answers", "drawn"),
    [
        (["leave", "leave"], "leave"),
        (["leave", "likely"], "odds"),
        (["leave", "sure+"], "cover"),
        (["likely", "likely+"], "cover"),
        (["sure+", "lost"], "part"),
        (["likely+", "wanting+"], "part"),
        (["leave", "wanting+"], "lost"),  # the cover it names is not owned
        (["likely", "lost"], "lost"),
    ],
)
def test_a_bed_is_drawn_by_what_its_crops_ask_for_together(answers, drawn):
    here = [
        Answer(each.rstrip("+"), "light_fabric" if each[-1] == "+" else None)
        for each in answers
    ]
    assert sign(here) == drawn


def test_beds_with_one_answer_are_named_together():
    leave, cover = Answer("leave", None), Answer("sure", "light_fabric")
    answers = {("A1", "A2"): leave, ("A3",): cover, ("A4",): leave}
    line = CropLine(("lettuce",), tuple(BedRun(*each) for each in answers.items()))
    assert words._line(line, 5) == (
        "Lettuce: A1 to A2 and A4, can be left; A3, cover with light fabric."
    )
    same = CropLine(("lettuce",), (line.runs[0], line.runs[2]))
    assert words._line(same, 3) == "Lettuce: all beds, can be left."
