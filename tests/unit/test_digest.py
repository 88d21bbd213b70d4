"""What is made of the same has one digest, and what differs in anything another."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import inf
from pathlib import Path
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from pydantic import BaseModel
from pyproj import CRS
from rasterio.transform import from_origin
from shapely.geometry import Point

from fieldmap.cache.digest import digest


class Choice(BaseModel):
    least: float | None


class Record(NamedTuple):
    name: str
    at: object


@dataclass(frozen=True)
class Other:
    name: str
    at: object


def test_records_that_differ_in_anything_have_other_digests():
    names = frozenset(f"bed {number}" for number in range(40))
    things = [
        Record("a", 1.0),
        Record("a", 1.5),
        Record("a", 1),
        Record("a", "1.0"),
        Record("a", None),
        Record("ab", ""),
        Record("a", "b"),
        Record("a", ("b", "c")),
        Record("a", (("b",), "c")),
        Record("a", names),
        Record("a", {"b": 1.0}),
        Record("a", {"b": 2.0}),
        Record("a", np.array([1.0, 2.0])),
        Record("a", np.array([[1.0, 2.0]])),
        Record("a", Point(1.0, 2.0)),
        Record("a", Point(1.0, 3.0)),
        Record("a", np.array(["b", None], object)),
        Record("a", np.array(["c", None], object)),
        Record("a", date(2026, 1, 1)),
        Record("a", Path("b")),
        Record("a", CRS.from_epsg(32618)),
        Record("a", CRS.from_epsg(32619)),
        Record("a", from_origin(0.0, 0.0, 1.0, 1.0)),
        Record("a", from_origin(0.0, 0.0, 2.0, 2.0)),
        Record("a", Choice(least=1.0)),
        Record("a", Choice(least=inf)),
        Record("a", Choice(least=None)),
        Other("a", 1.0),
    ]
    assert len({digest(each) for each in things}) == len(things)


def test_the_order_of_a_set_changes_no_digest():
    # 0 and 8 meet in a table of eight places: which comes first depends on who came.
    one, other = frozenset([0, 8]), frozenset([8, 0])
    assert list(one) != list(other)
    assert digest(Record("a", one)) == digest(Record("a", other))


def test_what_cannot_be_distinguished_has_no_digest():
    with pytest.raises(TypeError, match="no digest of a object"):
        digest(Record("a", object()))


def test_what_lies_in_an_array_of_objects_counts_and_not_where():
    one, other = (np.array(["".join(["b", "ed"]), 1.5], object) for _ in range(2))
    assert one[0] is not other[0]
    assert digest(one) == digest(other)


def frame() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"name": ["Home", None], "height_m": [1.0, np.nan]},
        geometry=[Point(0, 0), Point(1, 0)],
        index=pd.DatetimeIndex(["2026-01-01", "2026-01-02"]),
        crs=32618,
    )


CHANGES: dict[str, Callable[[gpd.GeoDataFrame], object]] = {
    "a name": lambda each: each.replace("Home", "House"),
    "a name that is missing": lambda each: each.assign(name=["Home", "None"]),
    "a height": lambda each: each.assign(height_m=[1.0, 2.0]),
    "a corner": lambda each: each.translate(0.0, 1e-9),
    "the CRS": lambda each: each.set_crs(32619, allow_override=True),
    "no CRS": lambda each: each.set_crs(None, allow_override=True),
    "a column's name": lambda each: each.rename(columns={"height_m": "height"}),
    "a column's kind": lambda each: each.astype({"height_m": "float32"}),
    "the order of columns": lambda each: each[["height_m", "name", "geometry"]],
    "the order of rows": lambda each: each.iloc[::-1],
    "a day": lambda each: each.shift(1, "D"),
    "the zone of days": lambda each: each.tz_localize("UTC"),
    "a row less": lambda each: each.iloc[:1],
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_a_table_that_differs_in_anything_has_another_digest(change):
    assert digest(frame()) == digest(frame())
    assert digest(change(frame())) != digest(frame())
