"""Tonight on the map: the list of an evening and a low is that of the command."""

from dataclasses import replace
from datetime import timedelta

import pytest
from browser import DESKTOP, PHONE, READY, Page, ask, faults_of_access, wait_until

from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.tonight.forecast import LOWS, Forecast
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.decide import tonight as words
from fieldmap.show.text.map.labels import LABELS
from fieldmap.show.text.map.tonight import low as low_in_words


@pytest.fixture(scope="module")
def plan(hedged_plan):
    """Spinach on the first two beds, one ripe before the other, and tomatoes on two more."""
    known = packaged_crops()
    hardy, tender = "spinach", "tomato"
    stays = tuple(
        Stay(
            "spring",
            100,
            ripe,
            160,
            (),
            bed=each.bed.name,
            crop=name,
            days_by_place=0.0,
        )
        for each, (name, ripe) in zip(
            hedged_plan.beds,
            ((hardy, 130), (hardy, 150), (tender, 150), (tender, 150)),
            strict=False,
        )
    )
    site = replace(hedged_plan.site, crops=(known[hardy], known[tender]))
    return replace(hedged_plan, site=site, crop_plan=CropPlan(stays=stays))


def first_spell(plan):
    return next(plan.evenings.spells(plan.weekly_jobs.starts))


def plain(text):
    """A text of the page with plain spaces; there a value never breaks from its unit."""
    return " ".join(text.split())


def ask_for_the_list(page):
    """Ask what to cover tonight; where nothing is, open the example."""
    ask(page, "tonight")
    turn = page.locator("#example-turn")
    if turn.is_visible() and page.locator("#evening").is_hidden():
        turn.click()


def turn_to(page, low):
    for _ in range(40):
        shown = plain(page.locator("#low").inner_text())
        if shown == low_in_words(low, "metric"):
            return
        above = int(shown.split()[0].replace("−", "-")) > low
        page.locator("#colder" if above else "#warmer").click()
    pytest.fail(f"the page never shows {low} degrees")


def test_neighbouring_beds_of_one_crop_share_a_label_though_one_is_ripe_first(
    desktop, plan
):
    ask(desktop, "grows")
    first, second = (each.bed.name for each in plan.beds[:2])
    while desktop.locator("#step-before").is_enabled():
        desktop.locator("#step-before").click()
    states, labels = set(), set()
    while desktop.locator("#step-next").is_enabled():
        states.add(desktop.locator(".answer:visible").inner_text())
        said = [each["text"] for each in desktop.evaluate("fieldmap.field.words()")]
        labels |= {each for each in said if "spinach" in each.lower()}
        desktop.locator("#step-next").click()
    assert len(states) > 1
    assert [each.split(maxsplit=1)[1] for each in labels] == [f"{first} to {second}"]


@pytest.mark.parametrize("low", [3, -2, -10])
@pytest.mark.parametrize(("sky", "wind"), [("clear", "calm"), ("cloudy", "calm")])
def test_the_list_for_tonight_is_that_of_the_command(desktop, plan, low, sky, wind):
    ask_for_the_list(desktop)
    night = {"clear": "still_night", "cloudy": "cloudy_night"}[sky]
    desktop.locator(f"input[value={night}]").check()
    turn_to(desktop, low)
    spell = first_spell(plan)
    (advice,) = plan.evenings.advise_spell(spell, [Forecast(float(low), sky, wind)])
    shown = plain(desktop.locator("body").inner_text())
    what, *others = words.answer(advice)
    lead = LABELS["at_low"].format(
        low=low_in_words(low, "metric"), what=what[0].lower() + what[1:]
    )
    # Whether it is of tonight or of an example.
    answer = plain(desktop.locator(".answer:visible").inner_text())
    assert lead.lower() in answer.lower()
    for sentence in others:
        assert sentence in shown
    for here in words.by_plot(advice, "metric"):
        for sentence in (here.air, *here.rest, *(task.what for task in here.tasks)):
            assert sentence in shown
    stops = map(plain, desktop.locator("#round ol.stops li span").all_inner_texts())
    tasks = [task for here in words.by_plot(advice, "metric") for task in here.tasks]
    assert list(stops) == [task.what for task in tasks]


def test_on_a_windy_night_there_is_no_list_and_the_ends_of_the_lows_are_ends(desktop):
    ask_for_the_list(desktop)
    desktop.locator("input[value=windy_night]").check()
    assert desktop.locator("#round ol.stops li").count() == 0
    assert words.ANSWER["nothing_stands"] not in plain(
        desktop.locator("body").inner_text()
    )
    for _ in range(40):
        if desktop.locator("#colder").is_disabled():
            break
        desktop.locator("#colder").click()
    coldest = LOWS["metric"][1]
    shown = plain(desktop.locator("#low").inner_text())
    assert shown == low_in_words(coldest, "metric")


def tonight_on(day, browser, map_file):
    """The map on a phone on a day, asked what to cover tonight."""
    page = Page(browser, map_file, **PHONE)
    page.page.clock.set_fixed_time(f"{day.isoformat()}T12:00")
    page.page.reload()
    wait_until(page.page, READY)
    ask(page.page, "tonight")
    return page


