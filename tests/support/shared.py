"""What is made once for a whole run of tests, whichever process asks first."""

import fcntl
import os


def once(tmp_path_factory, name, make):
    """A folder that `make(folder)` has filled, the same for every process of the run.

    It is not to be changed: a test that writes copies it first.
    """
    base = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    folder, done = base / "shared" / name, base / "shared" / f"{name}.done"
    folder.mkdir(parents=True, exist_ok=True)
    with done.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            make(folder)
            done.touch()
    return folder
