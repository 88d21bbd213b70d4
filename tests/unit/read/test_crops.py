"""Crops: what is shipped agrees with print, and a grower's own file is read with care."""

import re
import tomllib
from importlib import resources

import pytest

from fieldmap.errors import SettingsError, SiteError
from fieldmap.model.crops import (
    CLASS_NAMES,
    ClassDefault,
)
from fieldmap.model.estimate import Estimate
from fieldmap.model.settings import CropChoice, Risks
from fieldmap.read.crops import choose, packaged_crops, read_crops
from fieldmap.read.door import SiteFile
from fieldmap.show.text.catalogue import texts

CROPS = packaged_crops()
VOCABULARY = texts("fieldmap.show.text.names", "vocabulary")
TABLES = tomllib.loads(
    (resources.files("fieldmap.model") / "crops.toml").read_text(encoding="utf-8")
)

# Purdue HO-203, Effects of Cold Weather on Horticultural Plants in Indiana (after
# University of Illinois VC 14): very hardy, frost tolerant, tender, warm loving.
HO_203 = {
    "hardy": {"kale", "lettuce", "onion sets", "pea", "potato", "spinach"},
    "half_hardy": {
        "beet",
        "broccoli",
        "cabbage",
        "carrot",
        "celery",
        "chard",
        "radish",
    },
    "tender": {"snap bean", "sweet corn", "tomato"},
    "warm_loving": {"aubergine", "cucumber", "melon", "pepper", "squash"},
}
# Harrington & Minges 1954 as Oregon State University Extension prints it [°F].
LEAST_TO_GERMINATE_F = {
    "snap bean": 60,
    "beet": 40,
    "cabbage": 40,
    "carrot": 40,
    "chard": 40,
    "sweet corn": 50,
    "cucumber": 60,
    "aubergine": 60,
    "lettuce": 35,
    "melon": 60,
    "onion sets": 35,
    "pea": 40,
    "pepper": 60,
    "radish": 40,
    "spinach": 35,
    "squash": 60,
    "tomato": 50,
}
# PMC10202904, Table 2: warmest end of the range in which damage is done [°C]; broccoli
# by its spears, lettuce and pea as grown in spring. Tomato and cucumber are left out:
# their range reaches into chill above freezing.
DAMAGE_BEGINS_C = {
    "potato": 0,
    "snap bean": 0,
    "sweet corn": 0,
    "melon": 0,
    "broccoli": -2,
    "pea": -2,
    "lettuce": -2,
    "kale": -4,
    "cabbage": -4,
    "beet": -4,
    "onion sets": -4,
    "carrot": -4,
    "spinach": -7,
}
NEW = """
class = { value = "hardy", source = "common practice" }
damage_c = { value = -3, at = "screen", source = "my own beds" }
sow_soil_c = { value = 5, source = "common practice" }
base_c = { value = 4, source = "from memory" }
days_to_maturity = { low = 40, high = 60, counted_from = "sowing", source = "my beds" }
best_light_mol = { low = 10, high = 15, source = "from memory" }
heat_limit_c = { value = 28, source = "from memory" }
shade_percent = { low = 0, high = 0, source = "from memory" }
"""


def read(folder, text):
    path = folder / "crops.toml"
    path.write_text(text, encoding="utf-8")
    return read_crops(SiteFile(path, "crops.toml"))


def refusals(folder, text):
    with pytest.raises(SiteError) as refused:
        read(folder, text)
    for sentence in map(str, refused.value.problems):
        assert sentence.startswith("crops.toml: "), sentence
        assert "\n" not in sentence
        assert re.search(r"[^?.][?.]$", sentence), sentence
    return [str(each) for each in refused.value.problems]


def wanted(*names):
    return [CropChoice(name=name) for name in names]


@pytest.mark.parametrize("name", TABLES)
def test_every_value_has_a_source(name):
    for key, value in TABLES[name].items():
        if key == "also":
            continue
        source = value["source"]
        # A work has a year, a number, an institution or a name in capitals.
        named_work = re.search(r"\d|[A-Z]", source)
        assert source in {"common practice", "from memory"} or named_work, key


@pytest.mark.parametrize("name", TABLES)
def test_a_crop_that_is_set_out_says_how_warm_the_soil_must_be(name):
    crop = CROPS[name]
    growth = crop.days_to_maturity
    if growth is not None and growth.counted_from == "setting_out":
        assert crop.set_out_soil_c is not None
    if crop.set_out_night_c is not None:
        assert crop.set_out_soil_c is not None
    assert crop.family is not None


def test_classes_are_those_that_purdue_publishes():
    for crop_class, crops in HO_203.items():
        for name in crops:
            assert CROPS[name].crop_class.value == crop_class, name
    listed = set().union(*HO_203.values())
    assert {crop.name for crop in CROPS.values()} - listed == {"broad bean", "basil"}


