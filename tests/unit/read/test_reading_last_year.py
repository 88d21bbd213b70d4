"""What stood on the beds last year, as written and as refused."""

import pytest

from fieldmap.model.site import Stood


def write(site_folder, text, name="last_year.csv"):
    (site_folder.path / name).write_text(text, encoding="utf-8")


def test_without_the_file_nothing_stood(site_folder):
    assert site_folder.read().last_year == ()


def test_a_bed_has_a_line_for_each_crop(site_folder):
    """Families as botany has them; other names of a crop are known."""
    write(site_folder, "crop,Bed\nPeppers,A1\nlettuce,A1\n\nsnap bean,B2\n")
    assert site_folder.read().last_year == (
        Stood("A1", "Peppers", "Solanaceae"),
        Stood("A1", "lettuce", "Asteraceae"),
        Stood("B2", "snap bean", "Fabaceae"),
    )


def test_the_family_of_a_strange_crop_may_be_given(site_folder):
    write(site_folder, "bed,crop,family\nA1,sorrel,Polygonaceae\nA2,kale,\n")
    assert [stood.family for stood in site_folder.read().last_year] == [
        "Polygonaceae",
        "Brassicaceae",
    ]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("", ("no column 'bed'", "first line is bed,crop")),
        ("bed,plant\nA1,kale\n", ("no column 'crop'",)),
        ("bed,crop,crop\nA1,kale,kale\n", ("'crop' stands there twice",)),
        ("bed,crop,Famly\nA1,kale,x\n", ("'famly'", "did you mean 'family'?")),
        ("bed,crop\nA1\n", ("line 2 has 1 fields and the header 2",)),
        ("bed,crop\n,kale\n", ("line 2", "bed is empty")),
        ("bed,crop\nA1,\n", ("line 2", "crop is empty")),
        ('bed,crop\n"A\t1",kale\n', ("line 2", "control character")),
    ],
)
def test_what_is_wrong_is_reported_with_its_line(site_folder, says, text, parts):
    write(site_folder, text)
    says(site_folder.problems()[0], "last_year.csv", *parts)


def test_every_wrong_line_is_reported_at_once(site_folder):
    write(site_folder, "bed,crop\nA1,\n,kale\n")
    assert len(site_folder.problems()) == 2


def test_a_crop_that_nobody_knows_is_kept_without_a_family(site_folder):
    """What stood there is remarked on where beds are shared out, and stops nothing."""
    write(site_folder, "bed,crop\nA1,tomatoe\nA2,kale\n")
    assert site_folder.read().last_year == (
        Stood("A1", "tomatoe", None),
        Stood("A2", "kale", "Brassicaceae"),
    )


def test_a_file_that_is_named_must_be_there(site_folder, says):
    site_folder.toml('name = "Hill Farm"\n[files]\nlast_year = "beds_2025.csv"\n')
    says(site_folder.problem(), "beds_2025.csv is missing")


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ('seasons = "spring"', ('such as ["spring"]',)),
        ('seasons = ["summer"]', ("'summer'", "'spring', 'autumn' or 'winter'")),
        ("seasons = []", ("seasons is empty",)),
    ],
)
def test_wrong_seasons_are_refused(site_folder, says, line, parts):
    site_folder.toml(f'name = "Hill Farm"\n[[crops]]\nname = "lettuce"\n{line}\n')
    says(site_folder.problem(), *parts)


def test_fewer_minutes_than_none_are_refused(site_folder, says):
    site_folder.toml('name = "Hill Farm"\n[hands]\nminutes_in_the_morning = -3.0\n')
    says(site_folder.problem(), "minutes_in_the_morning in [hands]", "at least 0")
