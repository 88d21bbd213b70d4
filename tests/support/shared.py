"""What is made once for a whole run of tests, whichever process asks first."""

import fcntl
import os
import pickle

from fieldmap.cache import Store


class Kept(Store):
    """A store that drops nothing: tests go from ground to ground and back."""

    def _drop_old(self, stage):
        pass


def of_the_run(tmp_path_factory):
    """The folder that all processes of a run share."""
    base = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    return base / "shared"


def once(tmp_path_factory, name, make):
    """A folder that `make(folder)` has filled, the same for every process of the run.

    It is not to be changed: a test that writes copies it first.
    """
    base = of_the_run(tmp_path_factory)
    folder, done = base / name, base / f"{name}.done"
    folder.mkdir(parents=True, exist_ok=True)
    with done.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            make(folder)
            done.touch()
    return folder


def once_made(tmp_path_factory, name, make):
    """What `make()` gives, the same for every process of the run; a copy for each."""

    def keep(folder):
        (folder / "made.pickle").write_bytes(pickle.dumps(make()))

    folder = once(tmp_path_factory, name, keep)
    return pickle.loads((folder / "made.pickle").read_bytes())
