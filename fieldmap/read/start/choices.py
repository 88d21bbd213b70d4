"""`site.toml` with other answers, and all else of it as a person wrote it."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.container import Container
from tomlkit.exceptions import ConvertError
from tomlkit.items import AoT, Comment, Item, Null, Table, Whitespace

from fieldmap.errors import site_error
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.wording import quoted

# What says which of several tables alike is meant.
NAMES = ("name", "kind", "item", "weather")


def with_answers(text: str, answers: Iterable[tuple[Sequence[str], Any]]) -> str:
    r"""The text of `site.toml` after some answers, each a place of keys and a value.

    None takes a line out. A list of tables replaces those of its name; a table whose name
    stays keeps its comments.

    Raises
    ------
    SiteError
        When a value stands where a table must be.

    Examples
    --------
    >>> print(with_answers("[beds]\ntape_m = 30  # ours", [(("beds", "tape_m"), 50)]))
    [beds]
    tape_m = 50  # ours
    """
    document = _parsed(text)
    for place, value in answers:
        _answer(document, place, value)
    return _written(document, text)


def with_more(text: str, key: str, row: Mapping[str, Any]) -> str:
    """The text of `site.toml` with one more table of a name, after those there are.

    Parameters
    ----------
    text
        The text of `site.toml` as it is.
    key
        Name of the tables, such as "what_if".
    row
        Keys and values of the new one; a value of None is left out.
    """
    document = _parsed(text)
    there = document.get(key)
    if not isinstance(there, AoT):
        there = tomlkit.aot()
        document.append(key, there)
    _add(there, row)
    return _written(document, text)


def _parsed(text: str) -> TOMLDocument:
    """A text with an end to its last line: what is moved before others must not join them."""
    return tomlkit.parse(text if _ends(text) else text + "\n")


def _written(document: TOMLDocument, before: str) -> str:
    """The text of a document, whose last line ends as that of the text before it did."""
    written = tomlkit.dumps(document)
    return written if _ends(before) else written.removesuffix("\n")


def _ends(text: str) -> bool:
    return text == "" or text.endswith("\n")


def _answer(table: Any, place: Sequence[str], value: Any) -> None:
    key, *rest = place
    if rest:
        if key not in table:
            if value is None:
                return
            _add_table(table, key)
        if not isinstance(table[key], Mapping):
            raise site_error(
                "{file}: {key} is {value}, and must be a table; write it as [{key}].",
                file=CHOICES_FILE,
                key=key,
                value=quoted(str(table[key])),
            )
        _answer(table[key], rest, value)
    elif value is None or value == []:
        _remove(table, key)
    elif isinstance(value, list) and all(isinstance(row, Mapping) for row in value):
        _tables(table, key, value)
    elif key not in table or _differs(table[key], value):
        try:
            item = tomlkit.item(value)
        except ConvertError:  # as of nothing in a list
            raise site_error(
                "{file}: {key} is {value}, which no file of this kind can hold.",
                file=CHOICES_FILE,
                key=quoted(key),
                value=quoted(str(value)),
            ) from None
        if key in table:
            table[key] = item
        else:
            _add_value(table, key, item)


def _add_value(table: Any, key: str, item: Item) -> None:
    """A new value after the last one; what is said above the next header stays there."""
    if not isinstance(table, TOMLDocument | Table):  # in braces, or in several places
        table[key] = item
        return
    body = _body(table)
    headed = (at for at, each in enumerate(body) if _has_header(*each))
    end = next(headed, len(body))
    said: list[Item] = []
    while end > len(said) and _is_said(*body[end - len(said) - 1]):
        said.insert(0, body[end - len(said) - 1][1])
    # Places are numbered in a document: what is taken out leaves nothing in its place.
    for at in range(end - len(said), end):
        body[at] = (None, Null())
    following = _first(body[end][1]) if end < len(body) else None
    table[key] = item
    if following is None:
        _body(table).extend((None, each) for each in said)
    else:
        above = "".join(each.as_string() for each in said)
        following.trivia.indent = above + following.trivia.indent


def _has_header(key: Any, item: Any) -> bool:
    """Whether an item of a body stands below a header of its own, as a table does."""
    return isinstance(item, Table | AoT) and key is not None and not key.is_dotted()


def _is_said(key: Any, item: Any) -> bool:
    """Whether an item of a body is no value: a comment or an empty line."""
    return key is None and isinstance(item, Comment | Whitespace | Null)


def _add_table(table: Any, key: str) -> None:
    """A new table; what is said after the last value of its own table ends it."""
    tail = _tail(table) if isinstance(table, Table) else []
    table[key] = tomlkit.table()
    _move(tail, table[key])


def _differs(was: Any, value: Any) -> bool:
    """Whether a value says something else; 2 says what 2.0 does, and stays as written."""
    plain = was.unwrap() if isinstance(was, Item) else was
    return bool(plain != value) or isinstance(plain, bool) != isinstance(value, bool)


def _tables(document: Any, key: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Tables of one name: those that stay in place, others taken out or added."""
    there = document.get(key)
    if not isinstance(there, AoT):
        if there is not None:
            document.remove(key)
        there = tomlkit.aot()
        document.append(key, there)
    was = list(there)
    known = [_name(table) for table in was]
    for row in rows:
        if _name(row) in known:
            at = known.index(_name(row))
            known[at] = None
            for gone in [each for each in was[at] if row.get(each) is None]:
                was[at].remove(gone)
            for each, value in row.items():
                _answer(was[at], (each,), value)
        else:
            _add(there, row)
    gone = [number for number, name in enumerate(known) if name is not None]
    for number in reversed(gone):
        _keep_tail(document, key, number)
        del there[number]


