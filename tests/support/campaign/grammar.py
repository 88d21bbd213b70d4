"""Ways to spoil a file by the rules of its format: what is allowed, and seldom written.

Each takes the bytes of a file and a random source, as those of `mutators` do. These
write the file anew: another geometry, a table with other quotes, a GeoTIFF of other tags,
an archive of other entries, a database with other tables.
"""

import csv
import io
import json
import re
import sqlite3
import struct
import tempfile
import tomllib
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

Made = Callable[[bytes, Random], bytes]

ODD_NUMBERS = (
    *("0", "-0", "-1", "1", "1e308", "-1e308", "1e-308", "1e400", "NaN", "Infinity"),
    *("-Infinity", "9007199254740993", "9223372036854775808", "1" * 400, "0.1", "90"),
    *("-90", "90.0000001", "180", "-180", "180.0000001", "360", "1e15", "1e16", "2016"),
)
ODD_WORDS = (
    *("", " ", "Plot 1", "plot 1", " Plot 1 ", "x" * 201, "x" * 2001, "\u202eabc", "\0"),
    *("\u200b", "a\u0301" * 150, "=1+1", ";=1", "-1", "@x", "a\nb", "a\rb", "\x85", "\u2028"),
    *("..", "../x", "/etc/passwd", "con", "a/b", "a\\b", "<b>", "{x}", "{0}", "%d", "%(x)s"),
    *("yes", "no", "true", "null", "nan", "inf", "1e5", "1,5", "٣", "1_0", "½", "auto"),
    *("hedge", "building", "tree", "gate", "water", "Hedge", "evergreen", "deciduous", "sand"),
    *("tomato", "kale", "A1", "a1", "old 1", "Long Hedge", "light_fabric", "planted", "low"),
)  # fmt: skip


# ------------------------------------------------------------- GeoJSON
def _ring(random: Random, at: tuple[float, float], size: float) -> list[list[Any]]:
    """A ring around a place, of some way of being wrong."""
    x, y = at
    plain = [[x, y], [x + size, y], [x + size, y + size], [x, y + size], [x, y]]
    return random.choice(
        (
            plain,
            plain[::-1],
            plain[:-1],
            plain[:3],
            plain[:1] * 5,
            [plain[0], plain[2], plain[1], plain[3], plain[0]],
            [*plain, *plain],
            [plain[0], plain[1], plain[0], plain[1], plain[0]],
            [[a, b, 5.0] for a, b in plain],
            [[a, b, 1e308] for a, b in plain],
            [[a, b, 5.0, 6.0, 7.0] for a, b in plain],
            [[a, b, *([7] * (n % 2))] for n, (a, b) in enumerate(plain)],
            [[b, a] for a, b in plain],
            [[a + 360, b] for a, b in plain],
            [[a * 1e5, b * 1e5] for a, b in plain],
            [[a] for a, _ in plain],
            [[a, None] for a, _ in plain],
            [[a, str(b)] for a, b in plain],
            [[a, True] for a, _ in plain],
            [],
            [[]],
            [[179.999, y], [-179.999, y], [-179.999, y + size], [179.999, y + size]] * 1
            + [[179.999, y]],
            [[x, 89.9], [x + 120, 89.9], [x + 240 - 360, 89.9], [x, 89.9]],
            [[x, y + n * 1e-9] for n in range(2000)] + [[x + size, y], [x, y]],
            [[x + size * (n % 2), y + n * size / 400] for n in range(400)] + [[x, y]],
        )
    )


def _shape(random: Random, at: tuple[float, float], depth: int = 0) -> Any:
    size = random.choice((0.001, 0.001, 0.001, 1e-6, 1e-12, 0.0, 0.1, 20.0, -0.001))
    ring = _ring(random, at, size)
    inner = _ring(random, (at[0] + size / 4, at[1] + size / 4), size / 2)
    kind = random.randrange(13)
    if kind < 4:
        rings = random.choice(([ring], [ring, inner], [inner, ring], [ring, ring], []))
        return {"type": "Polygon", "coordinates": rings}
    if kind < 7:
        parts = random.choice(([[ring]], [[ring], [inner]], [[ring], [ring]], [[]], []))
        return {"type": "MultiPolygon", "coordinates": parts}
    if kind == 7 and depth < 3:
        parts = [_shape(random, at, depth + 1) for _ in range(random.randrange(4))]
        return {"type": "GeometryCollection", "geometries": parts}
    return random.choice(
        (
            None,
            {},
            {"type": "Point", "coordinates": list(at)},
            {"type": "Point", "coordinates": []},
            {"type": "LineString", "coordinates": ring},
            {"type": "MultiPoint", "coordinates": ring},
            {"type": "MultiLineString", "coordinates": [ring, inner]},
            {"type": "CircularString", "coordinates": ring},
            {"type": "polygon", "coordinates": [ring]},
            {"type": "Polygon", "geometry": [ring]},
            {"type": "Polygon", "coordinates": ring},
            {"type": "Polygon", "coordinates": [[ring]]},
            {"type": "Polygon", "coordinates": {"0": ring}},
            {"type": ["Polygon"], "coordinates": [ring]},
        )
    )


