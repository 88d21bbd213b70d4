"""Texts, plurals and dates in another language, against CLDR's rules as Babel has them."""

import io
from datetime import date

import pytest
from babel.messages.pofile import read_po

from fieldmap import language
from fieldmap.language import _, plural, spoken

# Polish has three forms; the rule is CLDR's (one, few, many).
POLISH = r"""
msgid ""
msgstr ""
"Plural-Forms: nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && "
"(n%100<12 || n%100>14) ? 1 : 2);\n"

msgid "bed"
msgstr "zagon"

msgid "path"
msgstr ""

#, fuzzy
msgid "tunnel"
msgstr "tunelek"

msgid "one bed"
msgid_plural "{number} beds"
msgstr[0] "jeden zagon"
msgstr[1] "{number} zagony"
msgstr[2] "{number} zagonów"
"""


@pytest.fixture
def polish():
    catalogue = read_po(io.BytesIO(POLISH.encode()), locale="pl")
    return language.of_catalogue("pl_PL", catalogue)


def test_texts_are_translated_and_what_is_not_stays_english(polish):
    with spoken(polish):
        assert [_("bed"), _("path"), _("tunnel"), _("new")] == [
            "zagon",
            "path",
            "tunnel",
            "new",
        ]
    assert _("bed") == "bed"


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (1, "jeden zagon"),
        (3, "3 zagony"),
        (5, "5 zagonów"),
        (12, "12 zagonów"),
        (22, "22 zagony"),
    ],
)
def test_plurals_follow_the_rules_of_the_language(polish, number, said):
    with spoken(polish):
        assert plural("one bed", "{number} beds", number) == said


def test_dates_are_written_as_in_the_locale():
    # Forms of CLDR: day before month in Britain, after it in the United States.
    with spoken(language.language("en", "GB")):
        assert language.day(5, 24) == "24 May"
        assert language.date_in_words(date(2027, 4, 5)) == "5 April 2027"
    with spoken(language.language("en", "US")):
        assert language.day(5, 24) == "May 24"
        assert language.date_in_words(date(2027, 4, 5)) == "April 5, 2027"
    with spoken(language.Language("es", "es_ES")):
        assert language.day(5, 24) == "24 de mayo"
        assert language.month_name(3) == "marzo"


def test_lines_run_from_right_to_left_where_the_script_does():
    assert language.Language("ar", "ar_EG").right_to_left
    assert not language.Language("es", "es_ES").right_to_left


def test_a_language_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(ValueError, match="no language 'xx'; there are en"):
        language.language("xx", "XX")
