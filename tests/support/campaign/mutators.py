"""Ways to spoil a file, each from a random source: `spoil(kind, content, random)`.

A mutator takes the bytes of a file and gives others. Those of a form know its grammar;
those of bytes take any file.
"""

import copy
import io
import json
import lzma
import re
import struct
import tomllib
import zipfile
import zlib
from collections.abc import Callable
from datetime import date, datetime, time
from random import Random
from typing import Any

from campaign.grammar import GRAMMARS

Mutator = Callable[[bytes, Random], bytes]

BY_GRAMMAR = 0.4  # of all cases
# Over what any file but a grid may hold (40 MB): the campaign itself stays small.
MOST_BYTES = 60_000_000

NUMBERS = (
    *(0, -1, 1, 2, 10**6, -(10**6), 10**18, 2**63 - 1, 2**63, -(2**63) - 1, 10**400),
    *(0.0, -0.0, 1e-320, 1e308, -1e308, 5e-324, 0.1, 180.0, 360.0, 90.0001, 1e16),
    *(float("inf"), float("-inf"), float("nan")),
)
TEXTS = (
    *("", " ", "a", "x" * 10_000, "0", "-1", "1e999", "nan", "inf", "true", "null"),
    *(
        "\0",
        "a\nb",
        "a\tb",
        "\r",
        "\x1b[31mred",
        "\u202eevil",
        "\u2066x\u2069",
        "\u2028",
    ),
    *("=1+1", ";=1+1", "@SUM(1)", "+cmd|' /C calc'!A0", "\t=1", "<script>1</script>"),
    *("../outside/secret.csv", "/etc/passwd", "C:\\x", "/dev/stdin", "\\\\host\\share"),
    *("http://127.0.0.1:9/x", "/vsicurl/http://127.0.0.1:9/x", "/vsizip/x.zip/a"),
    *("{0}", "{file}", "%s", "%n", "${HOME}", "`id`", "' OR 1=1", '"', "'''", '"""'),
    *("😀", "é", "e\u0301", "ﷺ" * 50, "\ufeff", "\U0010ffff", "ı", "ẞ", "1,5", "٣"),
    *("2016-02-30", "0001-01-01", "9999-12-31", "2016-W01-1", "20160101", "31.12.2016"),
    *("tomato", "Plot 1", "PLOT 1", "A1", "auto", "none", "EPSG:0", "EPSG:4978"),
)


# ------------------------------------------------------------- any file
def _at(content: bytes, random: Random) -> int:
    return random.randrange(len(content) + 1)


def flip_bits(content: bytes, random: Random) -> bytes:
    spoiled = bytearray(content)
    for _ in range(random.choice((1, 1, 2, 8, 64))):
        if spoiled:
            spoiled[random.randrange(len(spoiled))] ^= 1 << random.randrange(8)
    return bytes(spoiled)


def set_bytes(content: bytes, random: Random) -> bytes:
    spoiled = bytearray(content)
    for _ in range(random.choice((1, 2, 16))):
        if spoiled:
            spoiled[random.randrange(len(spoiled))] = random.choice(
                (0, 255, 127, 128, 10, 34, 44, 59)
            )
    return bytes(spoiled)


def set_numbers(content: bytes, random: Random) -> bytes:
    """Whole numbers and floats of the extreme kind, as binary files keep them."""
    spoiled = bytearray(content)
    form = random.choice(("<i", ">i", "<q", "<d", ">d", "<h", "<f"))
    value = (
        random.choice((0, 1, -1, 2**15 - 1))
        if form[1] == "h"
        else random.choice((0, 1, -1, 2**31 - 1, -(2**31)))
    )
    made = struct.pack(
        form,
        random.choice((float("nan"), float("inf"), 1e300, -1.0))
        if form[1] == "d"
        else value,
    )
    at = min(_at(content, random), random.choice((64, 256, 4096, len(content))))
    spoiled[at : at + len(made)] = made
    return bytes(spoiled)


def cut(content: bytes, random: Random) -> bytes:
    return content[: _at(content, random)]


def cut_beginning(content: bytes, random: Random) -> bytes:
    return content[_at(content, random) :]


def take_out(content: bytes, random: Random) -> bytes:
    start = _at(content, random)
    return content[:start] + content[start + random.choice((1, 2, 7, 100, 1000)) :]


def double(content: bytes, random: Random) -> bytes:
    start = _at(content, random)
    block = content[start : start + random.choice((1, 4, 50, 1000))]
    return content[:start] + block * random.choice((2, 3, 100)) + content[start:]


