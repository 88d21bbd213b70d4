"""What is said of a run that was asked to stop."""

import time

import pytest

from fieldmap.serve import planning
from fieldmap.serve.planning import Planning

# At Stop: one is done already, one ends as most do.
DONE, ENDS = "sys.exit(0)", "sys.exit(130)"


@pytest.mark.parametrize(("at_stop", "ended"), [(DONE, "made"), (ENDS, "stopped")])
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
    run = Planning(tmp_path)
    run.start()
    began = time.monotonic()
    while not run.state()["steps"]:
        assert time.monotonic() < began + 60
        time.sleep(0.01)
    run.stop()
    assert run.state()["ended"] == ended
