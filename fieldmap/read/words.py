"""Words of the sheets for learners, as a trainer wrote them: `words.toml`.

A table for each language, by the name that learners know it under:

    [Somali]
    hoop = "..."
"""

from collections.abc import Iterator

from fieldmap.errors import Problem, SiteError, joined, problem
from fieldmap.model.site import LEARNERS_WORDS, LONGEST_WORD, OwnWords
from fieldmap.read.door import SiteFile
from fieldmap.read.toml import Table, read_table
from fieldmap.read.wording import did_you_mean, fault_of_name, quoted

MOST_LANGUAGES = 3  # that stand under each other in one frame


def read_words(file: SiteFile) -> tuple[OwnWords, ...]:
    """The words of each language, in the order of the file.

    Raises
    ------
    SiteError
        With one sentence for everything that cannot be used.
    """
    table = read_table(file)
    found = [
        joined(f"{file.name}: ", fault, "" if str(fault).endswith("?") else ".")
        for fault in _faults(table)
    ]
    if found:
        raise SiteError(found)
    return tuple(
        OwnWords(language.strip(), {key: said.strip() for key, said in words.items()})
        for language, words in table.items()
    )


def _faults(table: Table) -> Iterator[Problem]:
    if len(table) > MOST_LANGUAGES:
        yield problem(
            "it has {count} languages; at most {most} fit on a sheet",
            count=len(table),
            most=MOST_LANGUAGES,
        )
    for language, words in list(table.items())[:MOST_LANGUAGES]:
        if not isinstance(words, dict):
            yield problem(
                "{key} stands outside a language; begin with a line [LANGUAGE], and put"
                " words below it",
                key=quoted(language),
            )
        elif fault := _fault_of_word(language):
            yield problem("the language {fault}", fault=fault)
        else:
            yield from _faults_of_words(language, words)


def _faults_of_words(language: str, words: Table) -> Iterator[Problem]:
    for key, said in words.items():
        where = {"language": quoted(language), "key": quoted(key)}
        if key not in LEARNERS_WORDS:
            yield problem(
                "{key} of {language} is not a word of the sheets; {hint}",
                **where,
                hint=did_you_mean(
                    key,
                    LEARNERS_WORDS,
                    problem("they are {words}", words=", ".join(LEARNERS_WORDS)),
                ),
            )
        elif not isinstance(said, str):
            yield problem(
                "{key} of {language} is {value}; write it in quotes",
                **where,
                value=quoted(said),
            )
        elif fault := _fault_of_word(said):
            yield problem("{key} of {language} {fault}", **where, fault=fault)


def _fault_of_word(said: str) -> Problem | None:
    """What is wrong with a word, as the end of a sentence."""
    fault = fault_of_name(said)
    if fault is None and len(said.strip()) > LONGEST_WORD:
        return problem(
            "({said}) has {count} characters; at most {most} fit",
            said=quoted(said),
            count=len(said.strip()),
            most=LONGEST_WORD,
        )
    return fault
