"""The day of planning: what is given is taken, and a slip is refused with what is right."""

from datetime import date, datetime

import pytest

from fieldmap.cli import _day
from fieldmap.errors import PlanError


def test_a_day_that_is_given_is_the_day_of_planning():
    assert _day("2027-03-15") == date(2027, 3, 15)


def test_without_one_the_clock_is_asked():
    before = datetime.now().astimezone().date()
    assert before <= _day("") <= datetime.now().astimezone().date()


@pytest.mark.parametrize("text", ["15.3.2027", "2027-02-30", "soon", "0027-03-15"])
def test_what_is_no_day_is_refused(says, text):
    with pytest.raises(PlanError) as refused:
        _day(text)
    says(str(refused.value), "--today", repr(text), "2027-03-15")
