"""Crops as shipped and as the grower changed them, and which of them are wanted."""

import functools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib import resources
from typing import Any

from pydantic import BaseModel, ValidationError

from fieldmap.errors import Problem, SettingsError, SiteError, joined, problem
from fieldmap.model.crops import Crop, Ready, class_defaults
from fieldmap.model.settings import CropChoice
from fieldmap.read.door import SiteFile
from fieldmap.read.toml import Table, read_table, tables_in
from fieldmap.read.wording import (
    did_you_mean,
    either,
    fault_of_name,
    faults,
    nearest,
    quoted,
    said_by,
    what_is_right,
)

PACKAGED = "crops.toml"


@functools.cache
def packaged_crops() -> Mapping[str, Crop]:
    """The crops that come with fieldmap, by name."""
    return {
        name: Crop.model_validate({**table, "name": name})
        for name, table in _packaged_tables().items()
    }


def read_crops(file: SiteFile) -> Mapping[str, Crop]:
    """The crops that come with fieldmap, with a grower's changes and additions, by name.

    A table named as a crop, or by another name of it, changes the values it holds; any
    other is a new crop and holds them all.

    Raises
    ------
    SiteError
        With one sentence for every value that cannot be used.
    """
    shipped, known = _packaged_tables(), dict(packaged_crops())
    names = _names(known.values())
    begin = f"{file.name}:"
    seen: set[str] = set()
    problems: list[Problem] = []
    for written, table in read_table(file).items():
        name = names.get(_folded(written), written.strip())
        fault = _fault_of_table(written, table)
        if fault is None and _folded(name) in seen:
            fault = problem(
                "[{as_key}] stands twice; put both tables into one",
                as_key=_as_key(written),
            )
        if fault:
            problems += faults(begin, [fault])
            continue
        seen.add(_folded(name))
        values = {**shipped.get(name, {}), **table, "name": name}
        try:
            known[name] = Crop.model_validate(values)
        except ValidationError as error:
            for text in _texts(error, written, known):
                asks = str(text).endswith("?")
                problems.append(joined(begin, " ", text, "" if asks else "."))
    problems += faults(begin, _doubled_names(known.values()))
    if problems:
        raise SiteError(problems)
    return known


def choose(wanted: Sequence[CropChoice], crops: Mapping[str, Crop]) -> tuple[Crop, ...]:
    """The wanted crops, each under the name that the grower gave it.

    Where none is wanted, one record for each class, so that there are always dates.

    Raises
    ------
    SettingsError
        For every name that is no crop, or a crop named before.
    """
    if not wanted:
        return class_defaults(packaged_crops())
    names = _names(crops.values())
    chosen: dict[str, Crop] = {}
    problems = []
    for number, choice in enumerate(wanted, start=1):
        where = problem(
            "site.toml: name in [[crops]] number {number} is {name}",
            number=number,
            name=quoted(choice.name),
        )
        name = names.get(_folded(choice.name))
        if name is None:
            problems.append(joined(where, "; ", _right_name(choice.name, crops)))
        elif name in chosen:
            problems.append(
                problem(
                    "{where}; you named this crop already, so name it only once.",
                    where=where,
                )
            )
        else:
            chosen[name] = _as_chosen(choice, crops[name])
            problems += faults(joined(where, ";"), _amount_faults(choice, crops[name]))
    if problems:
        raise SettingsError(problems)
    return tuple(chosen.values())


def _as_chosen(choice: CropChoice, known: Crop) -> Crop:
    """A crop under the name, and with the days, that the grower gave it."""
    changed: dict[str, Any] = {
        "name": choice.name.strip(),
        "also": (known.name, *known.also),
    }
    if choice.ready_days is not None:
        changed["ready_days"] = Ready(
            value=float(choice.ready_days),
            picked="once" if known.is_picked_once else "repeatedly",
            source="site.toml",
        )
    return known.model_copy(update=changed)


def _amount_faults(choice: CropChoice, crop: Crop) -> Iterator[Problem]:
    """Why the amount that is wanted of a crop cannot be counted."""
    lacks = [
        key
        for key, is_asked in (
            ("spacing", choice.plants or choice.harvest),
            ("yield_kg_m", choice.harvest and choice.harvest.unit == "kg"),
        )
        if is_asked and getattr(crop, key) is None
    ]
    if lacks:
        yield problem(
            "fieldmap needs its {lacks} to count what you ask for; add this to"
            " {packaged}",
            lacks=lacks[0],
            packaged=PACKAGED,
        )
    if choice.harvest and choice.harvest.unit == "head" and crop.harvest_unit == "kg":
        yield problem("its harvest is counted by weight; ask for kg or lb a week")


def named(name: str, crops: Mapping[str, Crop]) -> Crop | None:
    """The crop that goes by a name, None where there is none."""
    kept = _names(crops.values()).get(_folded(name))
    return None if kept is None else crops[kept]


def _right_name(name: str, crops: Mapping[str, Crop]) -> Problem:
    others = [also for crop in crops.values() for also in crop.also]
    otherwise = problem(
        "it must be {right}, or a crop described in {packaged} in the site folder.",
        right=either(list(crops)),
        packaged=PACKAGED,
    )
    return did_you_mean(name, crops, did_you_mean(name, others, otherwise))