CRS_NAMES = (
    *("urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:3857", "EPSG:4979", "EPSG:4978", "EPSG:2154"),
    *("EPSG:32733", "EPSG:5041", "EPSG:999999", "EPSG:4326+5773", "IAU_2015:30100", "EPSG:"),
    *("urn:ogc:def:crs:EPSG::2263", "urn:ogc:def:crs,crs:EPSG::4326,crs:EPSG::5773", "ESRI:102100"),
    *("EPSG:27700", "EPSG:31467", "urn:ogc:def:crs:EPSG:9.9:4267", "EPSG:32661", "epsg:4326 "),
    *("ESRI:54009", "EPSG:6933", "EPSG:32633@2020.5", "OGC:CRS27", "EPSG:9707", "EPSG:1024"),
)  # fmt: skip


def _written(value: Any, random: Random) -> str:
    """JSON as another program might write it: keys twice, odd numbers, escapes."""
    if isinstance(value, dict):
        pairs = [
            f"{_written(str(key), random)}:{_written(inner, random)}"
            for key, inner in value.items()
        ]
        if pairs and random.random() < 0.02:
            pairs.append(random.choice(pairs))
        if pairs and random.random() < 0.01:
            pairs.append(
                f"{random.choice(pairs).partition(':')[0]}:{random.choice(ODD_NUMBERS)}"
            )
        return "{" + ",".join(pairs) + "}"
    if isinstance(value, list):
        return "[" + ",".join(_written(inner, random) for inner in value) + "]"
    if isinstance(value, int | float) and not isinstance(value, bool):
        if random.random() < 0.004:
            return random.choice(ODD_NUMBERS)
        return json.dumps(value)
    if isinstance(value, str) and random.random() < 0.05:
        return '"' + "".join(f"\\u{ord(c) & 0xFFFF:04x}" for c in value) + '"'
    return json.dumps(value, ensure_ascii=random.random() < 0.9)


def json_grammar(content: bytes, random: Random) -> bytes:
    """Shapes of any kind, properties of any type, any CRS, written in any way."""
    table = json.loads(content)
    features = table.get("features") if isinstance(table, dict) else None
    if not features:
        return _written(table, random).encode("utf-8", "surrogatepass")
    at = _first_place(features[0]["geometry"])
    for _ in range(random.choice((1, 1, 2, 4))):
        one = random.choice(features)
        how = random.randrange(10)
        if how < 4:
            one["geometry"] = _shape(random, at)
        elif how < 7 and isinstance(one.get("properties"), dict) and one["properties"]:
            key = random.choice(list(one["properties"]))
            one["properties"][key] = _any(random)
        elif how == 7:
            one[random.choice(("id", "bbox", "type", "properties", "when"))] = _any(
                random
            )
        elif how == 8:
            name = random.choice(CRS_NAMES)
            table["crs"] = {"type": "name", "properties": {"name": name}}
        else:
            features += json.loads(json.dumps(features)) * random.choice((1, 1, 3, 300))
            if len(features) > 1200:
                del features[1200:]
    return _written(table, random).encode("utf-8", "surrogatepass")


def _first_place(shape: Any) -> tuple[float, float]:
    at = shape["coordinates"]
    while isinstance(at[0], list):
        at = at[0]
    return float(at[0]), float(at[1])


def _any(random: Random) -> Any:
    return random.choice(
        (
            random.choice(ODD_WORDS),
            random.choice(ODD_WORDS),
            random.choice((0, -1, 1, 0.5, 1e9, 1e308, 2**63, 10**30, 366, -0.0, 1e-9)),
            random.choice((0, 1.0, 45, 90, 180, 360, 2, 3.3)),
            None,
            True,
            False,
            [],
            ["a", 1],
            {"a": {"b": []}},
            "1",
            "2016-01-01",
            "2016-01-01T00:00:00Z",
        )
    )


