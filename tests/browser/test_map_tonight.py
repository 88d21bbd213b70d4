"""Tonight on the map: the list of an evening and a low is that of the command."""

from dataclasses import replace

import pytest
from browser import PHONE, Page, choose

from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.tonight.forecast import LOWS, Forecast
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.decide import tonight as words
from fieldmap.show.text.map.tonight import SIGN_LABELS
from fieldmap.show.text.map.tonight import low as low_in_words


@pytest.fixture(scope="module")
def plan(hedged_plan):
    """Spinach on the first two beds and tomatoes on the next two, in spring."""
    known = packaged_crops()
    hardy, tender = "spinach", "tomato"
    stays = tuple(
        Stay(
            "spring", 100, 150, 160, (), bed=each.bed.name, crop=name, days_by_place=0.0
        )
        for each, name in zip(
            hedged_plan.beds, (hardy, hardy, tender, tender), strict=False
        )
    )
    site = replace(hedged_plan.site, crops=(known[hardy], known[tender]))
    return replace(hedged_plan, site=site, crop_plan=CropPlan(stays=stays))


def listed(page):
    """Sentences of the list that is shown, cautions left out."""
    return page.eval_on_selector_all(
        "#list > p:not(.note), #list h2, #list h2 ~ p ~ ul li",
        "all => all.map((one) => one.textContent)",
    )


def first_spell(plan):
    return next(plan.evenings.spells(plan.weekly_jobs.starts))


def turn_to(page, low):
    while page.locator("#low").inner_text() != low_in_words(low, "metric"):
        shown = int(page.locator("#low").inner_text().split()[0].replace("−", "-"))
        page.locator("#colder" if shown > low else "#warmer").click()


@pytest.mark.parametrize("low", [3, -2, -10])
@pytest.mark.parametrize(("sky", "wind"), [("clear", "calm"), ("cloudy", "calm")])
def test_the_list_for_tonight_is_that_of_the_command(desktop, plan, low, sky, wind):
    choose(desktop, "tonight")
    night = {"clear": "still_night", "cloudy": "cloudy_night"}[sky]
    desktop.locator(f"input[value={night}]").check()
    turn_to(desktop, low)
    spell = first_spell(plan)
    advice = plan.evenings.advise_spell(spell, Forecast(float(low), sky, wind))
    expected = [*words.answer(advice), *words.first(advice, "metric")]
    for here in words.by_plot(advice, "metric"):
        tasks = [f"{task.number} {task.line}" for task in here.tasks]
        expected += [here.plot, here.air, *tasks, *here.rest]
    expected += [*words.how(advice), words.tomorrow(advice, "metric")]
    assert listed(desktop) == expected


def test_on_a_windy_night_there_is_no_list_and_the_ends_of_the_lows_are_ends(desktop):
    choose(desktop, "tonight")
    desktop.locator("input[value=windy_night]").check()
    assert words.NIGHTS["windy"][0] in listed(desktop)
    assert desktop.locator("#list h2").count() == 0
    assert desktop.locator("path.bed[class*=tonight-]").count() == 0
    for _ in range(40):
        if desktop.locator("#colder").is_disabled():
            break
        desktop.locator("#colder").click()
    coldest = LOWS["metric"][1]
    assert desktop.locator("#low").inner_text() == low_in_words(coldest, "metric")


def test_paper_and_still_viewers_have_the_lows_side_by_side(browser, map_file, plan):
    shown = Page(browser, map_file, **PHONE, java_script_enabled=False)
    rows = shown.page.locator("#tonight tbody tr")
    assert rows.count() == sum(len(block.lines) for block in plan.tonight.blocks)
    assert rows.first.is_visible()
    assert shown.page.locator(".evening").is_hidden()
    shown.close()


def test_planted_beds_alone_are_drawn_by_what_the_list_says(desktop, plan):
    choose(desktop, "tonight")
    spell = first_spell(plan)
    signs = plan.evenings.advise_spell(spell, Forecast(0.0, "clear", "calm")).signs
    drawn = desktop.eval_on_selector_all(
        "path.bed", "all => all.map((one) => one.getAttribute('class'))"
    )
    for ranked, look in zip(plan.beds, drawn, strict=True):
        sign = signs.get(ranked.bed.name)
        assert look.count("tonight-") == (sign is not None)
        if sign is not None:
            assert f"tonight-{sign}" in look.split()
    label = "document.querySelector('path.bed').getAttribute('aria-label')"
    assert desktop.evaluate(label).endswith(SIGN_LABELS[signs[plan.beds[0].bed.name]])
