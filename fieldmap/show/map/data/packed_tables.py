"""Tables in few letters, made into rows only when one is opened."""

import base64
import gzip
import json
from collections.abc import Iterable, Sequence
from typing import Any

from fieldmap.show.map.tables.table import Table
from fieldmap.show.text.language import unbroken


def packed(tables: Iterable[Table]) -> str:
    """Tables by their id: JSON, gzipped, in base64."""
    found = {
        table.id: {
            "columns": list(table.columns),
            "ids": [row.id for row in table.rows],
            "cells": [
                column([row.cells[at] for row in table.rows])
                for at in range(len(table.columns))
            ],
            "notes": list(table.notes),
            "empty": table.if_empty,
        }
        for table in tables
    }
    text = unbroken(json.dumps(found, ensure_ascii=False, separators=(",", ":")))
    return base64.b64encode(gzip.compress(text.encode(), 9, mtime=0)).decode()


def column(cells: Sequence[str]) -> dict[str, Any]:
    """Each text of a column once, and which of them each row has.

    Examples
    --------
    >>> column(["no", "yes", "no"])
    {'texts': ['no', 'yes'], 'of': [0, 1, 0]}
    """
    texts: dict[str, int] = {}
    of = [texts.setdefault(cell, len(texts)) for cell in cells]
    return {"texts": list(texts), "of": of}