# ------------------------------------------------------------- TOML
def _leaves(table: Any, place: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(table, dict):
        return [p for key, one in table.items() for p in _leaves(one, (*place, key))]
    if isinstance(table, list) and table and isinstance(table[0], dict):
        return [p for at, one in enumerate(table) for p in _leaves(one, (*place, at))]
    return [place]


TOML_VALUES = (
    *("0", "-0.0", "+1", "-1", "1", "2", "3", "12", "13", "45.0", "90.0", "180", "360", "1e308"),
    *("nan", "-inf", "inf", "0x7fffffffffffffff", "0o17", "0b1", "1_000", "1e-320", "5e-1"),
    *("true", "false", '""', "''", '" "', '"""a\nb"""', "'''\n'''", '"\\u202e"', '"\\U0001F600"'),
    *("1979-05-27", "1979-05-27T07:32:00Z", "07:32:00", "1979-05-27T00:32:00.999999-07:00"),
    *("0001-01-01", "9999-12-31", "2024-02-29", "2100-01-01", "[]", "[[]]", "{}", "{a=1}"),
    *("[1,2,3]", '["a"]', "[1,'a']", "[0,0,0,0,0,0,0,0,0,0,0,0]", "[-1,1e9,1,1,1,1,1,1,1,1,1,1]"),
    *("[[0.0,0.0],[0.0,0.0]]", "[[15.26,46.05],[15.26,46.05]]", "[[15.2],[46]]", "[[1e308,90]]"),
    *("0.001", "0.01", "0.5", "5.0", "25.0", "100.0", "1000.0", "1e4", "1e6", "1e9", "0.3"),
    *('"auto"', '"none"', '"us"', '"metric"', '"es"', '"xx"', '"../x"', '"/dev/zero"', '"tomato"'),
    *('"letter"', '"catenary"', '"isotropic"', '"Plot 1"', '"A"', '"Z9"', '"spring"', '"early"'),
)  # fmt: skip


def toml_grammar(content: bytes, random: Random) -> bytes:
    """The same keys with other values, in every way that TOML has to write them."""
    table = tomllib.loads(content.decode())
    leaves = _leaves(table)
    spoiled = {
        random.choice(leaves): random.choice(TOML_VALUES)
        for _ in range(random.choice((1, 1, 2, 3)))
    }
    lines = _toml_lines(table, spoiled, (), (), random)
    text = random.choice(("\n", "\n", "\n", "\r\n", "\n\n# x\n")).join(lines) + "\n"
    if random.random() < 0.05:
        text += random.choice(
            ("[files]\n", "\0", "\ufeff", "name", "a.b.c=1\na.b=2", "[[beds]]")
        )
    return (b"\xef\xbb\xbf" if random.random() < 0.05 else b"") + text.encode()


def _toml_lines(
    table: Any, spoiled: Any, place: Any, names: Any, random: Random
) -> list[str]:
    plain, below = [], []
    for key, value in table.items():
        at, named = (*place, key), (*names, json.dumps(str(key)))
        if at in spoiled:
            plain.append(f"{named[-1]} = {spoiled[at]}")
        elif (
            isinstance(value, dict) and value and all(isinstance(k, str) for k in value)
        ):
            inner = _toml_lines(value, spoiled, at, named, random)
            below += [f"[{'.'.join(named)}]", *inner]
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            for number, one in enumerate(value):
                inner = _toml_lines(one, spoiled, (*at, number), named, random)
                below += [f"[[{'.'.join(named)}]]", *inner]
        else:
            plain.append(f"{named[-1]} = {_toml_value(value)}")
    return plain + below


def _toml_value(value: Any) -> str:
    from campaign.mutators import toml_text

    return toml_text(value)


# ------------------------------------------------------------- tables
def csv_grammar(content: bytes, random: Random) -> bytes:
    """Rows with other fields, in every way that tables are written."""
    text = content.decode("utf-8-sig", "replace")
    rows = list(csv.reader(io.StringIO(text)))
    for _ in range(random.choice((1, 1, 2, 20))):
        row = random.choice(rows[:1] if random.random() < 0.3 else rows)
        if not row:
            continue
        at, how = random.randrange(len(row)), random.randrange(8)
        if how < 3:
            row[at] = random.choice((*ODD_NUMBERS, *ODD_WORDS, "2016-02-30", "16-1-1"))
        elif how == 3:
            row[at] = f" {row[at]}\t"
        elif how == 4:
            row[at] = row[at].upper() + random.choice(
                ("", "_c", "_f", "\n", '"', " (C)")
            )
        elif how == 5:
            row.append(random.choice(row))
        elif how == 6:
            rows.insert(random.randrange(len(rows)), list(row))
        else:
            row[at] = (
                row[at]
                .replace(".", ",")
                .translate({48 + n: 0x660 + n for n in range(10)})
            )
    made = io.StringIO()
    writer = csv.writer(
        made,
        delimiter=random.choice(",,,,,,;\t| "),
        quotechar=random.choice('""""\''),
        quoting=random.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC)),
        lineterminator=random.choice(
            ("\n", "\n", "\r\n", "\r", "\n\r", "\n \n", ",\n")
        ),
        doublequote=random.random() < 0.9,
        escapechar="\\",
    )
    writer.writerows(rows)
    found = made.getvalue().encode("utf-8", "surrogatepass")
    if random.random() < 0.1:
        found = (
            random.choice((b"\xef\xbb\xbf", b"sep=;\n", b"# x\n", b"\n", b'"\n'))
            + found
        )
    return found