def insert_noise(content: bytes, random: Random) -> bytes:
    start = _at(content, random)
    return (
        content[:start] + random.randbytes(random.choice((1, 4, 100))) + content[start:]
    )


def blank(content: bytes, random: Random) -> bytes:
    start = _at(content, random)
    size = random.choice((1, 8, 200))
    return content[:start] + bytes(size) + content[start + size :]


def swap_blocks(content: bytes, random: Random) -> bytes:
    one, two, three = sorted(_at(content, random) for _ in range(3))
    return content[:one] + content[two:three] + content[one:two] + content[three:]


def nothing(content: bytes, random: Random) -> bytes:
    return random.choice(
        (b"", b"\n", b"\0" * 1000, b" " * 100_000, b"\xff\xfe", content * 2)
    )


ELSEWHERE = (
    b'<OGRVRTDataSource><OGRVRTLayer name="plots"><SrcDataSource>%(path)s</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>',
    b"<OGRWFSDataSource><URL>%(url)s</URL></OGRWFSDataSource>",
    b'<GDAL_WMS><Service name="TMS"><ServerUrl>%(url)s</ServerUrl></Service></GDAL_WMS>',
    b"<WCS_GDAL><ServiceURL>%(url)s</ServiceURL><CoverageName>x</CoverageName></WCS_GDAL>",
    b'<VRTDataset rasterXSize="9" rasterYSize="9"><VRTRasterBand dataType="Float32" band="1"><SimpleSource><SourceFilename>%(path)s</SourceFilename></SimpleSource></VRTRasterBand></VRTDataset>',
    b'{"type":"FeatureCollection","crs":{"type":"link","properties":{"href":"%(url)s"}},"features":[]}',
    b'{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"%(url)s"}},"features":[]}',
    b'{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"%(path)s"}},"features":[]}',
    b'{"type":"Topology","objects":{},"arcs":[]}',
    b'{"type":"FeatureCollection","stac_version":"1.0.0","links":[{"rel":"next","href":"%(url)s"}],"features":[]}',
    b'<PAMDataset><Metadata domain="OVERVIEWS"><MDI key="OVERVIEW_FILE">%(path)s</MDI></Metadata></PAMDataset>',
    b'<PAMDataset><SRS>PROJCS["x",GEOGCS["y",DATUM["z",SPHEROID["s",6378137,298],EXTENSION["PROJ4_GRIDS","%(path)s"]],PRIMEM["G",0],UNIT["d",0.0174]],PROJECTION["Transverse_Mercator"],UNIT["metre",1]]</SRS></PAMDataset>',
    b'GEOGCS["y",DATUM["z",SPHEROID["s",6378137,298],EXTENSION["PROJ4_GRIDS","%(path)s"]],PRIMEM["G",0],UNIT["d",0.0174]]',
    b"+proj=longlat +nadgrids=%(path)s +type=crs",
    b"%(url)s\n",
    b"/vsicurl/%(url)s",
    b"SQLite format 3\0" + bytes(52) + b"GPKG" + bytes(100),
    b"\x00\x00\x27\x0a" + bytes(200),
    b"II*\0\x08\0\0\0\xff\xff" + b"\xff" * 400,
    b"PK\x05\x06" + b"\xff" * 18,
)


def another_format(content: bytes, random: Random) -> bytes:
    """What begins as another kind of file, or leads elsewhere."""
    made = random.choice(ELSEWHERE)
    return made.replace(b"%(url)s", b"http://127.0.0.1:@PORT@/x").replace(
        b"%(path)s", b"@OUTSIDE@/secret.csv"
    )


BYTES: tuple[Mutator, ...] = (
    flip_bits,
    set_bytes,
    set_numbers,
    cut,
    cut_beginning,
    take_out,
    double,
    insert_noise,
    blank,
    swap_blocks,
    nothing,
    another_format,
)


# ------------------------------------------------------------- text
def encoded(content: bytes, random: Random) -> bytes:
    text = content.decode("utf-8", "replace")
    return random.choice(
        (
            b"\xef\xbb\xbf" + content,
            text.encode("utf-16"),
            text.encode("utf-32"),
            text.encode("latin-1", "replace") + b"\xe9",
            content.replace(b"\n", b"\r\n"),
            content.replace(b"\n", b"\r"),
            content.replace(b"\n", b"\n\n"),
            content.replace(b"\n", "\u2028".encode()),
            content + b"\x1a",
            b"\xef\xbb\xbf\xef\xbb\xbf" + content,
            content.replace(b"a", b"\xed\xa0\x80", 1),
        )
    )


