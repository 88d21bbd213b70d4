"""What holds for all tests.

The process that shares out the files loads this too and runs none of them, so what takes
long to import is imported where it is used.
"""

import gc
from pathlib import Path

import hypothesis
import pytest
from demo import plan_demo
from shared import Kept, of_the_run, once, once_made

# A shared machine may pause any test; the same code gets the same examples.
hypothesis.settings.register_profile("ours", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ours")

# Files of whole plans take longest: begun first, they leave no core idle at the end. The
# first of them need not wait for the demo's plan, which another process makes meanwhile.
SLOW_FIRST = ("plan", "browser", "docs")


@pytest.hookimpl(wrapper=True)
def pytest_collection():
    """What is loaded to collect stays to the end, so that no search for waste walks it.

    What tests make is searched less often than Python would: trees of all the code, which
    some of them keep, would be walked dozens of times while they grow.
    """
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(50_000, 20, 20)
        gc.enable()


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
    from site_folder import SiteFolder

    return SiteFolder(tmp_path).plain()


@pytest.fixture
def empty_site_folder(tmp_path):
    """Makes a site folder elsewhere, with nothing in it yet."""
    from site_folder import SiteFolder

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
def kept(tmp_path_factory):
    """What slow stages gave: whichever test asks, the same ground is worked out once a run."""
    return Kept(of_the_run(tmp_path_factory) / "kept")


@pytest.fixture(scope="session")
def planned_demo(tmp_path_factory):
    """The demo site with its plan, made once for all processes; to be copied, not changed."""
    return once(tmp_path_factory, "demo", plan_demo) / "demo_site"


@pytest.fixture(scope="session")
def small_farm(tmp_path_factory):
    """Two small plots with their plan, made once; to be copied, not changed."""
    from small_farm import plan_small_farm

    return once(tmp_path_factory, "small", plan_small_farm) / "demo_site"


@pytest.fixture(scope="session")
def made_valley(tmp_path_factory):
    """A region of four tiles in `region`, made once; to be copied, not changed."""
    from made_region import make_valley

    return once(tmp_path_factory, "valley", make_valley)


@pytest.fixture(scope="session")
def hedged_plan(tmp_path_factory, kept):
    """A plot of 40 m by 80 m on ground that falls 5 % south, a hedge at its foot."""
    from hedged import make_hedged_plan

    return once_made(tmp_path_factory, "hedged", lambda: make_hedged_plan(kept))
