"""What people install holds both packages and everything they read at run time."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from fieldmap.read.start import demo_site

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel_names(tmp_path_factory):
    out = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "-o", out, ROOT],
        check=True,
        capture_output=True,
    )
    (wheel,) = out.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def test_the_wheel_holds_exactly_the_two_packages(wheel_names):
    tops = {name.split("/")[0] for name in wheel_names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {
        "fieldmap",
        "layers",
    }


def test_every_file_of_the_packages_is_in_the_wheel(wheel_names):
    for package in ("fieldmap", "layers"):
        for path in (ROOT / package).rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                assert path.relative_to(ROOT).as_posix() in wheel_names


def test_both_packages_say_that_they_are_typed(wheel_names):
    assert {"fieldmap/py.typed", "layers/py.typed"} <= wheel_names


def test_the_demo_is_in_the_wheel(wheel_names):
    assert {f"fieldmap/demo_site/{name}" for name in demo_site.FILES} <= wheel_names


def test_the_crops_are_in_the_wheel(wheel_names):
    assert "fieldmap/model/crops.toml" in wheel_names
