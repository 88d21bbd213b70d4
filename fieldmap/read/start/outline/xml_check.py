"""An XML file before a library sees it: its root, and nothing that grows when read.

Entities, and with them the document types that declare them, are refused: an entity of
entities takes the memory of the machine, and one of a file reads what it likes.
"""

from xml.parsers import expat

from fieldmap.errors import Problem, SiteError, problem

MOST_ELEMENTS = 2_000_000
MOST_PLACES = 300_000
_PLACES = {"trkpt", "rtept", "wpt"}
DEEPEST = 40  # folders in folders; what programs write lies 12 deep


def check(text: bytes, name: str, root: str) -> None:
    """Raise SiteError unless these bytes are XML of this root, without entities.

    Parameters
    ----------
    text
        The whole content of the file.
    name
        Of the file, for messages.
    root
        Name that the outermost element must have, without its prefix.

    Raises
    ------
    SiteError
        When the root is another, the XML is damaged, declares a document type or
        entities, or holds more parts or places than are read.
    """
    reader = expat.ParserCreate()
    count, depth, places = 0, 0, 0

    def starts(tag: str, _attributes: dict[str, str]) -> None:
        nonlocal count, depth, places
        count, depth = count + 1, depth + 1
        places += tag in _PLACES
        if count == 1 and tag.rsplit(":", maxsplit=1)[-1] != root:
            raise SiteError(_no_root(name, tag, root))
        if places > MOST_PLACES:
            raise SiteError(too_many_places(name, places))
        if depth > DEEPEST or count > MOST_ELEMENTS:
            raise SiteError(
                problem(
                    "{file} holds more than is read ({count:,} parts, {depth} deep);"
                    " export one walk or one drawing alone.",
                    file=name,
                    count=count,
                    depth=depth,
                )
            )

    def ends(_tag: str) -> None:
        nonlocal depth
        depth -= 1

    def refuse(*_declaration: object) -> None:
        raise SiteError(
            problem(
                "{file} declares a document type or entities, which no program for"
                " walks needs; export it again.",
                file=name,
            )
        )

    reader.StartElementHandler, reader.EndElementHandler = starts, ends
    reader.StartDoctypeDeclHandler = refuse
    try:
        reader.Parse(text, True)  # noqa: FBT003  (its name is isfinal)
    # Besides what is damaged, encodings that nobody knows, and those of several bytes.
    except (expat.ExpatError, LookupError, ValueError) as error:
        raise SiteError(
            problem(
                "{file} breaks off or is damaged ({error}); export it again.",
                file=name,
                error=str(error),
            )
        ) from error


def too_many_places(name: str, count: int) -> Problem:
    """What to say of a file of more places than are read."""
    return problem(
        "{file} holds {count:,} places and more; fieldmap reads at most {most:,}."
        " Keep the walk around the plot alone.",
        file=name,
        count=count,
        most=MOST_PLACES,
    )


def _no_root(name: str, tag: str, root: str) -> Problem:
    return problem(
        "{file} begins with <{tag}>, and not with <{root}> as its name says; export it"
        " again.",
        file=name,
        tag=tag[:60],
        root=root,
    )
