"""Candidates side by side: one page for the screen and paper, and rows beside it."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.review.compare import ALIKE, BETTER, WORSE
from fieldmap.show.files import one_file
from fieldmap.show.files.tables import csv_text
from fieldmap.show.text import language
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from fieldmap.review.compare import Comparison, Row

COLUMNS = ("fact", "candidate", "low", "central", "high", "mark", "text")
SYMBOLS = {BETTER: "▲ ", WORSE: "▼ ", ALIKE: ""}
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


def lines(found: Comparison) -> Iterator[str]:
    """The table for a terminal."""
    table = [["", *found.names]]
    table += [
        [row.name, *(SYMBOLS[each.mark] + each.text for each in row.values)]
        for row in found.rows
    ]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    for cells in table:
        padded = (cell.ljust(wide) for cell, wide in zip(cells, widths, strict=True))
        yield "  ".join(padded).rstrip()
    yield from found.remarks


def write(found: Comparison, pictures: Sequence[str], file: Path) -> None:
    """Write the page, and its rows beside it; `pictures` are data URIs."""
    one_file.write(_csv(found), file.with_suffix(".csv"))
    one_file.write(_page(found, pictures), file)


def _csv(found: Comparison) -> str:
    return csv_text(
        COLUMNS,
        (
            {
                "fact": row.key,
                "candidate": name,
                "low": _plain(each.low),
                "central": _plain(each.central),
                "high": _plain(each.high),
                "mark": each.mark,
                "text": each.text,
            }
            for row in found.rows
            for name, each in zip(found.names, row.values, strict=True)
        ),
    )


def _plain(value: float) -> float | str:
    return round(float(value), 2) if np.isfinite(value) else ""


def _page(found: Comparison, pictures: Sequence[str]) -> str:
    heads = "".join(f'<th scope="col">{html.escape(name)}</th>' for name in found.names)
    body = "".join(
        f'<tr><th scope="row">{html.escape(row.name)}</th>'
        + "".join(
            f'<td class="{each.mark}">{SYMBOLS[each.mark]}{html.escape(each.text)}</td>'
            for each in row.values
        )
        + "</tr>"
        for row in found.rows
    )
    remarks = "".join(f"<p>{html.escape(remark)}</p>" for remark in found.remarks)
    figures = "".join(
        _figure(row, found.names) for row in found.rows if row.key.startswith("tender_")
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
        f"</thead><tbody>{body}</tbody></table></div>{remarks}{figures}"
        f'<div class="pictures">{stills}</div></main></body></html>\n'
    )


def _figure(row: Row, names: Sequence[str]) -> str:
    """A dot and its range for each candidate, on one scale of days."""
    ends = [end for each in row.values for end in (each.low, each.high)]
    if not np.isfinite(ends).all():
        return ""
    begin, span = min(ends), max(max(ends) - min(ends), 1.0)
    parts = []
    for number, (name, each) in enumerate(zip(names, row.values, strict=True)):
        y = 18 + 40 * number
        low, central, high = (
            10 + 320 * (day - begin) / span
            for day in (each.low, each.central, each.high)
        )
        label = f"{SYMBOLS[each.mark]}{name}: {each.text}"
        parts.append(
            f'<text x="10" y="{y}" font-size="12">{html.escape(label)}</text>'
            f'<path d="M{low:.1f} {y + 12}H{high:.1f}" stroke="#111" stroke-width="2"/>'
            f'<circle cx="{central:.1f}" cy="{y + 12}" r="4" fill="#111"/>'
        )
    height = 40 * len(names) + 4
    return (
        f"<figure><figcaption>{html.escape(row.name)}</figcaption>"
        f'<svg role="img" aria-label="{html.escape(row.name)}" width="340" '
        f'height="{height}" viewBox="0 0 340 {height}">{"".join(parts)}</svg></figure>'
    )
