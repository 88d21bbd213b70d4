"""How few words answer each question of the demo, before anything is opened."""

import pytest
from browser import DESKTOP, PHONE, Page

FEWER_THAN = 60

# Figures on the scale of a ramp are read one by one, so its words do not count.
SHOWN = """() => {
  const shown = kind => document.querySelector(`.${kind}.view:not([hidden])`);
  const scale = shown('legend').querySelector('.ramp');
  return [shown('answer').innerText, shown('legend').innerText, scale ? scale.innerText : ''];
}"""


# The same at each step of a question, from the first to the last.
EACH_STEP = """async () => {
  const [before, next] = ['#step-before', '#step-next'].map(each => document.querySelector(each));
  while (!before.disabled) before.click();
  const shown = [SHOWN];
  while (!next.disabled) {
    next.click();
    shown.push(SHOWN);
  }
  return shown;
}""".replace("SHOWN", f"({SHOWN})()")


def count(shown):
    answer, legend, scale = (len(each.split()) for each in shown)
    return answer + legend - scale


@pytest.fixture(scope="module", params=[DESKTOP, PHONE], ids=["desktop", "phone"])
def page(request, browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **request.param)
    yield shown.page
    shown.close()


def test_answer_and_legend_of_each_question_have_under_sixty_words(page):
    counts = {}
    for answer in page.locator(".answer.view").all():
        view = answer.get_attribute("data-view")
        key, _slash, at = view.partition("/")
        page.evaluate("([key, at]) => fieldmap.ask(key, at)", [key, int(at)])
        counts[view] = count(page.evaluate(SHOWN))
    assert len(counts) > 20  # months and changes too
    assert {key: n for key, n in counts.items() if n >= FEWER_THAN} == {}


def test_each_week_of_what_grows_where_is_said_in_under_sixty_words(page):
    page.evaluate("fieldmap.ask('grows', 0)")
    counts = [count(shown) for shown in page.evaluate(EACH_STEP)]
    assert len(counts) > 20
    assert max(counts) < FEWER_THAN