def columns_grammar(content: bytes, random: Random) -> bytes:
    """Lines of fixed columns with parts overwritten, kept as long as they were."""
    lines = content.split(b"\n")
    for _ in range(random.choice((1, 3, 50))):
        number = random.randrange(min(len(lines), random.choice((2, 10, 10**6))))
        line = lines[number]
        width = random.choice((1, 2, 4, 5, 8))
        at = random.randrange(len(line) + 1)
        new = random.choice(
            (
                b"9" * width,
                b" " * width,
                b"-" * width,
                b"x" * width,
                b"0" * width,
                b"\xff" * width,
            )
        )
        lines[number] = line[:at] + new + line[at + width :]
    return b"\n".join(lines)


# ------------------------------------------------------------- archives
def zip_grammar(content: bytes, random: Random) -> bytes:
    """Entries twice, links, folders, locked, with false sizes, in each other."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        inside = [(name, archive.read(name)) for name in archive.namelist()]
    how = random.randrange(12)
    made = io.BytesIO()
    packed = zipfile.ZIP_DEFLATED if random.random() < 0.8 else zipfile.ZIP_STORED
    with zipfile.ZipFile(made, "w", packed) as archive:
        for name, one in inside:
            entry = zipfile.ZipInfo(
                name, random.choice(((1980, 1, 1, 0, 0, 0), (2107, 12, 31, 0, 0, 0)))
            )
            entry.compress_type = packed
            if how == 0:  # a link
                entry.external_attr = 0o120777 << 16
                one = b"@OUTSIDE@/secret.geojson"
            elif how == 1:
                entry.filename = f"a/b/{name.upper()}"
            elif how == 2:
                entry.filename = f"{name}/"
            elif how == 3:
                entry.filename = name.replace("plots", "../../plots")
            elif how == 4:
                entry.extra = b"\x75\x70" + struct.pack("<H", 9) + b"\1" + bytes(8)
            elif how == 5:
                entry.comment = b"x" * 60_000
            archive.writestr(entry, one)
            if how == 6:
                archive.writestr(name, one[: len(one) // 2])
            elif how == 7:
                archive.writestr(name.upper(), b"x")
        if how == 8:
            archive.writestr("more.zip", content)
        elif how == 9:
            archive.writestr("x.txt", bytes(19_000_000))
        elif how == 10:
            archive.comment = b"PK\5\6" + b"y" * 60_000
    found = bytearray(made.getvalue())
    if random.random() < 0.5:
        _spoil_entry(found, random)
    return bytes(found)


def _spoil_entry(archive: bytearray, random: Random) -> None:
    """Locked, of another packing, or of another size than the entry has."""
    marks = [
        at
        for at in range(len(archive) - 4)
        if archive[at : at + 4] in (b"PK\1\2", b"PK\3\4")
    ]
    at = random.choice(marks)
    is_list = archive[at : at + 4] == b"PK\1\2"
    flags, method, sizes = (8, 10, 20) if is_list else (6, 8, 18)
    how = random.randrange(4)
    if how == 0:
        archive[at + flags] |= random.choice((1, 8, 0x20, 0x40))
    elif how == 1:
        struct.pack_into(
            "<H", archive, at + method, random.choice((0, 1, 6, 8, 9, 12, 14, 93, 99))
        )
    elif how == 2:
        struct.pack_into(
            "<I",
            archive,
            at + sizes + 4 * random.randrange(2),
            random.choice((0, 1, 2**31, 2**32 - 1)),
        )
    else:
        struct.pack_into("<I", archive, at + sizes - 4, random.randrange(2**32))


# ------------------------------------------------------------- GeoTIFF
_SIZES = {
    1: 1,
    2: 1,
    3: 2,
    4: 4,
    5: 8,
    6: 1,
    7: 1,
    8: 2,
    9: 4,
    10: 8,
    11: 4,
    12: 8,
    13: 4,
    16: 8,
}
_CODES = {1: "B", 2: "c", 3: "H", 4: "I", 6: "b", 7: "B", 8: "h", 9: "i", 11: "f", 12: "d", 13: "I", 16: "Q"}  # fmt: skip
_WKT = (
    'PROJCS["x",GEOGCS["y",DATUM["z",SPHEROID["s",6378137,298]],PRIMEM["G",0],UNIT["d",0.0174]],'
    'PROJECTION["Transverse_Mercator"],UNIT["metre",1],EXTENSION["PROJ4","+proj=utm +zone=33 +nadgrids=@OUTSIDE@/secret.csv"]]'
)


def tiff_grammar(content: bytes, random: Random) -> bytes:
    """A GeoTIFF written from its tags: any order, size, packing, CRS and directories."""
    order, is_big = random.choice("<<>"), random.random() < 0.2
    side = random.choice((60, 60, 60, 1, 2, 16, 300, 5000, 2**16, 2**31 - 1))
    bits, form = random.choice(
        (
            (32, 3),
            (32, 3),
            (16, 2),
            (16, 1),
            (64, 3),
            (8, 1),
            (1, 1),
            (24, 3),
            (64, 6),
            (32, 5),
        )
    )
    cells = min(side, 60)
    data = _cells(cells, bits, form, order)
    tags: dict[int, tuple[int, list[Any]]] = {
        256: (4, [side]),
        257: (4, [random.choice((side, side, side, 1, 0))]),
        258: (3, [bits] * random.choice((1, 1, 1, 2))),
        259: (3, [1]),
        262: (3, [random.choice((1, 1, 1, 0, 3, 6, 8, 32844))]),
        277: (3, [random.choice((1, 1, 1, 1, 0, 2, 300))]),
        339: (3, [form]),
        33550: (12, [random.choice(([10.0, 10.0, 0.0], [0.0, 0.0, 0.0], [1e308, 1e308, 0], [-10, -10, 0], [1e-12, 1e-12, 0], [float("nan")] * 3))][0:1])
    }  # fmt: skip
    tags[33550] = (12, list(tags[33550][1][0]))
    tags[33922] = (12, [0.0, 0.0, 0.0, *random.choice(((520000.0, 5100600.0), (0.0, 0.0), (float("nan"), 0.0), (1e300, -1e300))), 0.0])  # fmt: skip
    keys = random.choice(
        (
            [(1024, 1), (1025, 1), (3072, 32633), (4099, 9001)],
            [(1024, 2), (1025, 1), (2048, 4326)],
            [(1024, 3), (2048, 4978)],
            [(1024, 1), (3072, 32767)],
            [(1024, 1), (3072, 32633), (4096, 5773), (4099, 9002)],
            [(1024, 1), (3072, 2154), (1025, 2)],
            [(1024, 32767)],
            [(1024, 1), (3072, 32767), (3074, 32767), (3075, 65535)],
        )
    )
    tags[34735] = (3, [1, 1, random.choice((0, 1)), len(keys), *(v for key, code in keys for v in (key, 0, 1, code))])  # fmt: skip
    if random.random() < 0.15:  # a key whose words lie elsewhere, or nowhere
        tags[34735] = (3, [1, 1, 0, 3, 1024, 0, 1, 1, 1026, 34737, random.choice((5, 9999)), random.choice((0, 9999)), 3073, 34737, 7, 0])  # fmt: skip
    packing = random.choice(
        (1, 1, 1, 8, 5, 32773, 2, 7, 34887, 50000, 32946, 34925, 99)
    )
    tags[259] = (3, [packing])
    if packing in (8, 32946):
        data = zlib.compress(bytes(2_000_000) if random.random() < 0.1 else data)
    if random.random() < 0.2:
        tags[317] = (3, [random.choice((1, 2, 3, 9))])
    if random.random() < 0.3:
        words = random.choice(
            (
                "<GDALMetadata><Item name='SCALE' sample='0' role='scale'>0</Item></GDALMetadata>",
                "<GDALMetadata><Item name='OFFSET' sample='0' role='offset'>1e400</Item></GDALMetadata>",
                "<GDALMetadata><Item name='UNITTYPE' sample='0' role='unittype'>furlong</Item></GDALMetadata>",
                "<GDALMetadata><Item name='OVERVIEW_FILE' domain='OVERVIEWS'>@OUTSIDE@/secret.tif</Item></GDALMetadata>",
                "<!DOCTYPE x [<!ENTITY a 'aaaa'><!ENTITY b '&a;&a;&a;'>]><GDALMetadata>&b;</GDALMetadata>",
                "<GDALMetadata>" * 5000,
                "",
            )
        )
        tags[42112] = (2, [bytes([c]) for c in words.encode() + b"\0"])
    if random.random() < 0.2:
        text = random.choice(
            ("ESRI PE String = " + _WKT + "|", _WKT, "x" * 100_000, "")
        )
        tags[34737] = (
            random.choice((2, 2, 7)),
            [bytes([c]) for c in text.encode() + b"\0"],
        )
        if tags[34737][0] == 7:
            tags[34737] = (7, list(text.encode() + b"\0"))
    if random.random() < 0.2:
        tags[42113] = (2, [bytes([c]) for c in random.choice((b"nan\0", b"-9999\0", b"1e400\0", b"x\0", b"\0"))])  # fmt: skip
    if random.random() < 0.25:
        wide = random.choice((16, 16, 32, 0, 7, 65536, 2**31 - 16))
        tags |= {
            322: (4, [wide]),
            323: (4, [wide]),
            324: (4, [0]),
            325: (4, [len(data)]),
        }
    else:
        tags |= {278: (4, [random.choice((side, side, 1, 0, 2**32 - 1))]), 273: (4, [0]), 279: (4, [random.choice((len(data), len(data), 0, 2**32 - 1))])}  # fmt: skip
    if random.random() < 0.1:
        tags |= {
            number: (3, [1])
            for number in range(40_000, random.choice((40_010, 45_000)))
        }
    if random.random() < 0.1:
        tags[330] = (4, [random.choice((8, 0, 2**32 - 1))])
    for _ in range(random.choice((0, 0, 1))):
        number = random.choice(list(tags))
        tags[number] = random.choice(((tags[number][0], []), (3, [0]), (16, [2**63]), (12, [1e300] * 20), (tags[number][0], tags[number][1] * 2)))  # fmt: skip
    return _tiff(tags, data, order, is_big, random)


def _cells(side: int, bits: int, form: int, order: str) -> bytes:
    count = side * side
    if bits == 32 and form == 3:
        return struct.pack(
            f"{order}{count}f", *(200.0 + at % side for at in range(count))
        )
    if bits == 16:
        return struct.pack(
            f"{order}{count}H", *(200 + at % side for at in range(count))
        )
    return bytes(range(256)) * (count * max(bits, 8) // 8 // 256 + 1)


def _tiff(tags: Any, data: bytes, order: str, is_big: bool, random: Random) -> bytes:
    head = (b"II" if order == "<" else b"MM") + (
        struct.pack(f"{order}HHHQ", 43, 8, 0, 16)
        if is_big
        else struct.pack(f"{order}HI", 42, 8)
    )
    offset, inline, entry = ("Q", 8, 20) if is_big else ("I", 4, 12)
    start = len(head) + (8 if is_big else 2) + entry * len(tags) + (8 if is_big else 4)
    listed, beyond = b"", b""
    # Cells come first behind the directory, so that their place is known.
    for number in sorted(tags) if random.random() < 0.95 else list(tags):
        kind, values = tags[number]
        if number in (273, 324) and values == [0]:
            values = [start]
        try:
            packed = struct.pack(f"{order}{len(values)}{_CODES[kind]}", *values)
        except struct.error:
            packed = b"\xff" * (_SIZES[kind] * len(values))
        if len(packed) > inline:
            place = struct.pack(f"{order}{offset}", start + len(data) + len(beyond))
            beyond += packed
        else:
            place = packed.ljust(inline, b"\0")
        listed += struct.pack(f"{order}HH{offset}", number, kind, len(values)) + place
    after = random.choice((0, 0, 0, 8, 2**31)) if not is_big else 0
    count = struct.pack(f"{order}{'Q' if is_big else 'H'}", len(tags))
    return (
        head + count + listed + struct.pack(f"{order}{offset}", after) + data + beyond
    )


# ------------------------------------------------------------- databases
STATEMENTS = (
    "CREATE VIEW v AS SELECT * FROM plots",
    "CREATE TRIGGER t AFTER INSERT ON plots BEGIN DELETE FROM plots; END",
    "UPDATE plots SET geom = NULL",
    "UPDATE plots SET geom = X'00'",
    "UPDATE plots SET geom = zeroblob(15000000)",
    "UPDATE plots SET geom = X'47500001E6100000' || zeroblob(40)",
    "UPDATE plots SET geom = substr(geom, 1, length(geom) - 9)",
    "UPDATE plots SET geom = X'4750000100000000010300000001000000FFFFFFFF'",
    "UPDATE plots SET geom = 'text'",
    "UPDATE plots SET geom = 12",
    "UPDATE plots SET name = zeroblob(100)",
    "UPDATE plots SET name = X'ff'",
    "UPDATE plots SET name = 1e308",
    "UPDATE plots SET name = NULL",
    "UPDATE plots SET fid = -1",
    "INSERT INTO plots SELECT fid + 1, geom, name FROM plots",
    "INSERT INTO plots VALUES (9223372036854775807, NULL, 'x')",
    "DELETE FROM plots",
    "DELETE FROM gpkg_contents",
    "DELETE FROM gpkg_geometry_columns",
    "DELETE FROM gpkg_spatial_ref_sys",
    "DELETE FROM gpkg_extensions",
    "DROP TABLE gpkg_contents",
    "DROP TABLE gpkg_spatial_ref_sys",
    "DROP TABLE gpkg_ogr_contents",
    "DROP TABLE plots",
    "UPDATE gpkg_contents SET srs_id = 99999",
    "UPDATE gpkg_contents SET data_type = 'tiles'",
    "UPDATE gpkg_contents SET data_type = 'attributes'",
    "UPDATE gpkg_contents SET table_name = 'nowhere'",
    "UPDATE gpkg_contents SET min_x = 1e308, max_x = -1e308",
    "UPDATE gpkg_contents SET last_change = 'x'",
    "UPDATE gpkg_geometry_columns SET srs_id = -1",
    "UPDATE gpkg_geometry_columns SET srs_id = 0",
    "UPDATE gpkg_geometry_columns SET column_name = 'name'",
    "UPDATE gpkg_geometry_columns SET geometry_type_name = 'CURVEPOLYGON', z = 2, m = 2",
    "UPDATE gpkg_spatial_ref_sys SET definition = 'undefined'",
    "UPDATE gpkg_spatial_ref_sys SET definition = 'GEOGCS['",
    "UPDATE gpkg_spatial_ref_sys SET definition = '+proj=longlat +nadgrids=@OUTSIDE@/secret.csv'",
    "UPDATE gpkg_spatial_ref_sys SET definition = hex(zeroblob(500000))",
    "UPDATE gpkg_spatial_ref_sys SET organization = 'x', organization_coordsys_id = 5",
    "UPDATE gpkg_spatial_ref_sys SET organization_coordsys_id = 4978",
    "ALTER TABLE plots ADD COLUMN more BLOB DEFAULT X'00'",
    "ALTER TABLE plots ADD COLUMN Name TEXTX",
    "ALTER TABLE plots ADD COLUMN x GENERATED ALWAYS AS (load_extension('x')) VIRTUAL",
    "ALTER TABLE plots ADD COLUMN when_ DATETIME DEFAULT '2016-02-30'",
    "ALTER TABLE plots ADD COLUMN wet_in_march TEXT DEFAULT 'yes'",
    "ALTER TABLE plots ADD COLUMN bearing_deg REAL DEFAULT 1e999",
    "CREATE TABLE other (a, b)",
    "CREATE VIRTUAL TABLE f USING fts5(x)",
    "CREATE TABLE vector_layers (a); INSERT INTO vector_layers VALUES (1)",
    "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY, f_table_name TEXT, styleQML TEXT)",
    "CREATE INDEX i ON plots(name COLLATE NOCASE)",
    "PRAGMA application_id = 0",
    "PRAGMA application_id = 0x47503130",
    "PRAGMA user_version = 99999",
    "PRAGMA journal_mode = WAL",
    "PRAGMA encoding = 'UTF-16'",
    "PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = 'CREATE TABLE plots (x)' WHERE name = 'plots'",
    "PRAGMA writable_schema = ON; UPDATE sqlite_master SET rootpage = 1 WHERE name = 'plots'",
    "PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = replace(sql, 'rtree', 'x') WHERE sql LIKE '%rtree%'",
    "INSERT INTO gpkg_extensions VALUES ('plots', 'geom', 'gpkg_crs_wkt_1_1', 'x', 'read-write')",
    "INSERT INTO gpkg_extensions VALUES ('plots', NULL, 'related_tables', 'x', 'read-write')",
    "INSERT INTO gpkg_extensions VALUES ('plots', 'geom', 'gpkg_geom_CURVEPOLYGON', 'x', 'read-write')",
    "DROP TABLE rtree_plots_geom",
    "VACUUM",
)  # fmt: skip


def gpkg_grammar(content: bytes, random: Random) -> bytes:
    """A database on which one to three statements were run."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "made.gpkg"
        path.write_bytes(content)
        base = sqlite3.connect(path, isolation_level=None)
        for name in ("ST_IsEmpty", "ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"):
            base.create_function(name, 1, lambda _shape: 0.0)
        for _ in range(random.choice((1, 1, 2, 3))):
            try:
                base.executescript(random.choice(STATEMENTS))
            except (sqlite3.Error, sqlite3.Warning):
                continue
        base.close()
        return path.read_bytes()


