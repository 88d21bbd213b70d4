"""What is said of a run that was asked to stop."""

import time

import pytest

from fieldmap.serve import planning
from fieldmap.serve.planning import Planning

# At Stop: one is done already, one ends as most do, and one is deaf to its first sign.
DONE, ENDS, DEAF = "sys.exit(0)", "sys.exit(130)", "None"


@pytest.mark.parametrize(
    ("at_stop", "ended"), [(DONE, "made"), (ENDS, "stopped"), (DEAF, "stopped")]
)
def test_a_run_that_was_done_when_it_heard_of_stop_is_made(
    tmp_path, monkeypatch, at_stop, ended
):
    command = (
        "import signal, sys, time\n"
        f"signal.signal(signal.SIGINT, lambda *_: {at_stop})\n"
        "print('fieldmap: begun', file=sys.stderr, flush=True)\n"
        "time.sleep(60)"
    )
    monkeypatch.setattr(planning, "_COMMAND", command)
    monkeypatch.setattr(planning, "PATIENCE_S", 0.5)
    run = Planning(tmp_path)
    run.start()
    began = time.monotonic()
    while not run.state()["steps"]:
        assert time.monotonic() < began + 60
        time.sleep(0.01)
    asked = time.monotonic()
    run.stop()
    assert time.monotonic() < asked + 20  # and not after its minute
    assert run.state()["ended"] == ended
