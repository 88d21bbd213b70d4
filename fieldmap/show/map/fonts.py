"""The page's fonts, cut to the letters of Latin alphabets and held in its style sheet."""

from __future__ import annotations

import io
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import fontpkg_source_sans_3
import fontpkg_source_serif_4
import numpy as np

from fieldmap.cache import Arrays, of_user
from fieldmap.show.map.offline import data_uri

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont

# Latin with its accents, dashes, quotes, dots, minus and single angle quotes. Letters of
# other alphabets come from the reader's own fonts.
LETTERS = (
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    *(0x2013, 0x2014, 0x2018, 0x2019, 0x201C, 0x201D, 0x2026, 0x2022, 0x2212),
    *(0x2039, 0x203A),
)
LEFT_OUT = ("GSUB", "GDEF", "STAT", "MVAR")
OPTICAL_SIZE = 20  # of headings and answers [pt]


class Face(NamedTuple):
    """One variable font: its name, its style and its file."""

    family: str
    style: str
    file: Path


FACES = (
    Face(
        "Source Sans 3",
        "normal",
        Path(fontpkg_source_sans_3.ROOT) / "files" / "SourceSans3[wght].ttf",
    ),
    *(
        Face(
            "Source Serif 4",
            style,
            Path(fontpkg_source_serif_4.ROOT) / "files" / name,
        )
        for style, name in (
            ("normal", "SourceSerif4[opsz,wght].ttf"),
            ("italic", "SourceSerif4-Italic[opsz,wght].ttf"),
        )
    ),
)


def css() -> str:
    """Rules that give a style sheet the fonts."""
    return "\n".join(
        f'@font-face {{ font-family: "{face.family}"; font-style: {face.style}; '
        "font-weight: 200 900; "
        f'src: url("{data_uri(cut, "font/woff")}") format("woff"); }}'
        for face, cut in zip(FACES, _all_cut(), strict=True)
    )


@cache
def _all_cut() -> tuple[bytes, ...]:
    """Every face, cut once for all sites of a user: they hang on no site."""
    inputs = {
        "fonts": [[face.file.name, face.file.stat().st_size] for face in FACES],
        "letters": LETTERS,
        "fonttools": metadata.version("fonttools"),
    }

    def compute() -> Arrays:
        return {
            str(at): np.frombuffer(_cut(face.file), np.uint8)
            for at, face in enumerate(FACES)
        }

    found = of_user().reuse("fonts", inputs, compute)
    return tuple(found[str(at)].tobytes() for at in range(len(FACES)))


def _cut(file: Path) -> bytes:
    """The letters of a font as WOFF, in all its weights and one optical size."""
    from fontTools import subset  # takes long to load, and cut fonts are kept
    from fontTools.ttLib import TTFont

    with TTFont(file, lazy=True, recalcTimestamp=False) as font:
        for table in LEFT_OUT:
            if table in font:
                del font[table]
        options = subset.Options(hinting=False, layout_features=["kern"])
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=LETTERS)
        cutter.subset(font)
        cut = _written(font)
        sized = any(axis.axisTag == "opsz" for axis in font["fvar"].axes)
    return _in_one_size(cut) if sized else cut


def _in_one_size(cut: bytes) -> bytes:
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    with TTFont(io.BytesIO(cut), recalcTimestamp=False) as font:
        return _written(instancer.instantiateVariableFont(font, {"opsz": OPTICAL_SIZE}))


def _written(font: TTFont) -> bytes:
    font.flavor = "woff"
    written = io.BytesIO()
    font.save(written)
    return written.getvalue()