# ------------------------------------------------------------- Shapefiles
def shp_grammar(content: bytes, random: Random) -> bytes:
    """A head or a record's numbers of a .shp or .shx: kind, counts, places, bounds."""
    spoiled = bytearray(content)
    for _ in range(random.choice((1, 1, 2))):
        at = random.choice(
            (24, 28, 32, 36, 44, 100, 104, 108, 112, 144, 148, 152, 156, 172)
        )
        form = random.choice((">i", "<i", "<d"))
        value = random.choice(
            (0, 1, -1, 3, 5, 8, 13, 15, 25, 31, 4, 2**31 - 1, -(2**31), 10**6)
        )
        if at + 8 <= len(spoiled):
            if form == "<d":
                value = random.choice(
                    (float("nan"), float("inf"), 1e308, -1e39, 0.0, 1e15)
                )
            struct.pack_into(form, spoiled, at, value)
    return bytes(spoiled)


def dbf_grammar(content: bytes, random: Random) -> bytes:
    """A head or a field of a .dbf: counts, sizes, kinds, names, values."""
    spoiled = bytearray(content)
    for _ in range(random.choice((1, 1, 2))):
        how = random.randrange(6)
        if how == 0:
            spoiled[0] = random.choice((0, 2, 3, 0x30, 0x83, 0xF5))
        elif how == 1:
            struct.pack_into(
                "<I", spoiled, 4, random.choice((0, 1, 2, 2**31, 2**32 - 1))
            )
        elif how == 2:
            struct.pack_into(
                "<H", spoiled, random.choice((8, 10)), random.choice((0, 1, 33, 65535))
            )
        elif how == 3:
            spoiled[29] = random.choice((0, 1, 0x57, 0xC9, 0xFF, 0x4D))
        elif how == 4:
            spoiled[43 % len(spoiled)] = random.choice(b"CNFDLMBG@I+O\0")
        else:
            spoiled[48 % len(spoiled)] = random.choice((0, 1, 19, 254, 255))
    return bytes(spoiled)


