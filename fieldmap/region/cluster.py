"""Tasks of a region on Dask: workers of this machine, or a cluster that people run.

Dask hands tasks out, starts a worker that has died anew and gives its task to another;
nothing of that is done here.
"""

import os
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import chain
from typing import Any

import dask
import distributed
from distributed.scheduler import KilledWorker

from fieldmap.cache import code_hash
from fieldmap.errors import PlanError, problem
from fieldmap.model.fact import Fact, Progress
from fieldmap.region.run import Rounds, Task, Workers

MEMORY = "4 GB"  # of a worker; Dask ends one that takes more, and begins it anew
# Of a worker's process, before it begins: later, libraries would have read them already.
ENVIRONMENT = {
    # It is one process on one core: kernels and libraries take no more threads.
    **dict.fromkeys(
        (
            "NUMBA_NUM_THREADS",
            "OMP_NUM_THREADS",
            "OPENBLAS_NUM_THREADS",
            "MKL_NUM_THREADS",
            "GDAL_NUM_THREADS",
        ),
        "1",
    ),
    # Grids of a tile are of one size, again and again: the memory of one serves the next,
    # where else the system clears its pages anew (a sixth of a tile's time).
    **dict.fromkeys(("MALLOC_MMAP_THRESHOLD_", "MALLOC_TRIM_THRESHOLD_"), str(2**32)),
}
WAIT_S = 30.0  # for a scheduler to answer
SAY_EVERY_S = 5.0
SOON_HOURS = 2.5 / 60  # less comes out as 0 minutes
SETTINGS = {
    # A task whose workers died this often is given up: it is to blame.
    "distributed.scheduler.allowed-failures": 10,
    "distributed.comm.timeouts.connect": f"{WAIT_S:.0f}s",
    "distributed.admin.tick.limit": "1h",  # nobody reads what it says of long tasks
    "distributed.worker.memory.spill": False,  # results are files, there is none to spill
    "distributed.worker.memory.target": False,
    "distributed.nanny.pre-spawn-environ": ENVIRONMENT,
    # Where the time goes is asked with other tools; each look would take from the work.
    "distributed.worker.profile.enabled": False,
    "distributed.admin.system-monitor.interval": "5s",
    "distributed.admin.system-monitor.gil.enabled": False,
    "distributed.admin.tick.interval": "1s",
}


@contextmanager
def workers(
    count: int | None, scheduler: str | None, say: Progress
) -> Iterator[Workers]:
    """What does the tasks of each stage, while the cluster lasts.

    Parameters
    ----------
    count
        Workers of this machine, one for each core where None.
    scheduler
        Address of a cluster's scheduler, whose workers see the region's folder under
        the same path and run the same fieldmap; None for workers of this machine.
    say
        Is called with what is done and how long the rest may take.

    Raises
    ------
    PlanError
        When the scheduler does not answer, or its workers run another fieldmap.
    """
    with dask.config.set(SETTINGS), _client(count, scheduler) as client:
        say(Fact("region_dashboard", address=client.dashboard_link))
        yield lambda stage, todo: _do(client, stage, todo, say)


@contextmanager
def _client(count: int | None, scheduler: str | None) -> Iterator[Any]:
    if scheduler is not None:
        with _of_address(scheduler) as client:
            yield client
        return
    with (
        distributed.LocalCluster(
            n_workers=count or os.cpu_count(),
            threads_per_worker=1,
            memory_limit=MEMORY,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            security=True,  # others on this machine must not hand tasks to it
            silence_logs="ERROR",
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


@contextmanager
def _of_address(address: str) -> Iterator[Any]:
    try:
        client = distributed.Client(address, timeout=WAIT_S)
    except (OSError, ValueError, TimeoutError) as error:
        raise PlanError(
            problem(
                "no scheduler answers at {address}; start one (dask scheduler), and give"
                " its address, such as tcp://127.0.0.1:8786.",
                address=address,
            )
        ) from error
    with client:
        there = set(client.run(code_hash).values())
        if not there:
            raise PlanError(
                problem(
                    "the scheduler at {address} has no workers; start some (dask worker"
                    " {address}).",
                    address=address,
                )
            )
        if there != {code_hash()}:
            raise PlanError(
                problem(
                    "workers of {address} run another version of fieldmap; install the same"
                    " version on all of them.",
                    address=address,
                )
            )
        yield client


def _do(client: Any, stage: str, rounds: Rounds, say: Progress) -> None:
    """Do tasks, and say how far they are and how long the rest may take."""
    every = sum(map(len, rounds))
    if not every:
        return
    say(Fact(f"region_{stage}", number=max(map(len, rounds))))
    begun = said = time.monotonic()
    done = chain.from_iterable(_done(client, stage, todo) for todo in rounds)
    try:
        for number, _ in enumerate(done, start=1):
            now = time.monotonic()
            if now - said < SAY_EVERY_S:
                continue
            said = now
            left_hours = (now - begun) / 3600 / number * (every - number)
            kind = "region_soon_done" if left_hours < SOON_HOURS else "region_done"
            say(Fact(kind, done_share=number / every, left_hours=left_hours))
    except KilledWorker as error:
        raise PlanError(
            problem(
                "a worker died {times} times over the same tile; it may need more than"
                " {memory}: give fewer workers, or smaller tiles (tile_cells).",
                times=SETTINGS["distributed.scheduler.allowed-failures"],
                memory=MEMORY,
            )
        ) from error


def _done(client: Any, stage: str, todo: Sequence[Task]) -> Iterator[str]:
    """Names of tiles as tasks are done."""
    # A name for each, so that Dask's own pages tell them apart.
    names = [f"{stage}-{task.tile.name}-{task.key}" for task in todo]
    futures = client.map(Task.do, list(todo), key=names, pure=False)
    try:
        for future in distributed.as_completed(futures):
            yield future.result()
    finally:
        client.cancel(futures)
