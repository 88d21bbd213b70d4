"""The package is imported at once; what is slow is loaded when it is asked for."""

import subprocess
import sys

import pytest

import fieldmap

HEAVY = (
    "numpy",
    "pandas",
    "geopandas",
    "rasterio",
    "pvlib",
    "folium",
    "numba",
    "babel",
)


def test_importing_the_package_loads_none_of_the_heavy_libraries():
    program = f"import fieldmap, sys; print(sorted({set(HEAVY)!r} & set(sys.modules)))"
    result = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True
    )
    assert result.stdout.strip() == "[]"


def test_what_is_not_exported_is_not_there():
    with pytest.raises(AttributeError, match="no attribute 'make_plans'"):
        _ = fieldmap.make_plans
