"""Candidates side by side: one page for the screen and paper, and rows beside it."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.show.files import one_file
from fieldmap.show.files.tables import csv_text
from fieldmap.show.text import compare as words
from fieldmap.show.text import language
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fieldmap.review.compare import Comparison
    from fieldmap.show.text.quantities import Units

COLUMNS = ("fact", "candidate", "low", "central", "high", "mark", "text")
SIGN = '<meta name="what" content="candidates side by side">'
STYLE = """
body{font:16px/1.4 sans-serif;margin:1rem auto;max-width:60rem;padding:0 .6rem;
color:#111;background:#fff}
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%}
th,td{border:1px solid #777;padding:.3rem .5rem;text-align:left;vertical-align:top}
.better{font-weight:bold}.pictures{display:flex;flex-wrap:wrap;gap:1rem}
figure{margin:0;flex:1 1 18rem}img,svg{max-width:100%;height:auto}
@media print{body{font-size:11px}figure,tr{break-inside:avoid}}
"""


def check_place(file: Path) -> None:
    """Raise PlanError unless the page and the rows may be written there."""
    refusal = _(
        "{file} is not what an earlier comparison wrote, so it is left alone; give another "
        "name with --out, or move it away"
    )
    one_file.check_place(file, (".html",), lambda text: SIGN in text, refusal)
    begins = ",".join(COLUMNS)
    one_file.check_place(
        file.with_suffix(".csv"),
        (".csv",),
        lambda text: text.startswith(begins),
        refusal,
    )


def write(found: Comparison, pictures: Sequence[str], file: Path, units: Units) -> None:
    """Write the page, and its rows beside it; `pictures` are data URIs."""
    one_file.write(_csv(found, units), file.with_suffix(".csv"))
    one_file.write(_page(found, pictures, units), file)


def _csv(found: Comparison, units: Units) -> str:
    return csv_text(
        COLUMNS,
        (
            dict(
                zip(
                    COLUMNS,
                    (row.kind, name, *map(_plain, each.estimate), each.mark, text),
                    strict=True,
                )
            )
            for row in found.rows
            for name, each, text in zip(
                words.names(found),
                row.values,
                words.row_texts(row, found.seasons, units),
                strict=True,
            )
        ),
    )


def _plain(value: float) -> float | str:
    return round(float(value), 2) if np.isfinite(value) else ""


def _page(found: Comparison, pictures: Sequence[str], units: Units) -> str:
    names = words.names(found)
    heads = "".join(f'<th scope="col">{html.escape(name)}</th>' for name in names)
    body = "".join(
        f'<tr><th scope="row">{html.escape(words.row_name(row))}</th>'
        + "".join(
            f'<td class="{each.mark}">{words.SYMBOLS[each.mark]}{html.escape(text)}</td>'
            for each, text in zip(
                row.values, words.row_texts(row, found.seasons, units), strict=True
            )
        )
        + "</tr>"
        for row in found.rows
    )
    remarks = "".join(
        f"<p>{html.escape(remark)}</p>" for remark in words.remarks(found, units)
    )
    stills = "".join(
        f'<figure><img alt="{html.escape(_("Map"))}" src="{uri}"></figure>'
        for uri in pictures
    )
    here, title = language.current(), html.escape(_("Side by side"))
    turned = ' dir="rtl"' if here.right_to_left else ""
    return (
        f'<!doctype html><html lang="{here.code}"{turned}><head><meta charset="utf-8">{SIGN}'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{title}</title><style>{STYLE}</style></head><body><main>"
        f'<h1 id="title">{title}</h1><div class="wide" tabindex="0" role="region" '
        f'aria-labelledby="title"><table><thead><tr><td></td>{heads}</tr>'
        f"</thead><tbody>{body}</tbody></table></div>{remarks}"
        f'<div class="pictures">{stills}</div></main></body></html>\n'
    )
