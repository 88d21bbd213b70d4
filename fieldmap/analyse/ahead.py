"""What nothing that is decided can change is computed beside what is decided."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import geopandas as gpd

from fieldmap.analyse import Ground
from fieldmap.analyse.cold_air import flow, offset
from fieldmap.cache import Store
from fieldmap.model.fact import Fact


@contextmanager
def nights(
    known: Ground, things: Sequence[tuple[gpd.GeoDataFrame, Store]]
) -> Iterator[Callable[[], bool]]:
    """Let the cold air of several nights run meanwhile, each kept in its own store.

    Parameters
    ----------
    known
        The site and its ground.
    things
        What stands around in each night.

    Yields
    ------
    all_ran
        Tells whether none is running any more.
    """
    site = known.site
    if not things or not offset.is_run(site.edge_m):
        yield lambda: True
        return
    length_h = flow.night_h(site.weather.days, site.latitude, site.longitude)
    with ThreadPoolExecutor(len(things)) as pool:
        nights = [
            pool.submit(
                flow.run,
                *(known.runs_over, site.plots, around),
                *(length_h, store.ahead(), _silent),
            )
            for around, store in things
        ]
        try:
            yield lambda: all(each.done() for each in nights)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            flow.begin_no_more()
            raise


def _silent(_step: Fact) -> None:
    """Steps are named as they are waited for."""