# ------------------------------------------------------------- GPX and KML
ENTITIES = (
    '<!DOCTYPE x [<!ENTITY e SYSTEM "@OUTSIDE@/secret.csv">]>',
    '<!DOCTYPE x SYSTEM "http://127.0.0.1:@PORT@/x.dtd">',
    '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY e "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
    '<?xml-stylesheet href="http://127.0.0.1:@PORT@/x.xsl"?>',
)
ELEMENTS = (
    "<NetworkLink><Link><href>http://127.0.0.1:@PORT@/x.kml</href></Link></NetworkLink>",
    "<GroundOverlay><Icon><href>@OUTSIDE@/secret.tif</href></Icon></GroundOverlay>",
    "<name><![CDATA[</script><b>x]]></name>",
    "<name>&#x202e;evil&#0;</name>",
    "<Schema name='a' id='a'><SimpleField type='int' name='height_m'/></Schema>",
    "<wpt lat='46' lon='15'><name>Oak 1e400 m</name></wpt>",
    "<trk><trkseg><trkpt lat='46' lon='15'/></trkseg></trk>",
    "<Placemark><Point><coordinates>,,</coordinates></Point></Placemark>",
    "<Placemark><LinearRing><coordinates>15,46 15,46</coordinates></LinearRing></Placemark>",
    "<!-- " + "x" * 9000 + " -->",
)  # fmt: skip


