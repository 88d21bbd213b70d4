"""One part is drawn in a copy of this process, beside what is drawn here."""

import contextlib
import ctypes
import multiprocessing
import os
import signal
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import TypeVar

T = TypeVar("T")

# The largest map takes a fraction of it once all else is written.
PATIENCE_S = 120.0
_PR_SET_PDEATHSIG = 1  # prctl(2): the signal that a process gets when its parent ends


@contextmanager
def apart(draw: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Begin to draw in a copy of this process; the answer comes when it is called for.

    Where a process cannot be copied at no cost, on one core, or where the copy fails,
    it is drawn here, so that mistakes are seen here too. No other thread may be at work
    when the copy is made, as it would stand still there with all that it holds.
    """
    if sys.platform != "linux" or (os.cpu_count() or 1) < 2:
        yield draw
        return
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    here_id = os.getpid()
    copy = context.Process(target=_send, args=(draw, there, here, here_id), daemon=True)
    with warnings.catch_warnings():
        # Newer Pythons warn of threads: ours wait for work.
        warnings.filterwarnings("ignore", "This process .* is multi-threaded")
        copy.start()
    there.close()

    def asked() -> T:
        # Without an answer it has ended, or waits for what no longer runs there.
        with contextlib.suppress(EOFError, OSError):
            if here.poll(PATIENCE_S):
                answer: T = here.recv()
                return answer
        return draw()

    try:
        yield asked
    finally:
        here.close()
        copy.kill()
        copy.join()


def _send(draw: Callable[[], T], to: Connection, end: Connection, parent: int) -> None:
    """Send what is drawn, or nothing: mistakes are made again where they are seen.

    Parameters
    ----------
    draw
        Makes what is sent.
    to
        Where it goes.
    end
        The other end, which the copy has too. As long as it holds that open it would wait
        for a reader that was killed, and with it for ever hold the place of the plan.
    parent
        Number of the first process, with which this one ends, however it does: what a
        stopped run still drew would keep the next one from its place.
    """
    end.close()
    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:
        return  # it ended before this could be asked for
    # Who stops the command stops the first process, which ends this one.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(Exception), to:
        to.send(draw())