@pytest.mark.parametrize("name", LEAST_TO_GERMINATE_F)
def test_seed_is_sown_from_the_published_least_soil_temperature(name):
    least_c = (LEAST_TO_GERMINATE_F[name] - 32) / 1.8
    assert CROPS[name].sow_soil_c.value == pytest.approx(least_c, abs=0.051)


@pytest.mark.parametrize("name", DAMAGE_BEGINS_C)
def test_damage_is_kept_at_the_height_and_value_of_its_source(name):
    assert CROPS[name].damage_c.at == "plant"
    assert CROPS[name].damage_c.value == DAMAGE_BEGINS_C[name]


def test_a_plant_temperature_becomes_one_of_the_screen_exactly_once(tmp_path):
    """2 °C, range 0 to 4, between leaf and screen on a clear calm night (from memory)."""
    for name, damage_c in DAMAGE_BEGINS_C.items():
        low, central, high = CROPS[name].screen_damage_c
        assert (low, central, high) == (damage_c, damage_c + 2, damage_c + 4)
    own = read(tmp_path, f"[rocket]{NEW}")["rocket"]
    assert own.screen_damage_c == Estimate(-3, -3, -3)
    chosen = choose(wanted("kale", "rocket"), {**CROPS, "rocket": own})
    assert [crop.screen_damage_c.central for crop in chosen] == [-2, -3]


def test_tender_crops_are_set_out_warmer_than_their_seed_needs():
    """Tomato comes up at 10 °C and is set out at 15 °C: common practice."""
    tomato = CROPS["tomato"]
    assert (tomato.sow_soil_c.value, tomato.set_out_soil_c.value) == (10.0, 15.0)
    for crop in CROPS.values():
        if crop.sow_soil_c and crop.set_out_soil_c:
            assert crop.sow_soil_c.value <= crop.set_out_soil_c.value, crop.name


def test_colder_classes_stand_more_cold():
    central = [crop.screen_damage_c.central for crop in choose([], CROPS)]
    assert central == sorted(central)


def test_risks_are_told_in_words_people_use():
    """1 year in 10, 1 in 5, 1 in 2: common practice, no source."""
    risks = Risks()
    assert [1 / risks.of(crop_class) for crop_class in CLASS_NAMES] == [2, 5, 10, 10]


def test_without_names_there_is_one_record_for_each_class():
    defaults = choose([], CROPS)
    assert [crop.crop_class.value for crop in defaults] == list(CLASS_NAMES)
    for crop in defaults:
        assert isinstance(crop, ClassDefault)
        assert crop.name not in CROPS
        assert crop.damage_c == CROPS[crop.like].damage_c
        assert crop.family is None


def test_crops_keep_the_order_and_the_names_of_the_grower():
    chosen = choose(wanted("eggplant", "Sweet_Corn", "kale"), CROPS)
    assert [crop.name for crop in chosen] == ["eggplant", "Sweet_Corn", "kale"]
    assert chosen[0].family.value == "Solanaceae"


@pytest.mark.parametrize(
    ("names", "parts"),
    [
        pytest.param(
            ("kale", "tomatoe"), ("number 2", "'tomatoe'", "'tomato'"), id="misspelt"
        ),
        pytest.param(("egplant",), ("'egplant'", "'eggplant'"), id="other-name"),
        pytest.param(("zzz",), ("'zzz'", "lettuce, ", "crops.toml"), id="unknown"),
        pytest.param(
            ("aubergine", "eggplant"), ("number 2", "'eggplant'", "once"), id="twice"
        ),
    ],
)
def test_a_wrong_name_is_refused_with_the_nearest_right_one(says, names, parts):
    with pytest.raises(SettingsError) as refused:
        choose(wanted(*names), CROPS)
    (problem,) = map(str, refused.value.problems)
    says(problem, "site.toml: name in [[crops]]", *parts)
    assert re.search(r"[^?.][?.]$", problem)


def test_a_grower_changes_one_value_and_keeps_the_rest(tmp_path):
    text = '[eggplant]\nheat_limit_c = { value = 36, source = "my own beds" }\n'
    crops = read(tmp_path, text)
    assert crops["aubergine"].heat_limit_c.value == 36
    assert crops["aubergine"].damage_c == CROPS["aubergine"].damage_c
    assert {name: crop for name, crop in crops.items() if name != "aubergine"} == {
        name: crop for name, crop in CROPS.items() if name != "aubergine"
    }


