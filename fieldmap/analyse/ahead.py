"""What nothing that is decided can change is computed beside what is decided."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import geopandas as gpd

from fieldmap.analyse import Ground, wind_around
from fieldmap.analyse.cold_air import flow, offset
from fieldmap.cache import Store
from fieldmap.model.fact import Fact


@contextmanager
def air(
    known: Ground, things: Sequence[tuple[gpd.GeoDataFrame, Store]]
) -> Iterator[None]:
    """Let cold air and wind run meanwhile past several surroundings, each kept apart.

    No thread is at work any more once it is left.

    Parameters
    ----------
    known
        The site and its ground.
    things
        What stands around, and where it is kept what the air does there.
    """
    site = known.site
    if not things or not offset.is_run(site.edge_m):
        yield
        return
    length_h = flow.night_h(site.weather.days, site.latitude, site.longitude)

    def run(around: gpd.GeoDataFrame, store: Store) -> None:
        kept = store.ahead()
        flow.run(known.runs_over, site.plots, around, length_h, kept, _silent)
        wind_around(site, known.smooth, around, kept, _silent)

    with ThreadPoolExecutor(len(things)) as pool:
        for each in things:
            pool.submit(run, *each)
        try:
            yield
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            flow.begin_no_more()
            raise


def _silent(_step: Fact) -> None:
    """Steps are named as they are waited for."""
