"""Crops: what is shipped agrees with print, and a grower's own file is read with care."""

import re
import tomllib
from importlib import resources

import pytest

from fieldmap.errors import SettingsError, SiteError
from fieldmap.model.crops import (
    CLASS_NAMES,
    ClassDefault,
    is_planted,
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
    "hardy": {
        "collards",
        "endive",
        "kale",
        "kohlrabi",
        "lettuce",
        "mustard greens",
        "onion sets",
        "pea",
        "potato",
        "spinach",
        "swede",
        "turnip",
    },
    "half_hardy": {
        "beet",
        "broccoli",
        "Brussels sprouts",
        "cabbage",
        "carrot",
        "cauliflower",
        "celery",
        "chard",
        "parsnip",
        "radish",
    },
    "tender": {"snap bean", "sweet corn", "tomato"},
    "warm_loving": {
        "aubergine",
        "courgette",
        "cucumber",
        "melon",
        "pepper",
        "pumpkin",
        "squash",
    },
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
# Texas A&M Extension, realistic values where the least would lie for weeks [°F].
REALISTIC_F = {"beet": 45, "carrot": 45, "sweet corn": 55}
# Sown at 40 °F, as peas are, though they come up a little colder (common practice).
AS_PEAS = {"lettuce", "spinach"}
# Ranges in which damage is done to the plant [°C]: PMC10202904, Table 2, and Ventskevich
# 1961 as FAO's frost book has it (from memory).
DAMAGE_C = {
    "potato": (-3, 0),
    "snap bean": (-2, 0),
    "sweet corn": (-3, 0),
    "melon": (-2, 0),
    "tomato": (-1, 0),
    "cucumber": (-1, 0),
    "broccoli": (-7, -4),
    "pea": (-8, -2),
    "broad bean": (-6, -2),
    "lettuce": (-7, -2),
    "kale": (-7, -4),
    "cabbage": (-7, -4),
    "beet": (-7, -4),
    "onion sets": (-7, -4),
    "carrot": (-7, -4),
    "spinach": (-10, -7),
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


def test_what_is_planted_piece_by_piece_is_known_by_all_its_names():
    kept = [CROPS[name] for name in ("potato", "garlic", "onion sets", "winter onion")]
    names = {name for crop in kept for name in (crop.name, *crop.also)}
    every = {name for crop in CROPS.values() for name in (crop.name, *crop.also)}
    assert {name for name in every if is_planted(name)} == names


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
    others = {"broad bean", "basil", "corn salad", "garlic", "leek"}
    others |= {"seed onion", "winter onion", "rocket"}
    assert {crop.name for crop in CROPS.values()} - listed == others


@pytest.mark.parametrize("name", LEAST_TO_GERMINATE_F)
def test_seed_is_sown_from_the_published_soil_temperature(name):
    least_f = 40 if name in AS_PEAS else LEAST_TO_GERMINATE_F[name]
    least_c = (REALISTIC_F.get(name, least_f) - 32) / 1.8
    assert CROPS[name].sow_soil_c.value == pytest.approx(least_c, abs=0.051)
    assert REALISTIC_F.get(name, least_f) >= LEAST_TO_GERMINATE_F[name]


@pytest.mark.parametrize("name", DAMAGE_C)
def test_damage_lies_in_the_published_range_and_hardening_deepens_it(name):
    crop, (low, high) = CROPS[name], DAMAGE_C[name]
    stages = [crop.damage_c, crop.seedling_c, crop.soft_c]
    for each in filter(None, stages):
        assert each.at == "plant"
        assert low <= each.value <= high
    if crop.soft_c is not None:
        assert crop.damage_c.value < crop.soft_c.value


def test_what_a_night_does_is_judged_by_what_stands():
    """Carrots keep in the soil to -8 °C in the air, tops or none (common practice)."""
    carrot, kale = CROPS["carrot"], CROPS["kale"]
    assert carrot.standing_damage_c.screen_c == Estimate(-8, -8, -8)
    # Whether kale is hardened for winter is not known of a night.
    assert kale.standing_damage_c == kale.damage_c
    assert CROPS["broccoli"].standing_damage_c.value == -3
    assert CROPS["tomato"].standing_damage_c.value == 0


def test_leaves_stand_what_seedlings_do_until_they_flower_where_flowers_are_softer():
    """Ventskevich 1961: peas and broad beans -7 and -5 °C as seedlings, -3 in flower."""
    flowers = {name: crop for name, crop in CROPS.items() if crop.first_flower}
    leaves = {name: crop.leaf_damage_c.value for name, crop in flowers.items()}
    assert leaves == {"pea": -7.0, "broad bean": -5.0}
    assert {crop.damage_c.value for crop in flowers.values()} == {-3.0}
    assert {crop.late_damage_c.value for crop in flowers.values()} == {-3.0}
    # Of snap beans that is not known: those past the seedling count as in flower.
    bean = CROPS["snap bean"]
    assert bean.leaf_damage_c == bean.damage_c != bean.seedling_c


def test_what_stands_in_autumn_is_judged_by_what_is_harvested():
    """Spears are lost before leaves; roots keep and greens harden (common practice)."""
    late = {name: crop.late_damage_c for name, crop in CROPS.items()}
    assert late["broccoli"].value > CROPS["broccoli"].damage_c.value
    for name in ("carrot", "parsnip", "swede"):
        assert late[name].of == "root"
        assert late[name].value < CROPS[name].damage_c.screen_c.central
    overwinters = {name for name, crop in CROPS.items() if crop.overwinters}
    assert {"kale", "spinach", "leek", "corn salad", "garlic"} <= overwinters
    assert not overwinters & {"tomato", "lettuce", "carrot"}


@pytest.mark.parametrize(
    ("name", "at_c", "days"),
    [
        # Days to the appearance of seedlings (Oregon State University Extension, after
        # Harrington): carrot at 41 and 59 °F, lettuce, pea and spinach at 50 °F, snap
        # bean at 68 °F.
        ("carrot", 5, 51),
        ("carrot", 15, 10),
        ("lettuce", 10, 7),
        ("pea", 10, 14),
        ("spinach", 10, 12),
        ("snap bean", 20, 11),
        ("sweet corn", 10, 22),
    ],
)
def test_seedlings_appear_after_the_published_days(name, at_c, days):
    seen = CROPS[name].emergence
    assert dict(zip(seen.at_c, seen.days, strict=True))[at_c] == days


@pytest.mark.parametrize(
    ("name", "pounds"),
    [("carrot", 100), ("snap bean", 120), ("courgette", 150), ("pepper", 60)],
)
def test_a_metre_of_row_bears_what_kansas_state_expects(name, pounds):
    """MF315: `pounds` pounds of 0.45359 kg from 100 ft of 0.3048 m."""
    yield_kg_m = CROPS[name].yield_kg_m
    middle = (yield_kg_m.low + yield_kg_m.high) / 2
    assert middle == pytest.approx(pounds * 0.45359 / 30.48, abs=0.01)


def test_plants_on_a_metre_are_one_over_their_distance():
    assert CROPS["kale"].spacing.plants_per_m == pytest.approx(1 / 0.45)
    for crop in CROPS.values():
        if crop.spacing and crop.seeds_per_m and not crop.is_set_out:
            # Sown at least as thick as it is to stand.
            assert crop.seeds_per_m.value >= 0.98 * crop.spacing.plants_per_m, crop.name


def test_emergence_has_a_day_for_each_temperature(tmp_path):
    value = "emergence = { at_c = [5, 10], days = [20, 9, 7], source = 'x' }"
    (text,) = refusals(tmp_path, f"[kale]\n{value}\n")
    assert "at_c has 2 numbers and days has 3" in text
    value = "emergence = { at_c = [10, 5], days = [20, 9], source = 'x' }"
    (text,) = refusals(tmp_path, f"[kale]\n{value}\n")
    assert "at_c must rise" in text


def test_a_plant_temperature_becomes_one_of_the_screen_exactly_once(tmp_path):
    """2 °C, range 0 to 4, between leaf and screen on a clear calm night (from memory)."""
    assert CROPS["kale"].damage_c.screen_c == Estimate(-7, -5, -3)
    assert CROPS["kale"].early_damage_c(soft=True).screen_c == Estimate(-4, -2, 0)
    own = read(tmp_path, f"[chicory]{NEW}")["chicory"]
    assert own.damage_c.screen_c == Estimate(-3, -3, -3)
    chosen = choose(wanted("kale", "chicory"), {**CROPS, "chicory": own})
    assert [crop.damage_c.screen_c.central for crop in chosen] == [-5, -3]


def test_tender_crops_are_set_out_warmer_than_their_seed_needs():
    """Tomato comes up at 50 °F and is set out at 60 °F (University of Georgia CAES)."""
    tomato = CROPS["tomato"]
    assert (tomato.sow_soil_c.value, tomato.set_out_soil_c.value) == (10.0, 15.6)
    for crop in CROPS.values():
        if crop.sow_soil_c and crop.set_out_soil_c:
            assert crop.sow_soil_c.value <= crop.set_out_soil_c.value, crop.name


def test_colder_classes_stand_more_cold():
    central = [crop.damage_c.screen_c.central for crop in choose([], CROPS)]
    assert central == sorted(central)


def test_risks_are_given_in_words_people_use():
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
    crops = read(tmp_path, f'["winter purslane"]{NEW}also = ["miner\'s lettuce"]\n')
    assert list(crops) == [*CROPS, "winter purslane"]
    (chosen,) = choose(wanted("Miner's Lettuce"), crops)
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
            ("'damage' is not a key of [kale]", "'damage_c'"),
            id="misspelt-key",
        ),
        pytest.param(
            '[kale]\nbase_c = { valu = 4, value = 4, source = "x" }\n',
            ("'valu' is not a key of base_c in [kale]", "'value'"),
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
        pytest.param('[kale]\nname = "x"\n', ("'name' is not a key",), id="name"),
        pytest.param(
            '[tomatoe]\nalso = ["x"]\n',
            ("[tomatoe] is a new crop and lacks class, damage_c", "'tomato'"),
            id="misspelt-crop",
        ),
        pytest.param(
            f"[chicory]{NEW}".replace("sow_soil_c", "set_out_night_c"),
            ("[chicory]: give sow_soil_c, set_out_soil_c or both",),
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
        toml.write('\n[[crops]]\nname = "chicory"\nbeds = 2\ncovers = ["insect_net"]\n')
    (site_folder.path / "crops.toml").write_text(f"[chicory]{NEW}")
    site = site_folder.read()
    assert [crop.name for crop in site.crops] == ["chicory"]
    assert site.settings.crops[0].covers == ("insect_net",)
    assert "crops.toml" in site.input_hashes


def test_a_crop_that_no_file_describes_is_reported_with_the_rest(site_folder, says):
    with (site_folder.path / "site.toml").open("a") as toml:
        toml.write('\n[[crops]]\nname = "chicory"\n')
    (site_folder.path / "elevation.tif").unlink()
    heights, crop = sorted(site_folder.problems())
    says(heights, "elevation.tif")
    says(crop, "site.toml", "'chicory'")


def test_names_and_notes_that_people_read_can_be_translated():
    assert set(VOCABULARY["crops"]) == set(TABLES)
    notes = {table["shade_percent"].get("note") for table in TABLES.values()} - {None}
    assert set(VOCABULARY["shade_notes"]) == notes
