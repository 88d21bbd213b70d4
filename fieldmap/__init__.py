"""From a folder of outlines, elevation and weather to a plan that can be built.

What Python programs call stands in `fieldmap.api` and is named in `__all__`; it is loaded
when first asked for, so that the command stays quick.
"""

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fieldmap.api import (
        Grid,
        Plan,
        Site,
        dates,
        green_manures,
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
    "green_manures",
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


def _places_of_compiled_code() -> Iterator[Path]:
    """Folders in which numba can keep compiled code, as it would choose among them."""
    if folder := os.environ.get("NUMBA_CACHE_DIR"):
        yield Path(folder)
    yield Path(__file__).parents[1] / "layers" / "__pycache__"
    with contextlib.suppress(RuntimeError):  # a user without a home
        yield Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def _can_be_written(folder: Path) -> bool:
    probe = folder / f"fieldmap-{os.getpid()}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with probe.open("xb") as file:
            file.write(bytes(4096))
    except OSError:
        return False
    finally:
        with contextlib.suppress(OSError):
            probe.unlink(missing_ok=True)
    return True


def _give_compiled_code_a_place() -> None:
    """Lend numba a folder for this run where it can write none: else it does not load."""
    if any(map(_can_be_written, _places_of_compiled_code())):
        return
    import atexit
    import shutil
    import tempfile

    with contextlib.suppress(OSError):
        lent = tempfile.mkdtemp(prefix="fieldmap-")
        atexit.register(shutil.rmtree, lent, ignore_errors=True)
        os.environ["NUMBA_CACHE_DIR"] = lent


_give_compiled_code_a_place()
