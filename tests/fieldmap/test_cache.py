"""What did not change is not computed again; what did is."""

import numpy as np
import pytest

from fieldmap import cache
from fieldmap.cache import Store


class Counted:
    """A computation that counts its runs."""

    def __init__(self):
        self.runs = 0

    def __call__(self):
        self.runs += 1
        return {"answer": np.array([self.runs, 42])}


@pytest.fixture
def compute():
    return Counted()


def test_the_same_inputs_are_computed_once(tmp_path, compute):
    for _ in range(3):
        inputs = {"ground": np.arange(6.0).reshape(2, 3), "sectors": 36}
        answer = Store(tmp_path / "new").reuse("sun", inputs, compute)["answer"]
        assert answer.tolist() == [1, 42]
    assert compute.runs == 1


@pytest.mark.parametrize(
    "other",
    [
        {"ground": np.arange(6.0).reshape(3, 2), "sectors": 36},
        {"ground": np.arange(6.0).reshape(2, 3) + 1e-12, "sectors": 36},
        {"ground": np.arange(6.0).reshape(2, 3), "sectors": 72},
    ],
    ids=["shape", "one bit of a height", "a choice"],
)
def test_any_change_of_an_input_is_computed_anew(tmp_path, compute, other):
    first = {"ground": np.arange(6.0).reshape(2, 3), "sectors": 36}
    Store(tmp_path).reuse("sun", first, compute)
    Store(tmp_path).reuse("sun", other, compute)
    assert compute.runs == 2


def test_a_change_of_the_code_is_computed_anew(tmp_path, compute, monkeypatch):
    Store(tmp_path).reuse("sun", {}, compute)
    monkeypatch.setattr(cache, "_code_hash", lambda: "other code")
    Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2


def test_a_damaged_result_is_computed_anew(tmp_path, compute):
    Store(tmp_path).reuse("sun", {}, compute)
    (stored,) = tmp_path.glob("*.npz")
    stored.write_bytes(stored.read_bytes()[:50])
    Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2


def test_a_folder_that_cannot_be_written_only_costs_time(tmp_path, compute):
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    for _ in range(2):
        Store(in_the_way).reuse("sun", {}, compute)
    assert compute.runs == 2


def test_only_the_latest_results_of_a_stage_are_kept(tmp_path, compute):
    for number in range(cache.KEPT + 3):
        Store(tmp_path).reuse("sun", {"number": number}, compute)
    Store(tmp_path).reuse("cold_air", {}, compute)
    assert len(list(tmp_path.glob("sun-*.npz"))) == cache.KEPT
    assert len(list(tmp_path.iterdir())) == cache.KEPT + 1


def test_every_file_of_code_counts_and_so_do_its_folders(tmp_path, monkeypatch):
    package = tmp_path / "package" / "inner"
    package.mkdir(parents=True)
    (package / "deep.py").write_text("one = 1")
    monkeypatch.setattr(cache.resources, "files", lambda name: tmp_path / "package")
    before = cache._code_hash.__wrapped__()
    (package / "deep.py").write_text("one = 2")
    assert cache._code_hash.__wrapped__() != before
