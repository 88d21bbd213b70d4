"""From a folder of outlines, elevation and weather to a plan that can be built.

What Python programs call stands in `fieldmap.api` and is named in `__all__`; it is loaded
when first asked for, so that the command stays quick.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fieldmap.api import (
        Grid,
        Plan,
        Site,
        dates,
        grids,
        make_plan,
        map_html,
        picture_of_beds,
        picture_of_cold_air,
        read_site,
        stays,
        tables,
        write_plan,
    )
    from fieldmap.errors import FieldmapError

__all__ = [
    "FieldmapError",
    "Grid",
    "Plan",
    "Site",
    "dates",
    "grids",
    "make_plan",
    "map_html",
    "picture_of_beds",
    "picture_of_cold_air",
    "read_site",
    "stays",
    "tables",
    "write_plan",
]


def __getattr__(name: str) -> Any:
    """One of `__all__`, loaded now."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from fieldmap import api

    return getattr(api, name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