def test_a_grower_adds_a_crop(tmp_path):
    crops = read(tmp_path, f'["corn salad"]{NEW}also = ["lamb\'s lettuce"]\n')
    assert list(crops) == [*CROPS, "corn salad"]
    (chosen,) = choose(wanted("Lamb's Lettuce"), crops)
    assert chosen.damage_c.source == "my own beds"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        pytest.param("kale = 3\n", ("'kale' is 3", "[kale]"), id="no-table"),
        pytest.param(
            "[kale]\ndamage_c = -5\n",
            ("damage_c in [kale] is -5", "{ value = ..., at = ..., source = "),
            id="bare-number",
        ),
        pytest.param(
            '[kale]\ndamage_c = { value = -5, at = "plant" }\n',
            ("damage_c in [kale] lacks source", '"common practice"'),
            id="no-source",
        ),
        pytest.param(
            '[kale]\nbase_c = { value = "4", source = "x" }\n',
            ("value of base_c in [kale] is '4'", "a number, without quotes"),
            id="quotes",
        ),
        pytest.param(
            '[kale]\nbase_c = { value = 40, source = "" }\n',
            ("source of base_c in [kale] is ''", "at least one character"),
            id="empty-source",
        ),
        pytest.param(
            '[kale]\nheat_limit_c = { value = 90, source = "x" }\n',
            ("value of heat_limit_c", "90", "at most 45"),
            id="fahrenheit",
        ),
        pytest.param(
            '[kale]\ndamage_c = { value = -5, at = "leaf", source = "x" }\n',
            ("at of damage_c", "'leaf'", "'plant' or 'screen'"),
            id="height",
        ),
        pytest.param(
            '[kale]\nclass = { value = "tough", source = "x" }\n',
            ("value of class in [kale]", "'tough'", "'hardy'"),
            id="class",
        ),
        pytest.param(
            "[kale]\ndamage = 3\n",
            ("'damage' is no key of [kale]", "'damage_c'"),
            id="misspelt-key",
        ),
        pytest.param(
            '[kale]\nbase_c = { valu = 4, value = 4, source = "x" }\n',
            ("'valu' is no key of base_c in [kale]", "'value'"),
            id="misspelt-inner-key",
        ),
        pytest.param(
            '[kale]\nshade_percent = { low = 50, high = 40, source = "x" }\n',
            ("shade_percent in [kale]", "50", "40"),
            id="wrong-order",
        ),
        pytest.param(
            '["broad bean"]\nalso = "fava"\n',
            ("also in [\"broad bean\"] is 'fava'", "a list of names"),
            id="also",
        ),
        pytest.param(
            '[kale]\nalso = ["lettuce"]\n',
            ("'lettuce' names both 'lettuce' and 'kale'",),
            id="one-name-for-two",
        ),
        pytest.param('[kale]\nname = "x"\n', ("'name' is no key",), id="name"),
        pytest.param(
            '[tomatoe]\nalso = ["x"]\n',
            ("[tomatoe] is a new crop and lacks class, damage_c", "'tomato'"),
            id="misspelt-crop",
        ),
        pytest.param(
            f"[rocket]{NEW}".replace("sow_soil_c", "set_out_night_c"),
            ("[rocket]: give sow_soil_c, set_out_soil_c or both",),
            id="no-start",
        ),
        pytest.param("[kale]\n[Kale]\n", ("[Kale] stands twice",), id="twice"),
        pytest.param('[" "]\n', ("the name of a crop is empty",), id="nameless"),
        pytest.param("[kale\n", ("line 1", "key = value"), id="syntax"),
    ],
)
def test_a_wrong_value_is_refused_in_one_sentence(tmp_path, says, text, parts):
    problems = refusals(tmp_path, text)
    assert len(problems) == 1, problems
    says(problems[0], *parts)


def test_a_site_folder_brings_its_own_crops(site_folder):
    assert len(site_folder.read().crops) == 4
    with (site_folder.path / "site.toml").open("a") as toml:
        toml.write('\n[[crops]]\nname = "rocket"\nbeds = 2\ncovers = ["insect_net"]\n')
    (site_folder.path / "crops.toml").write_text(f"[rocket]{NEW}")
    site = site_folder.read()
    assert [crop.name for crop in site.crops] == ["rocket"]
    assert site.settings.crops[0].covers == ("insect_net",)
    assert "crops.toml" in site.input_hashes


def test_a_crop_that_no_file_describes_is_told_with_the_rest(site_folder, says):
    with (site_folder.path / "site.toml").open("a") as toml:
        toml.write('\n[[crops]]\nname = "rocket"\n')
    (site_folder.path / "weather.csv").unlink()
    weather, crop = sorted(site_folder.problems(), reverse=True)
    says(weather, "weather.csv")
    says(crop, "site.toml", "'rocket'")


def test_names_and_notes_that_people_read_can_be_translated():
    assert set(VOCABULARY["crops"]) == set(TABLES)
    notes = {table["shade_percent"].get("note") for table in TABLES.values()} - {None}
    assert set(VOCABULARY["shade_notes"]) == notes