def xml_grammar(content: bytes, random: Random) -> bytes:
    """Elements taken out, copied, nested or renamed; entities; another encoding or name space."""
    text = content.decode("utf-8", "replace")
    tags = list(re.finditer(r"<(/?)([A-Za-z]\w*)[^>]*>", text))
    one = random.choice(tags) if tags else None
    how = random.randrange(8)
    if how == 0 or one is None:
        head, _, rest = text.partition("?>")
        return (
            f"{head}?>{random.choice(ENTITIES)}{rest.replace('Gate', '&e;')}".encode()
        )
    if how == 1:
        text = text[: one.end()] + random.choice(ELEMENTS) + text[one.end() :]
    elif how == 2:
        text = text[: one.start()] + text[one.end() :]
    elif how == 3:
        other = random.choice(tags)
        first, last = sorted((one.start(), other.start()))
        text = text[:last] + text[first:last] + text[last:]
    elif how == 4:
        deep = random.choice((5, 100, 5000))
        text = (
            text[: one.end()]
            + "<Folder>" * deep
            + "</Folder>" * deep
            + text[one.end() :]
        )
    elif how == 5:
        new = random.choice(tags)[2]
        text = re.sub(rf"(</?){one[2]}\b", rf"\g<1>{new}", text)
    elif how == 6:
        text = text.replace(
            "UTF-8", random.choice(("UTF-7", "UTF-16", "x", "latin-1")), 1
        )
    else:
        text = re.sub(
            r'xmlns="[^"]*"', random.choice(("", 'xmlns="x"', 'xmlns:a="x"')), text
        )
    return text.encode()


