"""Air that runs ahead is that which is asked for later, and is run once."""

import threading

import numpy as np
import pytest
from made_up import plane, plot_box, quietly, site, surroundings

from fieldmap import analyse
from fieldmap.analyse import ahead
from fieldmap.analyse.cold_air import flow
from fieldmap.cache import Store
from layers import shelter

HEDGE = ("hedge", plot_box(300, -124, 420, -120), {"height_m": 3.0, "porosity": 0.2})


@pytest.fixture
def place():
    """A plot on an even slope with 300 m of known ground around it, and wind uphill."""
    ground = plane(rows=80, cols=80, north=0.06, cell_size_m=9.0)
    plots = {"Home": plot_box(320, -100, 400, -20)}
    wind = {"prevailing_from_deg": 180.0}
    return site(ground, plots, surroundings(HEDGE), wind=wind)


@pytest.fixture
def runs(monkeypatch):
    """The nights that were run, by the thread that asked for them."""
    run, asked = flow._three_runs, []

    def counted(*night):
        asked.append(threading.current_thread())
        return run(*night)

    monkeypatch.setattr(flow, "_three_runs", counted)
    return asked


def night(place, things, store):
    length_h = flow.night_h(place.weather.days, place.latitude, place.longitude)
    ground = analyse.ground_of(place, store).runs_over
    return flow.run(ground, place.plots, things, length_h, store, quietly)


def test_a_night_that_ran_ahead_is_the_same_and_not_run_again(
    place, runs, tmp_path, monkeypatch
):
    ran = Store(tmp_path / "ahead")
    known, go_on = analyse.ground_of(place, ran), threading.Event()
    run = flow._three_runs
    monkeypatch.setattr(flow, "_three_runs", lambda *met: go_on.wait(20) and run(*met))
    with ahead.air(known, [(place.surroundings, ran)]):
        go_on.set()
        found = night(place, place.surroundings, ran)
    assert len(runs) == 1
    assert runs[0] is not threading.main_thread()
    alone = night(place, place.surroundings, Store(tmp_path / "alone"))
    assert len(runs) == 2
    assert found.depths_m.values.tobytes() == alone.depths_m.values.tobytes()
    assert found.frames_m.tobytes() == alone.frames_m.tobytes()


def test_two_nights_keep_apart(place, runs, tmp_path):
    store = Store(tmp_path)
    bare = place.surroundings.iloc[:0]
    things = [(place.surroundings, store), (bare, store.within("what-if"))]
    with ahead.air(analyse.ground_of(place, store), things):
        hedged = night(place, *things[0])
        open_ = night(place, *things[1])
    assert len(runs) == 2
    # The hedge lies across the slope: cold air stands deeper above it than without it.
    deeper_m = hedged.depth_m.values - open_.depth_m.values
    assert np.nanmax(deeper_m) > 0.1


def test_wind_past_what_stands_around_is_worked_out_meanwhile(
    place, tmp_path, monkeypatch
):
    asked, shares = [], shelter.share_of_open_wind

    def counted(*wind):
        asked.append(threading.current_thread())
        return shares(*wind)

    monkeypatch.setattr(shelter, "share_of_open_wind", counted)
    store = Store(tmp_path / "ahead")
    known = analyse.ground_of(place, store)
    with ahead.air(known, [(place.surroundings, store)]):
        pass
    (thread,) = asked
    assert thread is not threading.main_thread()
    (found, alone) = (
        analyse.wind_around(place, known.smooth, place.surroundings, there, quietly)
        for there in (store, Store(tmp_path / "alone"))
    )
    assert asked == [thread, threading.main_thread()]
    assert found.values.tobytes() == alone.values.tobytes()


def test_when_the_command_is_stopped_no_further_run_begins(
    place, tmp_path, monkeypatch
):
    begun = threading.Semaphore(0)
    go_on = threading.Event()

    def slow(*_night):
        list(flow._pool().map(lambda _run: (begun.release(), go_on.wait(20)), range(9)))

    monkeypatch.setattr(flow, "_three_runs", slow)
    cores = flow._pool()._max_workers

    def stop():
        known = analyse.ground_of(place, Store(tmp_path))
        with ahead.air(known, [(place.surroundings, Store(tmp_path))]):
            begun.acquire(timeout=20)
            threading.Timer(0.5, go_on.set).start()
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stop()
    started = 1
    while begun.acquire(blocking=False):
        started += 1
    assert started <= cores


def test_where_no_air_is_run_none_is_run_ahead(runs, tmp_path):
    """The elevation ends 40 m from the plot: there the flow says nothing."""
    small = site(
        plane(rows=20, cols=20, cell_size_m=6.0), {"Home": plot_box(40, 120, 80, 160)}
    )
    known = analyse.ground_of(small, Store(tmp_path))
    with ahead.air(known, [(small.surroundings, Store(tmp_path))]):
        pass
    assert runs == []
