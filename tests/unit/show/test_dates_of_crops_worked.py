"""Dates as the map says them, in the order of the language that is read."""

import pytest

from fieldmap.show.text.language import of_site, spoken
from fieldmap.show.text.map.beds import out_from

MAY = [(5, 18), (5, 24), (5, 30)]
INTO_JUNE = [(5, 18), (5, 24), (6, 1)]


@pytest.mark.parametrize(
    ("language", "units", "days", "said"),
    [
        ("en", "metric", MAY, "leek from 24 May (18 to 30 May)"),
        ("en", "us", MAY, "leek from May 24 (May 18 to 30)"),
        ("en", "metric", INTO_JUNE, "leek from 24 May (18 May to 1 June)"),
        ("en", "us", INTO_JUNE, "leek from May 24 (May 18 to June 1)"),
        ("en", "us", [(5, 3), (5, 3), (5, 3)], "leek from May 3"),
        ("en", "metric", [(5, 3), (5, 3), None], "leek from 3 May (3 May to never)"),
    ],
)
def test_the_month_of_a_range_within_it_is_said_once(language, units, days, said):
    with spoken(of_site(language, units)):
        assert out_from("leek", days) == said


@pytest.mark.parametrize("days", [[None, None, None], [(5, 3), None, None]], ids=str)
def test_a_crop_that_is_likely_never_out_has_no_date(days):
    assert "leek" in out_from("leek", days)
    assert "May" not in out_from("leek", days)
