"""Names in a sentence: lists and runs of them, and what things of the data are called."""

import itertools
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from fieldmap.decide.layout.beds import joined
from fieldmap.model.crops import is_planted, packaged_name
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units

MOST_NAMED = 5  # more are a wall of names (a choice)
MOST_PLACES = 8  # of a job, which has to be found in the field (a choice)
HAND_M = 0.1  # between parts of a bed that count as one (a choice)
INSIDE = re.compile(
    r"T\d+/\d+"
)  # beds inside walk-in tunnels, see `tunnels.floor_beds`


def cover_name(kind: str) -> str:
    """A kind of cover as it is called in a sentence.

    Examples
    --------
    >>> cover_name("light_fabric"), cover_name("slitted_film")
    ('light fabric', 'slitted film')
    """
    return _(texts(__name__, "covers")[kind])


def glossary() -> list[tuple[str, str]]:
    """The words of map, sheets and docs, each with its meaning, in the order of the work."""
    words = texts("fieldmap.show.text.glossary", "words").values()
    return [(_(each["word"]), _(each["meaning"])) for each in words]


def explained(key: str) -> tuple[str, str]:
    """A word of the glossary, by its key there, with its meaning.

    Examples
    --------
    >>> explained("path")
    ('path', 'The way between two beds.')
    """
    each = texts("fieldmap.show.text.glossary", "words")[key]
    return _(each["word"]), _(each["meaning"])