def _name(table: Mapping[str, Any]) -> str | None:
    named = next((table[key] for key in NAMES if key in table), None)
    return None if named is None else str(named)


def _add(tables: AoT, row: Mapping[str, Any]) -> None:
    """One more table; the comment that stood above whatever follows stays there."""
    new = tomlkit.table()
    for each, value in row.items():
        if value is not None:
            _answer(new, (each,), value)
    if len(tables):
        above_next = _tail(tables[-1])
        tables[-1].add(tomlkit.nl())
        _move(above_next, new)
    else:
        new.trivia.indent = "\n"  # an empty line sets them off from what is before
    tables.append(new)


def _remove(table: Any, key: str) -> None:
    """Take out a value, or all tables of a name."""
    there = table.get(key)
    if isinstance(there, AoT):
        for number in reversed(range(len(there))):
            _keep_tail(table, key, number)
            del there[number]
    if key in table:
        table.remove(key)


def _keep_tail(document: Any, key: str, number: int) -> None:
    """Leave the comment that stands above whatever follows a table where it stands."""
    there = document[key]
    tail = _tail(there[number])
    before = there[number - 1] if number else _before(document, key)
    if before is not None:
        _move(tail, before)
    elif (after := _after(document, key, number)) is not None:
        # No table to end with it: it becomes part of what stands before the next header.
        said = "".join(item.as_string() for item in tail)
        after.trivia.indent = said + after.trivia.indent
    else:
        _body(document).extend((None, item) for item in tail)


def _body(table: Any) -> list[tuple[Any, Item]]:
    """The items of a document or table, comments and empty lines among them."""
    found: list[tuple[Any, Item]]
    found = table.body if isinstance(table, Container) else table.value.body
    return found


def _place(document: Any, key: str) -> int:
    """Where in the body of a document the tables of a name stand."""
    return [
        None if each is None else each.key for each, _item in _body(document)
    ].index(key)


def _before(document: Any, key: str) -> Any:
    """The table before some of one name, None where they come first."""
    earlier = reversed(_body(document)[: _place(document, key)])
    return next(filter(None, (_last(item) for _key, item in earlier)), None)


def _after(document: Any, key: str, number: int) -> Any:
    """The table after one of a name, None where that is the last of all."""
    if number + 1 < len(document[key]):
        return document[key][number + 1]
    later = _body(document)[_place(document, key) + 1 :]
    return next(filter(None, (_first(item) for _key, item in later)), None)


def _first(item: Any) -> Any:
    """The table whose header begins an item of a document, None where it has none."""
    if isinstance(item, AoT):
        return item[0] if len(item) else None
    if isinstance(item, Table) and item.is_super_table():  # it has a header below alone
        below = (_first(each) for _key, each in item.value.body)
        return next(filter(None, below), None)
    return item if isinstance(item, Table) else None


def _last(item: Any) -> Any:
    """The table that ends an item of a document, None where it is none."""
    if isinstance(item, AoT):
        return item[-1] if len(item) else None
    return item if isinstance(item, Table) else None


def _tail(table: Table) -> list[Item]:
    """Comments and empty lines after the last value, taken out of their table."""
    body = table.value.body
    end = len(body)
    while (
        end
        and body[end - 1][0] is None
        and isinstance(body[end - 1][1], Comment | Whitespace)
    ):
        end -= 1
    tail = [item for _key, item in body[end:]]
    del body[end:]
    return tail


def _move(items: Iterable[Item], table: Any) -> None:
    for item in items:
        table.value.body.append((None, item))