def spoil_number(content: bytes, random: Random) -> bytes:
    """One number of a text becomes an extreme one or no number."""
    found = list(re.finditer(rb"-?\d+\.?\d*", content))
    if not found:
        return content
    one = random.choice(found)
    new = (
        str(
            random.choice(
                (*NUMBERS, *TEXTS[:11], "1_000", "0x10", "1e5", "--1", "9" * 5000)
            )
        )
        if random.random() < 0.9
        else ""
    )
    return (
        content[: one.start()]
        + new.encode("utf-8", "surrogatepass")
        + content[one.end() :]
    )


def spoil_word(content: bytes, random: Random) -> bytes:
    found = list(re.finditer(rb"[A-Za-z_]\w*", content))
    if not found:
        return content
    one = random.choice(found)
    return content[: one.start()] + random.choice(TEXTS).encode() + content[one.end() :]


TEXT: tuple[Mutator, ...] = (encoded, spoil_number, spoil_word)


# ------------------------------------------------------------- lines and columns
def _lines(content: bytes) -> list[bytes]:
    return content.split(b"\n")


def spoil_lines(content: bytes, random: Random) -> bytes:
    lines = _lines(content)
    at = random.randrange(len(lines))
    how = random.randrange(8)
    if how == 0:
        del lines[at]
    elif how == 1:
        lines.insert(at, lines[random.randrange(len(lines))])
    elif how == 2:
        other = random.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    elif how == 3:
        lines[at] = lines[at][: random.randrange(len(lines[at]) + 1)]
    elif how == 4:
        lines = lines[:1]
    elif how == 5:
        lines = lines[1:]
    elif how == 6:
        random.shuffle(lines)
    else:
        lines = [lines[0]] + lines[1:2] * random.choice((1, 3, 5000))
    return b"\n".join(lines)


def spoil_columns(content: bytes, random: Random) -> bytes:
    """One row, or every row, with fields that are too many, too few or wrong."""
    lines = _lines(content)
    every = random.random() < 0.3
    chosen = (
        range(len(lines))
        if every
        else [random.randrange(min(len(lines), random.choice((1, 3, 10**6))))]
    )
    how, text = random.randrange(9), random.choice(TEXTS).encode()
    at = random.randrange(12)
    for line in chosen:
        fields = lines[line].split(b",")
        place = at % len(fields)
        if how == 0:
            fields.append(text)
        elif how == 1:
            fields.pop(place)
        elif how in (2, 3, 4):
            fields[place] = text
        elif how == 5:
            fields[place] = str(random.choice(NUMBERS)).encode()
        elif how == 6:
            fields = fields[::-1]
        elif how == 7:
            fields.insert(place, fields[place])
        else:
            fields[place] = b'"' + fields[place]
        lines[line] = b",".join(fields)
    return b"\n".join(lines)


def other_separator(content: bytes, random: Random) -> bytes:
    return content.replace(b",", random.choice((b";", b"\t", b"|", b", ", b" ", b",,")))


def huge_table(content: bytes, random: Random) -> bytes:
    lines = _lines(content)
    return random.choice(
        (
            content + b"," * 200_000,
            lines[0] + b"\n" + b"1," * 300_000,
            lines[0] + b"\n" + b'"' + b"x\n" * 100_000,
            lines[0] + b"\n" + b"x" * 300_000,
            b"\n" * 300_000 + content,
        )
    )


CSV: tuple[Mutator, ...] = (
    spoil_lines,
    spoil_columns,
    spoil_columns,
    other_separator,
    huge_table,
)


