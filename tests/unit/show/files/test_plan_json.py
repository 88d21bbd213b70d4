"""plan.json as text: what it holds is what went in, with a line for each record."""

import json

import pytest

from fieldmap.show.files import plan_json


def test_each_record_has_a_line_of_its_own():
    document = {"format": 2, "beds": [{"name": "A1"}, {"name": "Ü2"}], "none": []}
    text = plan_json.text(document)
    assert json.loads(text) == document
    assert text.splitlines() == [
        "{",
        ' "format": 2,',
        ' "beds": [',
        '  {"name": "A1"},',
        '  {"name": "Ü2"}',
        " ],",
        ' "none": []',
        "}",
    ]


def test_what_is_no_number_is_refused():
    with pytest.raises(ValueError, match="not JSON compliant"):
        plan_json.text({"beds": [{"sun": float("nan")}]})