def test_on_an_evening_that_needs_no_cover_the_answer_says_so_first(
    browser, map_file, plan
):
    """On the first evening of the plan nothing stands yet; what comes next has its day."""
    starts = plan.weekly_jobs.starts
    page = tonight_on(starts, browser, map_file)
    answer = page.page.locator(".answer:visible")
    page.page.locator("#example-turn").click()
    next_day = page.page.locator("#spell option:checked").inner_text()
    today = f"{starts.day} {starts:%B}"
    lead = plain(answer.locator("b").inner_text())
    assert lead == LABELS["nothing_tonight"].format(day=today)
    # What follows is of that evening and the low that is shown, and reads as an example.
    low = plain(page.page.locator("#low").inner_text())
    said = plain(answer.locator(".example").inner_text())
    assert said.startswith(
        f"Example, {next_day}: if the lowest temperature in the forecast is {low}, "
    )
    over_map = page.page.locator("#shown-on-map")
    assert plain(over_map.inner_text()) == LABELS["example_of"].format(run=next_day)
    ask(page.page, "early")
    assert over_map.is_hidden()
    page.close()


def test_what_tonight_needs_no_cover_for_is_shown_only_as_an_example_that_is_asked_for(
    browser, map_file, plan
):
    """Else striped beds and boxes to tick deny the answer beside them."""
    opened = tonight_on(plan.weekly_jobs.starts, browser, map_file)
    page = opened.page
    turn = page.locator("#example-turn")
    parts = [page.locator(f"#{each}") for each in ("evening", "round", "night-kind")]
    signs = page.locator(".legend[data-view='tonight/0'] .swatch:visible")
    over_map = page.locator("#shown-on-map")
    run = page.evaluate("document.querySelector('#spell').selectedOptions[0].text")
    starts = plan.weekly_jobs.starts
    nothing = LABELS["nothing_tonight"].format(day=f"{starts.day} {starts:%B}")

    def is_of_tonight():
        assert plain(page.locator(".answer:visible").inner_text()) == nothing
        assert plain(turn.inner_text()) == LABELS["show_example"].format(run=run)
        assert not any(part.is_visible() for part in [*parts, over_map])
        assert signs.count() == 0

    is_of_tonight()
    assert turn.bounding_box()["height"] >= 56
    assert faults_of_access(page) == []
    turn.click()
    assert turn.inner_text() == LABELS["back_to_tonight"]
    assert all(part.is_visible() for part in [*parts, over_map])
    # So cold that what stands is lost; the low stays when the example is folded.
    turn_to(page, -10)
    assert signs.count() > 0
    assert faults_of_access(page) == []
    turn.click()
    is_of_tonight()
    turn.click()
    ask(page, "early")
    assert turn.is_hidden()
    ask(page, "tonight")
    is_of_tonight()
    opened.close()


@pytest.mark.parametrize("days", [-365, -1, 366, 3 * 365])
def test_before_and_after_the_months_of_the_plan_nothing_is_said_of_tonight(
    browser, map_file, plan, days
):
    """A plan of last year, or of next, knows no frost of this night: no false all-clear."""
    day = plan.weekly_jobs.starts + timedelta(days)
    page = tonight_on(day, browser, map_file)
    said = plain(page.page.locator(".answer:visible").inner_text())
    assert not said.startswith(LABELS["nothing_tonight"].partition("{day}")[0])
    assert LABELS["nothing_tonight"].rpartition("{day}")[2] not in said
    assert page.page.locator("#shown-on-map").is_hidden()
    assert page.page.locator("#example-turn").is_hidden()
    next_day = page.page.locator("#spell option:checked").inner_text()
    dated = plain(page.page.locator("#date-shown").inner_text())
    assert dated == LABELS["evenings_of"].format(run=next_day)
    page.close()


@pytest.mark.parametrize(
    ("day", "said"),
    [
        # Day 130, on which the first spinach is ripe; day 192, after the last of all.
        ("05-10", "Today, 10 May: {plots}"),
        ("07-11", "Today, 11 July: no crop stands in the beds until 10 April. Then"),
    ],
)
def test_what_grows_is_said_and_drawn_of_today(browser, map_file, plan, day, said):
    page = Page(browser, map_file, **DESKTOP)
    starts = plan.weekly_jobs.starts
    year = starts.year + (f"{starts:%m-%d}" > day)
    page.page.clock.set_fixed_time(f"{year}-{day}T12:00")
    page.page.reload()
    wait_until(page.page, READY)
    ask(page.page, "grows")
    plot = plan.beds[0].bed.plot
    crops = {each.bed: each.crop for each in plan.crop_plan.stays}
    answer = plain(page.page.locator(".answer:visible").inner_text())
    assert answer.startswith(said.format(plots=f"{plot} has "))
    drawn = {each["text"] for each in page.page.evaluate("fieldmap.field.words()")}
    stands = day == "05-10"
    assert any("spinach" in each.lower() for each in drawn) == stands
    for crop in set(crops.values()):
        assert crop in answer
    page.close()


def test_the_name_of_a_crop_finds_the_beds_on_which_it_grows(desktop, plan):
    """On any step of the season: those of the plan whose stay holds its day."""
    ask(desktop, "grows")
    first, second = (each.bed.name for each in plan.beds[:2])
    box, found = desktop.get_by_role("searchbox"), desktop.locator("#found")
    box.fill("spinach")
    shown = plain(found.inner_text())
    assert f"In {first} and {second} from 10 April to 9 June." in shown
    assert LABELS["not_found"].format(text="spinach") not in shown
    starts = plan.weekly_jobs.starts
    desktop.clock.set_fixed_time(f"{starts.year}-05-10T12:00")
    box.fill("Spin")
    assert plain(found.locator("li").first.inner_text()) == (
        LABELS["grows_on"].format(crop="Spinach", beds=f"{first} to {second}")
    )
    assert found.get_by_role("button").all_inner_texts()[0].startswith(first)
    desktop.keyboard.press("Enter")
    assert desktop.locator("#callout h2").inner_text().endswith(first)
    box.fill("")