# ------------------------------------------------------------- tables in tables
def _places(value: Any, place: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    return [
        place,
        *(each for key, one in inner for each in _places(one, (*place, key))),
    ]


def _value(random: Random) -> Any:
    """Any value of any type."""
    simple = random.choice(
        (random.choice(NUMBERS), random.choice(TEXTS), True, False, None)
    )
    return random.choice(
        (
            simple,
            simple,
            simple,
            [simple],
            [],
            {},
            {"a": simple},
            [[simple]],
            [simple] * 12,
            {"value": simple, "source": "x"},
            [{"name": simple}],
            date(2016, 2, 29),
        )
    )


def _changed(table: Any, random: Random) -> Any:
    table = copy.deepcopy(table)
    places = _places(table)
    place = random.choice(places[1:] or places)
    if not place:
        return _value(random)
    owner = table
    for key in place[:-1]:
        owner = owner[key]
    key, how = place[-1], random.randrange(7)
    if how <= 2:
        owner[key] = _value(random)
    elif how == 3:
        del owner[key]
    elif how == 4 and isinstance(owner, dict):
        owner[random.choice(TEXTS)] = owner.pop(key)
    elif how == 5:
        other = random.choice(places)
        found = table
        for step in other:
            found = found[step]
        owner[key] = copy.deepcopy(found)
    elif isinstance(owner[key], int | float) and not isinstance(owner[key], bool):
        owner[key] = random.choice(NUMBERS)
    elif isinstance(owner[key], str):
        owner[key] = random.choice(TEXTS)
    else:
        owner[key] = [owner[key]] * random.choice((1, 2, 50))
    return table


def json_node(content: bytes, random: Random) -> bytes:
    table = json.loads(content)
    for _ in range(random.choice((1, 1, 1, 2, 5))):
        table = _changed(table, random)
    return json.dumps(table, default=str).encode("utf-8", "surrogatepass")


def many_of_one(content: bytes, random: Random) -> bytes:
    """Shapes over and over, all on one place: each may be asked about each other."""
    table = json.loads(content)
    shapes = table["features"]
    count = random.choice((2, 400, 501, 6000))
    table["features"] = [
        {**shapes[number % len(shapes)], "properties": {"name": f"n{number}"}}
        for number in range(count)
    ]
    return json.dumps(table).encode()


def json_written(content: bytes, random: Random) -> bytes:
    """What only the writing of a file can hold."""
    text = content.decode()
    return random.choice(
        (
            text.replace("[", "[" * 3000, 1),
            text.replace(": ", ": " + "[" * 100_000, 1),
            text.replace(":", ":{" * 2000, 1),
            text.replace("{", '{"type":"FeatureCollection",', 1),
            text.replace(
                "{",
                '{"CRS":{"Type":"Link","properties":{"href":"http://127.0.0.1:@PORT@/"}},',
                1,
            ),
            re.sub(
                r"\d+\.\d+",
                random.choice(
                    ("NaN", "-Infinity", "1e400", "9" * 5000, "1.5.5", "0x1")
                ),
                text,
                count=1,
            ),
            text.replace('"name"', '"\\ud800"', 1),
            text.replace("Plot 1", "\\u202ePlot"),
            text + text,
            text + " " * 2_000_000,
            text.replace(",", ",\n" * 1000, 2),
            text.replace('"', "'"),
        )
    ).encode("utf-8", "surrogatepass")


def toml_text(value: Any) -> str:
    """A value as TOML writes it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return (
            "{ "
            + ", ".join(
                f"{json.dumps(str(k))} = {toml_text(v)}" for k, v in value.items()
            )
            + " }"
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_text, value)) + "]"
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    if isinstance(value, int | float):
        return str(value)
    return "''" if value is None else json.dumps(value)


def toml_node(content: bytes, random: Random) -> bytes:
    table = tomllib.loads(content.decode())
    for _ in range(random.choice((1, 1, 1, 2, 5))):
        table = _changed(table, random)
    if not isinstance(table, dict):
        return toml_text(table).encode("utf-8", "surrogatepass")
    return "\n".join(
        f"{json.dumps(str(k))} = {toml_text(v)}" for k, v in table.items()
    ).encode("utf-8", "surrogatepass")


def toml_written(content: bytes, random: Random) -> bytes:
    text = content.decode()
    return random.choice(
        (
            "a = " + "[" * 3000 + "]" * 3000,
            "a = " + "{a=" * 3000 + "1" + "}" * 3000,
            ".".join("a" * 20_000) + " = 1",
            "[" + ".".join("a" * 20_000) + "]",
            "n = " + "9" * 5000,
            "n = 0x" + "f" * 50_000,
            text + 'x = """' + "y" * 100_000 + '"""',
            text + "\n" + "\n".join(f"k{n} = {n}" for n in range(3000)),
            text + "\n[[crops]]\n" * 3000,
            text.replace("=", "= =", 1),
            text + '\nname = "\\ud800"',
            text.replace("name = ", 'name = "a"\nname = ', 1),
            text.replace("[", "[[", 1),
            'name = "x"\n[files]\nplots = "@OUTSIDE@/secret.csv"',
            'name = "x"\n[[other_stations]]\nweather = "../outside/secret.csv"',
            'name = "x"\n[files]\nelevation = "http://127.0.0.1:@PORT@/x.tif"',
            'name = "x"\n[files]\nthermometers = "/dev/zero"\nhappened = "/proc/self/environ"',
        )
    ).encode("utf-8", "surrogatepass")


# ------------------------------------------------------------- archives and grids
def spoil_zip(content: bytes, random: Random) -> bytes:
    """Another archive of the same files: names, sizes, copies, what is in them."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        inside = {name: archive.read(name) for name in archive.namelist()}
    how = random.randrange(10)
    name = random.choice(list(inside))
    if how == 0:
        inside[name] = inside[name] + b" " * 30_000_000
    elif how == 1:
        inside[f"../{name}"] = inside.pop(name)
    elif how == 2:
        inside = {f"/tmp/{each}": content for each, content in inside.items()}
    elif how == 3:
        inside[random.choice(TEXTS) + ".shp"] = inside[name]
    elif how == 4:
        inside[name] = random.choice(BYTES)(inside[name], random)
    elif how == 5:
        inside.pop(name)
    elif how == 6:
        inside |= {f"{number}.txt": b"" for number in range(3000)}
    elif how == 7:
        inside["plots.vrt"] = ELSEWHERE[0]
    elif how == 8:
        inside = {"x" * 300 + each[-4:]: content for each, content in inside.items()}
    else:
        inside[name] = inside[name][:30]
    made = io.BytesIO()
    packed = random.choice(
        (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2)
    )
    if len(inside) > 20:
        packed = zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(made, "w", packed) as archive:
        for each, one in inside.items():
            archive.writestr(each.replace("\0", "0") or "x", one)
    return (
        made.getvalue() if random.random() < 0.7 else flip_bits(made.getvalue(), random)
    )


def spoil_tags(content: bytes, random: Random) -> bytes:
    """One tag of a TIFF's directory: its number, type, count or value."""
    if content[:4] != b"II*\0":
        return flip_bits(content, random)
    (first,) = struct.unpack_from("<I", content, 4)
    (count,) = struct.unpack_from("<H", content, first)
    spoiled = bytearray(content)
    for _ in range(random.choice((1, 1, 2))):
        entry = first + 2 + 12 * random.randrange(count)
        field, form = random.choice(
            ((0, "<H"), (2, "<H"), (4, "<I"), (8, "<I"), (8, "<I"))
        )
        value = random.choice(
            (
                0,
                1,
                2,
                3,
                5,
                8,
                16,
                255,
                32773,
                34892,
                50000,
                65535,
                2**31 - 1,
                2**32 - 1,
            )
        )
        struct.pack_into(
            form, spoiled, entry + field, value % (65536 if form == "<H" else 2**32)
        )
    return bytes(spoiled)


def spoil_place(content: bytes, random: Random) -> bytes:
    """The floats of a grid's place, among others: any eight bytes that look like them."""
    spoiled = bytearray(content)
    near = [
        at
        for at in range(min(len(content) - 8, 1000))
        if 1 <= abs(struct.unpack_from("<d", content, at)[0]) <= 1e7
    ]
    if near:
        value = random.choice(
            (float("nan"), float("inf"), 0.0, -10.0, 1e-9, 1e9, 1e300, 7.5, 90.0)
        )
        struct.pack_into("<d", spoiled, random.choice(near), value)
    return bytes(spoiled)


FORMS: dict[str, tuple[Mutator, ...]] = {
    "binary": (),
    "gpkg": (),
    "shp": (),
    "dbf": (),
    "text": TEXT,
    "xml": (*TEXT, *TEXT),
    "las": (),
    "csv": (*TEXT, *CSV, *CSV),
    "json": (*TEXT, json_written, many_of_one, *[json_node] * 12),
    "toml": (*TEXT, *CSV[:1], toml_written, *[toml_node] * 12),
    "zip": (spoil_zip,) * 12,
    "tiff": (*[spoil_tags] * 8, *[spoil_place] * 4),
}


def spoil(form: str, content: bytes, random: Random) -> bytes:
    """A file spoiled by the rules of its format, or else in any way."""
    if form in GRAMMARS and random.random() < BY_GRAMMAR:
        return random.choice(GRAMMARS[form])(content, random)[:MOST_BYTES]
    return spoil_again(form, content, random)


# What libraries raise of files that were spoiled before.
_NO_LONGER_READ = (
    ValueError,
    TypeError,
    RecursionError,
    KeyError,
    struct.error,
    IndexError,
    OverflowError,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    zlib.error,
    lzma.LZMAError,
    zipfile.BadZipFile,
)


def spoil_again(form: str, content: bytes, random: Random) -> bytes:
    """Any file spoiled in one way, or seldom in two; spoiled files too."""
    for _ in range(random.choice((1, 1, 1, 2))):
        try:
            content = random.choice((*BYTES, *FORMS[form]))(content, random)
        except _NO_LONGER_READ:
            return content  # spoiled so that its own grammar no longer reads it
        content = content[:MOST_BYTES]
    return content