def alphabetical(words: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Words with their meanings as a dictionary has them: accents and large letters alike.

    Examples
    --------
    >>> alphabetical([("risk", "r"), ("área", "a"), ("Bed", "b")])
    [('área', 'a'), ('Bed', 'b'), ('risk', 'r')]
    """
    return sorted(words, key=lambda word: _plain_letters(word[0]))


def _plain_letters(text: str) -> str:
    split = unicodedata.normalize("NFKD", text.casefold())
    return "".join(each for each in split if not unicodedata.combining(each))


def listed(names: Sequence[str]) -> str:
    """Names as a list within a sentence.

    Examples
    --------
    >>> listed(["tomato"]), listed(["tomato", "pepper", "squash"])
    ('tomato', 'tomato, pepper and squash')
    """
    if len(names) < 2:
        return "".join(names)
    return _("{most} and {last}").format(most=", ".join(names[:-1]), last=names[-1])


def crop(name: str) -> str:
    """A crop as growers say it in a sentence; one that the user named keeps its name.

    Examples
    --------
    >>> crop("carrot"), crop("kale"), crop("Aunt Mary's bean")
    ('carrots', 'kale', "Aunt Mary's bean")
    """
    return _(texts(__name__, "crops_in_sentences").get(name, name))


def start_word(crop: str, start: str) -> str:
    """Which text says how a crop is begun: "sow", "set out" or "plant".

    Parameters
    ----------
    start
        "sow" or "set out".

    Examples
    --------
    >>> start_word("carrot", "sow"), start_word("potato", "sow")
    ('sow', 'plant')
    """
    return "plant" if start == "sow" and is_planted(crop) else start


def harvest_word(crop: str) -> str:
    """Which text says how a crop is taken.

    Examples
    --------
    >>> [harvest_word(crop) for crop in ("tomato", "lettuce", "potato", "beetroot")]
    ['pick', 'cut', 'dig', 'pull']
    """
    crop = packaged_name(crop)
    work = texts(__name__, "crop_work")
    ways = {"cut": "cut", "dug": "dig", "pulled": "pull"}
    return next((word for way, word in ways.items() if crop in work[way]), "pick")


def bed(name: str) -> str:
    """A bed as it is called in a sentence: those inside walk-in tunnels by their tunnel.

    Examples
    --------
    >>> bed("A12"), bed("T1/2")
    ('A12', 'bed 2 in tunnel T1')
    """
    return _run_inside([name]) if INSIDE.fullmatch(name) else name


def on_beds(
    runs: Iterable[Sequence[str]],
    parts: Sequence[tuple[str, float, float]],
    units: Units,
    order: Sequence[str] = (),
) -> list[str]:
    """Beds that are taken whole and beds that are taken in part, in one order.

    Parameters
    ----------
    runs
        Names of whole beds, neighbours together.
    parts
        Names of beds, and where a part starts and ends, from the gate end [m]. Parts of
        one bed may be several, in any order.
    units
        "metric" or "us".
    order
        Names of beds in order; what it lacks comes last, by name, tunnel by tunnel.

    Examples
    --------
    >>> parts = [("A5", 1.0, 12.5), ("A5", 17.0, 29.0), ("A8", 0.0, 6.0)]
    >>> on_beds([("A7",)], parts[:2], "metric")
    ['A5 (in 2 parts: 1 to 12.5 m and 17 to 29 m from the end near the gate)', 'A7']
    >>> on_beds([("T1/1", "T1/2", "T1/3"), ("A9", "A10")], parts[2:], "metric")
    ['A8 (only the 6 m nearest the gate)', 'A9', 'A10', 'beds 1 to 3 in tunnel T1']

    Parts that touch are one:

    >>> on_beds([], [("A5", 12.0, 18.0), ("A5", 6.0, 12.0)], "metric")
    ['A5 (6 to 18 m from the end near the gate)']

    Runs that go on in the order are one, and a tunnel is named once:

    >>> on_beds([("A1",), ("A2", "A3")], [], "metric", ["A1", "A2", "A3"])
    ['A1 to A3']
    >>> on_beds([("T1/1", "T1/2")], [("T1/3", 0.0, 6.0)], "metric")
    ['beds 1 and 2 in tunnel T1', 'bed 3 (only the 6 m nearest the gate) in the same tunnel']

    Metres of several beds would be a wall of numbers:

    >>> on_beds([("A7",)], parts, "metric")
    ['A7', 'parts of A5 and A8 (touch a bed on the map to see which part)']
    """
    place = _places(tuple(order))

    def key(bed: str) -> tuple[object, ...]:
        return place.get(bed, len(place)), *_by_name(bed)

    whole = _runs_joined(sorted(runs, key=lambda run: key(run[0])), place)
    said = [(run[0], each) for run in whole for each in _of_run(run)]
    in_part = sorted({name for name, *_ends in parts}, key=key)
    if len(in_part) == 1:
        before = [name for name, _said in said if key(name) < key(in_part[0])]
        said.append((in_part[0], _beside(before[-1:], parts, units)))
    in_order = [each for _bed, each in sorted(said, key=lambda pair: key(pair[0]))]
    if len(in_part) > 1:
        several = _(texts(__name__, "parts")["several"])
        in_order.append(several.format(beds=listed([*map(bed, in_part)])))
    return in_order


def on_each_bed(
    beds: Sequence[str],
    parts: Sequence[tuple[str, float, float]],
    units: Units,
    order: Sequence[str],
) -> str:
    """Beds as `on_beds` names them, and of each that is taken in part which metres.

    Examples
    --------
    >>> parts = [("A2", 6.0, 12.0), ("A4", 0.0, 6.0)]
    >>> on_each_bed(["A1", "A2", "A4"], parts, "metric", ["A1", "A2", "A3", "A4"])
    'A1, A2 (6 to 12 m from the end near the gate) and A4 (only the 6 m nearest the gate)'
    """
    in_part = dict.fromkeys(name for name, *_ends in parts)
    whole = beds_in_runs([name for name in beds if name not in in_part], order)
    of_parts = [
        on_beds([], [part for part in parts if part[0] == name], units, order)
        for name in in_part
    ]
    return listed([*on_beds(whole, [], units, order), *itertools.chain(*of_parts)])


@lru_cache(maxsize=50_000)  # the beds of a large farm, many times over
def _by_name(bed: str) -> tuple[object, ...]:
    """By what beds sort that no order has: numbers as numbers, those in tunnels last."""
    pieces = re.split(r"(\d+)", bed)
    inside = INSIDE.fullmatch(bed) is not None
    return inside, [int(each) if at % 2 else each for at, each in enumerate(pieces)]


def _runs_joined(
    runs: Iterable[Sequence[str]], place: Mapping[str, int]
) -> list[list[str]]:
    """Runs in order; those that go on where the one before ends are one."""
    joined: list[list[str]] = []
    for run in runs:
        ends = place.get(joined[-1][-1]) if joined else None
        if ends is not None and place.get(run[0]) == ends + 1:
            joined[-1].extend(run)
        else:
            joined.append(list(run))
    return joined


def _beside(
    before: Sequence[str], parts: Sequence[tuple[str, float, float]], units: Units
) -> str:
    """A bed in part, its tunnel not named again where the bed before it is in it too."""
    name = parts[0][0]
    tunnel, _slash, number = name.rpartition("/")
    is_same = any(each.rpartition("/")[0] == tunnel for each in before)
    if not (is_same and INSIDE.fullmatch(name)):
        return _in_part(bed(name), parts, units)
    in_part = _in_part(_("bed {number}").format(number=number), parts, units)
    return _("{bed} in the same tunnel").format(bed=in_part)


def _in_part(
    called: str, parts: Sequence[tuple[str, float, float]], units: Units
) -> str:
    """A bed and its stretches; the nearest to the gate by its length alone."""
    apart = joined([(start_m, end_m) for _name, start_m, end_m in parts], HAND_M)
    start_m, end_m = apart[0]
    stretches = [quantities.length_range(ends, units) for ends in apart]
    one = "nearest" if start_m == 0 else "from_gate"
    key = one if len(apart) == 1 else "in_parts"
    return _(texts(__name__, "parts")[key]).format(
        bed=called,
        number=len(apart),
        stretches=listed(stretches),
        length=quantities.length(end_m, units),
    )


def _of_run(names: Sequence[str]) -> list[str]:
    """Neighbouring beds as first to last; two of them one by one."""
    if len(names) == 2 and not INSIDE.fullmatch(names[0]):
        return list(names)
    return [run(names)]


def some(names: Sequence[str]) -> str:
    """The first of many names, neighbours as first to last, and how many more there are.

    Examples
    --------
    >>> some(["A1", "A2", "A3", "B1"]), some(["T1/1", "T1/2", "Oak"])
    ('A1 to A3 and B1', 'beds 1 and 2 in tunnel T1 and Oak')
    >>> some(["A1", "A3", "A5", "A7", "A8", "B1", "B3"])
    'A1, A3, A5, A7, A8, B1 and 1 more'
    """
    runs: list[list[str]] = []
    for name in names:
        if runs and _is_next(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    shown = [each for run in runs[:MOST_NAMED] for each in _of_run(run)]
    left = sum(map(len, runs[MOST_NAMED:]))
    if not left:
        return listed(shown)
    return _("{beds} and {number} more").format(beds=", ".join(shown), number=left)


def _is_next(before: str, name: str) -> bool:
    """Whether two names differ by one in the number at their end."""
    first, second = (re.fullmatch(r"(.*?)(\d+)", each) for each in (before, name))
    if first is None or second is None or first[1] != second[1]:
        return False
    return int(second[2]) == int(first[2]) + 1


def few(places: Sequence[str]) -> str:
    """The first of many places on beds, how many more there are, and where they stand.

    Examples
    --------
    >>> few(["A1", "A3"])
    'A1 and A3'
    >>> few(["A1", "A3", "A5", "A7", "A9", "A11", "A13", "B1", "B3 (0 to 6 m)"])
    'A1, A3, A5, A7, A9, A11, A13 and 2 more places (what_where.csv lists all)'
    """
    if len(places) <= MOST_PLACES:
        return listed(places)
    shown = places[: MOST_PLACES - 1]
    return _("{places} and {number} more places (what_where.csv lists all)").format(
        places=", ".join(shown), number=len(places) - len(shown)
    )


def either(names: Sequence[str]) -> str:
    """Names as a choice.

    Examples
    --------
    >>> either(["film"]), either(["film", "fabric"])
    ('film', 'film or fabric')
    """
    if len(names) < 2:
        return "".join(names)
    return _("{most} or {last}").format(most=", ".join(names[:-1]), last=names[-1])


def started(sentence: str) -> str:
    """A sentence with its first letter large.

    Examples
    --------
    >>> started("all beds: A1 to C3.")
    'All beds: A1 to C3.'
    """
    return sentence[:1].upper() + sentence[1:]


def short(name: str, most: int) -> str:
    """A name on one line, cut to at most a number of letters.

    Examples
    --------
    >>> short("The  Long Hedge", 10)
    'The Long …'
    """
    line = " ".join(name.split())
    return line if len(line) <= most else line[: most - 1] + "…"


def run(names: Sequence[str]) -> str:
    """Beds or days that follow each other, by the first and the last of them.

    Examples
    --------
    >>> run(["A1"]), run(["A1", "A2", "A3"])
    ('A1', 'A1 to A3')
    """
    if INSIDE.fullmatch(names[0]):
        return _run_inside(names)
    if names[0] == names[-1]:
        return names[0]
    return _("{first} to {last}").format(first=names[0], last=names[-1])


def alike(names: Sequence[str]) -> str:
    """Beds that follow each other and are alike.

    Examples
    --------
    >>> alike(["A1"]), alike(["A1", "A2"]), alike(["A1", "A2", "A3"])
    ('A1', 'A1 and A2', 'A1 to A3')
    """
    return listed(names) if len(names) == 2 else run(names)


def runs_of_beds(names: Sequence[str], order: Sequence[str]) -> str:
    """Names of beds in order, runs of neighbours as first to last.

    Examples
    --------
    >>> runs_of_beds(["A3", "A1", "A2", "B1"], ["A1", "A2", "A3", "A4", "B1"])
    'A1 to A3 and B1'

    Those that the order lacks, inside walk-in tunnels, come last, tunnel by tunnel:

    >>> runs_of_beds(["T2/1", "T1/1", "T1/2", "A1"], ["A1"])
    'A1, beds 1 and 2 in tunnel T1 and bed 1 in tunnel T2'
    """
    return listed([each for run in beds_in_runs(names, order) for each in _of_run(run)])


def beds_in_runs(names: Sequence[str], order: Sequence[str]) -> list[list[str]]:
    """Runs of neighbours, as `runs_of_beds` lists them."""
    place = _places(tuple(order))
    lacking = set(names) - place.keys()
    if lacking:
        place, before = dict(place), ""
    for name in sorted(lacking, key=lambda name: (len(name), name)):
        tunnel = name.rpartition("/")[0]
        # A place is left between tunnels, which are no neighbours.
        place[name] = max(place.values(), default=0) + (1 if tunnel == before else 2)
        before = tunnel
    runs: list[list[str]] = []
    for name in sorted(set(names), key=place.__getitem__):
        if runs and place[runs[-1][-1]] + 1 == place[name]:
            runs[-1].append(name)
        else:
            runs.append([name])
    return runs


def _run_inside(names: Sequence[str]) -> str:
    """Neighbouring beds inside a walk-in tunnel, by the tunnel's name."""
    tunnel, _slash, first = names[0].rpartition("/")
    last = names[-1].rpartition("/")[2]
    if not tunnel:
        return run(names)
    if first == last:
        return _("bed {first} in tunnel {tunnel}").format(first=first, tunnel=tunnel)
    text = (
        _("beds {first} and {last} in tunnel {tunnel}")
        if len(names) == 2
        else _("beds {first} to {last} in tunnel {tunnel}")
    )
    return text.format(first=first, last=last, tunnel=tunnel)


@lru_cache(maxsize=8)  # asked of a few orders, many times over
def _places(order: tuple[str, ...]) -> dict[str, int]:
    return {name: at for at, name in enumerate(order)}


def ordinal(number: int) -> str:
    """A place in an order.

    Examples
    --------
    >>> [ordinal(n) for n in (1, 2, 3, 4, 11, 22)]
    ['1st', '2nd', '3rd', '4th', '11th', '22nd']
    """
    if number % 100 in (11, 12, 13):
        return _("{number}th").format(number=number)
    last = {1: _("{number}st"), 2: _("{number}nd"), 3: _("{number}rd")}
    return last.get(number % 10, _("{number}th")).format(number=number)


def doubtful(name: str | None) -> str:
    """What is drawn and not known well enough to count, by its name if it has one.

    Examples
    --------
    >>> doubtful("Old Shed"), doubtful(None)
    ('Old Shed ?', '?')
    """
    return f"{name} ?" if name else "?"
