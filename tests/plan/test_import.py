"""The package is imported at once; what is slow is loaded when it is asked for."""

import os
import subprocess
import sys

import pytest

import fieldmap
from fieldmap.cli import app

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


def test_a_plan_that_stays_loads_none_of_those_that_read_and_compute(tmp_path):
    """All that the command does before it knows that nothing changed, and after."""
    (tmp_path / "site.toml").write_text("")
    program = f"""
import sys
from fieldmap import cli, output_folder
from fieldmap.output_folder import HandOver
output_folder.keep_or_make = lambda *_words: (HandOver([], ("en", "metric"), {{}}), True)
try:
    cli.main()
except SystemExit:
    print(sorted({set(HEAVY) - {"numpy", "babel"}!r} & set(sys.modules)))
"""
    result = subprocess.run(
        [sys.executable, "-c", program, "plan", str(tmp_path)],
        check=True,
        capture_output=True,
        text=True,
    )
    assert result.stdout.strip() == "[]"


def test_what_is_not_exported_is_not_there():
    with pytest.raises(AttributeError, match="no attribute 'make_plans'"):
        _ = fieldmap.make_plans


# Each command begins where nothing is loaded but the command line: what one command has
# loaded hides from the next that it lacks something. A process that splits is quickly made.
EACH_ALONE = """
import os, sys, traceback
from fieldmap import cli

for name in sys.argv[1:]:
    sys.stdout.flush()
    if not (child := os.fork()):
        sys.argv = ["fieldmap", name, "--help"]
        try:
            cli.main()
        except SystemExit as end:
            sys.stdout.flush()
            os._exit(end.code or 0)
        except BaseException:
            traceback.print_exc()
        os._exit(1)
    if os.waitpid(child, 0)[1]:
        print(name, "fails", file=sys.stderr)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that split")
def test_every_command_begins_in_a_process_of_its_own():
    names = [each.name or each.callback.__name__ for each in app.registered_commands]
    assert len(names) > 10
    result = subprocess.run(
        [sys.executable, "-c", EACH_ALONE, *names],
        check=False,
        capture_output=True,
        text=True,
    )
    assert (result.returncode, result.stderr) == (0, "")
    for name in names:
        assert f" {name} [OPTIONS]" in result.stdout
