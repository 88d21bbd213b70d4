"""What is drawn in a copy of the process is as what is drawn here, mistakes too."""

import os
import select
import signal
import sys
import time
import warnings

import pytest

from fieldmap.show import apart as module
from fieldmap.show.apart import apart

only_where_copied = pytest.mark.skipif(
    sys.platform != "linux" or (os.cpu_count() or 1) < 2, reason="nothing is copied"
)


def test_the_answer_is_what_was_drawn():
    # More than a pipe holds, so that who draws waits for who asks.
    with apart(lambda: b"map" * 1_000_000) as asked:
        assert asked() == b"map" * 1_000_000


@only_where_copied
def test_it_is_drawn_beside_this_process():
    with apart(os.getpid) as asked:
        assert asked() != os.getpid()


def test_a_mistake_is_made_here_where_it_is_seen():
    def wrong():
        raise ValueError("no such bed")

    with apart(wrong) as asked, pytest.raises(ValueError, match="no such bed"):
        asked()


@only_where_copied
def test_where_the_copy_ends_early_it_is_drawn_here():
    here = os.getpid()

    def draw():
        if os.getpid() != here:
            os._exit(1)
        return "drawn here"

    with apart(draw) as asked:
        assert asked() == "drawn here"


@only_where_copied
def test_a_copy_that_stands_still_is_not_waited_for(monkeypatch):
    monkeypatch.setattr(module, "PATIENCE_S", 0.2)
    here = os.getpid()

    def draw():
        if os.getpid() != here:
            time.sleep(60)
        return "drawn here"

    began = time.monotonic()
    with apart(draw) as asked:
        assert asked() == "drawn here"
    assert time.monotonic() - began < 30


def test_one_core_draws_here(monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    with apart(os.getpid) as asked:
        assert asked() == os.getpid()


@only_where_copied
@pytest.mark.parametrize("draws_s", [0, 60])
def test_a_copy_ends_when_nobody_is_left_to_hear_it(draws_s):
    """It holds the place of the plan as long as it lives, as all that it was copied from."""
    alive, held = os.pipe()  # whose end is seen once nobody holds it
    begun, tell = os.pipe()

    def draw():
        os.write(tell, b"%d " % os.getpid())
        time.sleep(draws_s)
        return b"map" * 1_000_000

    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "This process .* is multi-threaded")
        first = os.fork()
    if first == 0:
        with apart(draw):
            time.sleep(60)
        os._exit(1)
    os.close(held)
    copy = int(os.read(begun, 20))
    os.kill(first, signal.SIGKILL)
    os.waitpid(first, 0)
    has_ended = bool(select.select([alive], [], [], 10)[0])
    if not has_ended:
        os.kill(copy, signal.SIGKILL)
    assert has_ended, "the copy waits for ever"
    for end in (alive, begun, tell):
        os.close(end)