@functools.cache
def _packaged_tables() -> Mapping[str, Table]:
    source = resources.files("fieldmap.model") / PACKAGED
    with resources.as_file(source) as path:
        return read_table(SiteFile(path, PACKAGED))


def _folded(name: str) -> str:
    """A name as it is looked up: case, and the mark between words, do not count."""
    return " ".join(name.casefold().replace("_", " ").split())


def _names(crops: Iterable[Crop]) -> dict[str, str]:
    """Every name that a crop goes by, folded, and the name it is kept under."""
    crops = list(crops)
    others = {_folded(other): crop.name for crop in crops for other in crop.also}
    return others | {_folded(crop.name): crop.name for crop in crops}


def _doubled_names(crops: Iterable[Crop]) -> Iterator[Problem]:
    """Names that would stand for two crops."""
    owners: dict[str, str] = {}
    for crop in crops:
        for folded, name in {
            _folded(other): other for other in (crop.name, *crop.also)
        }.items():
            owner = owners.setdefault(folded, crop.name)
            if owner != crop.name:
                yield problem(
                    "{name} names both {one} and {other};"
                    " take it out of also in one of them",
                    name=quoted(name),
                    one=quoted(owner),
                    other=quoted(crop.name),
                )


def _fault_of_table(written: str, table: object) -> Problem | None:
    """What is wrong with a table before its values are looked at."""
    fault = fault_of_name(written)
    if fault:
        return problem("the name of a crop {fault}", fault=fault)
    line = f"[{_as_key(written)}]"
    if not isinstance(table, dict):
        return problem(
            "{written} is {table}; it must be a table that begins with a line {line}",
            written=quoted(written),
            table=quoted(table),
            line=line,
        )
    if "name" in table:
        return problem(
            "'name' is not a key of {line}; the name stands in that line", line=line
        )
    return None


def _as_key(name: str) -> str:
    """A crop's name as TOML writes it."""
    bare = name.isascii() and name.replace("-", "").replace("_", "").isalnum()
    return name if bare else f'"{name}"'


def _texts(
    error: ValidationError, written: str, known: Mapping[str, Crop]
) -> Iterator[Problem]:
    """Pydantic's findings on one crop in words, what is missing in one of them."""
    line = f"[{_as_key(written)}]"
    details = error.errors(include_url=False)
    lacking = [
        str(detail["loc"][0])
        for detail in details
        if detail["type"] == "missing" and len(detail["loc"]) == 1
    ]
    if lacking:
        near = nearest(written, known)
        yield problem(
            "{line} is a new crop and lacks {lacking}; add a line for each{perhaps}",
            line=line,
            lacking=", ".join(lacking),
            perhaps=problem(", or did you mean {near}?", near=quoted(near))
            if near
            else "",
        )
    for detail in details:
        if detail["type"] != "missing" or len(detail["loc"]) > 1:
            yield _text(detail, line)


def _text(detail: Any, line: str) -> Problem:
    kind, place = detail["type"], detail["loc"]
    if kind == "missing":
        return problem(
            "{key} in {line} lacks {missing}; write {form}",
            key=place[0],
            line=line,
            missing=place[1],
            form=_form(place[0]),
        )
    if kind == "extra_forbidden":
        return _unknown_key(place, line)
    where: Problem | str = line
    if place:  # of one value: "value of damage_c in [kale]"
        parts: list[Problem | str] = [str(place[-1])]
        for part in reversed(place[:-1]):
            parts += [problem(" of "), str(part)]
        where = problem("{inside} in {line}", inside=joined(*parts), line=line)
    if kind == "value_error":
        return joined(where, ": ", said_by(detail))
    right = what_is_right(detail)
    if place[0] == "also":
        right = problem('a list of names, such as ["sweetcorn"]')
    elif kind == "model_type":
        right = joined(_form(place[0]))
    return problem(
        "{where} is {value}; it must be {right}",
        where=where,
        value=quoted(detail["input"]),
        right=right,
    )


def _unknown_key(place: Sequence[str], line: str) -> Problem:
    owner: Problem | str = line
    known = _keys(Crop)
    if len(place) > 1:
        owner = problem("{key} in {line}", key=place[0], line=line)
        known = _keys(tables_in(Crop)[place[0]])
    otherwise = problem("its keys are {keys}", keys=either(known))
    return problem(
        "{key} is not a key of {owner}; {right}",
        key=quoted(place[-1]),
        owner=owner,
        right=did_you_mean(str(place[-1]), known, otherwise),
    )


def _form(key: str) -> str:
    """How a value is written, with what must stand beside it."""
    words = {"source": '"common practice"'}
    must = [
        f"{name} = {words.get(name, '...')}"
        for name, field in tables_in(Crop)[key].model_fields.items()
        if field.is_required()
    ]
    return f"{key} = {{ {', '.join(sorted(must, key=lambda part: 'source' in part))} }}"


def _keys(model: type[BaseModel]) -> list[str]:
    names = [field.alias or name for name, field in model.model_fields.items()]
    return [name for name in names if name != "name"]