# ------------------------------------------------------------- LAS and LAZ
def las_grammar(content: bytes, random: Random) -> bytes:
    """Numbers of the head (LAS 1.4 R15, table 3): sizes, counts, formats, scales, bounds."""
    spoiled = bytearray(content)
    for _ in range(random.choice((1, 1, 2))):
        at, form = random.choice(
            (
                (24, "<B"),
                (25, "<B"),
                (94, "<H"),
                (96, "<I"),
                (100, "<I"),
                (104, "<B"),
                (105, "<H"),
                (107, "<I"),
                (131, "<d"),
                (147, "<d"),
                (155, "<d"),
                (179, "<d"),
                (187, "<d"),
                (195, "<d"),
                (227, "<Q"),
                (235, "<Q"),
                (243, "<I"),
                (247, "<Q"),
            )
        )
        value: Any = random.choice((0, 1, 2, 10, 31, 127, 130, 255))
        if form == "<d":
            value = random.choice(
                (float("nan"), float("inf"), 0.0, -1.0, 1e308, 1e-300)
            )
        elif form in ("<I", "<Q") and random.random() < 0.6:
            value = random.choice((10**6, 2**31 - 1, 2**32 - 1))
        if at + 8 <= len(spoiled):
            struct.pack_into(form, spoiled, at, value)
    return bytes(spoiled)


GRAMMARS: dict[str, tuple[Made, ...]] = {
    "csv": (csv_grammar, csv_grammar, columns_grammar),
    "json": (json_grammar,),
    "toml": (toml_grammar,),
    "zip": (zip_grammar,),
    "tiff": (tiff_grammar,),
    "gpkg": (gpkg_grammar,),
    "shp": (shp_grammar,),
    "dbf": (dbf_grammar,),
    "xml": (xml_grammar,),
    "las": (las_grammar,),
}
