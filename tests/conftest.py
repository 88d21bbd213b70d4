"""What holds for all tests."""

from pathlib import Path

import hypothesis
import pytest
from demo import plan_demo
from shared import once
from site_folder import SiteFolder

# A shared machine may pause any test; the same code gets the same examples.
hypothesis.settings.register_profile("ours", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ours")

# Files of whole plans take longest: begun first, they leave no core idle at the end.
SLOW_FIRST = ("docs", "plan", "browser")


def pytest_collection_modifyitems(items):
    folder = Path(__file__).parent

    def place(item):
        inside = item.path.is_relative_to(folder)
        tier = item.path.relative_to(folder).parts[0] if inside else ""
        return SLOW_FIRST.index(tier) if tier in SLOW_FIRST else len(SLOW_FIRST)

    items.sort(key=place)


@pytest.fixture
def site_folder(tmp_path):
    """A plain site folder at 46°N, 15.3°E, ready to be spoiled."""
    return SiteFolder(tmp_path).plain()


@pytest.fixture
def empty_site_folder(tmp_path):
    """Makes a site folder elsewhere, with nothing in it yet."""

    def make(epsg, west, south):
        return SiteFolder(tmp_path, epsg, west, south)

    return make


def assert_says(sentence, *parts):
    """Every part stands in the sentence."""
    for part in parts:
        assert part in sentence, f"{part!r} not in {sentence!r}"


@pytest.fixture
def says():
    """Checks that a sentence holds all of some words."""
    return assert_says


@pytest.fixture(scope="session")
def planned_demo(tmp_path_factory):
    """The demo site with its plan, made once for all processes; to be copied, not changed."""
    return once(tmp_path_factory, "demo", plan_demo) / "demo_site"
