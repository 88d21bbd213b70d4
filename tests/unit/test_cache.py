"""What did not change is not computed again; what did is."""

import hashlib
import os
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from fieldmap import cache
from fieldmap.cache import Pieces, Store


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


@pytest.fixture(autouse=True)
def own_state(tmp_path_factory, monkeypatch):
    """A user of whom nothing is known yet."""
    folder = tmp_path_factory.mktemp("state")
    monkeypatch.setenv("XDG_STATE_HOME", str(folder))
    return folder


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
    monkeypatch.setattr(cache, "code_hash", lambda: "other code")
    Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2


def kept_entry(tmp_path, compute):
    Store(tmp_path).reuse("sun", {}, compute)
    (stored,) = tmp_path.glob("*.npz")
    return stored


def test_a_result_that_is_cut_anywhere_is_computed_anew(tmp_path, compute):
    stored = kept_entry(tmp_path, compute)
    whole = stored.read_bytes()
    for runs, size in enumerate(range(0, len(whole), 7), start=2):
        stored.write_bytes(whole[:size])
        answer = Store(tmp_path).reuse("sun", {}, compute)["answer"]
        assert answer.tolist() == [runs, 42]


def test_any_bit_that_flips_asks_for_a_new_result(tmp_path, compute):
    stored = kept_entry(tmp_path, compute)
    whole = stored.read_bytes()
    for at in range(len(whole)):
        spoiled = bytearray(whole)
        spoiled[at] ^= 1 << at % 8
        stored.write_bytes(spoiled)
        assert cache._read(stored) is None, at
    stored.write_bytes(whole)
    assert cache._read(stored) is not None


def test_a_result_under_the_name_of_another_is_not_believed(tmp_path, compute):
    stored = kept_entry(tmp_path, compute)
    stored.rename(tmp_path / f"sun-{cache.key({'sectors': 36})}.npz")
    Store(tmp_path).reuse("sun", {"sectors": 36}, compute)
    assert compute.runs == 2


def test_a_folder_from_another_user_is_computed_anew(
    tmp_path, compute, monkeypatch, own_state
):
    kept_entry(tmp_path, compute)
    monkeypatch.setenv("XDG_STATE_HOME", str(own_state / "stranger"))
    Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2


def test_the_secret_is_for_the_user_alone(tmp_path, compute, own_state):
    kept_entry(tmp_path, compute)
    secret = own_state / "fieldmap" / "secret"
    assert len(secret.read_bytes()) == 32
    assert secret.stat().st_mode & 0o077 == 0
    assert secret.read_bytes() not in b"".join(
        entry.read_bytes() for entry in tmp_path.iterdir() if entry.is_file()
    )


def test_a_secret_that_was_cut_is_made_anew(tmp_path, compute, own_state):
    kept_entry(tmp_path, compute)
    secret = own_state / "fieldmap" / "secret"
    secret.write_bytes(b"short")
    cache._secret.cache_clear()
    for _ in range(2):
        Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2
    assert len(secret.read_bytes()) == 32


def test_without_a_home_each_run_computes_anew(tmp_path, compute, monkeypatch):
    def homeless():
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("XDG_STATE_HOME")
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    assert cache._state_folder() is None
    for _ in range(2):
        Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 1
    cache._secret.cache_clear()  # as in the next run
    Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names there")
def test_a_pipe_in_place_of_a_result_is_not_waited_for(tmp_path, compute):
    stored = kept_entry(tmp_path, compute)
    stored.unlink()
    os.mkfifo(stored)
    Store(tmp_path).reuse("sun", {}, compute)
    assert compute.runs == 2


def test_a_folder_that_is_a_link_is_left_alone(tmp_path, compute):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "sun-mine.npz").write_text("mine")
    (tmp_path / ".fieldmap").symlink_to(elsewhere)
    for folder in (tmp_path / ".fieldmap", tmp_path / ".fieldmap" / "what-if"):
        Store(folder).reuse("sun", {}, compute)
    assert [entry.name for entry in elsewhere.iterdir()] == ["sun-mine.npz"]


def test_what_a_stopped_run_left_is_swept(tmp_path, compute):
    (tmp_path / "sun-0123.99.part").write_text("half")
    kept_entry(tmp_path, compute)
    assert not list(tmp_path.glob("*.part"))


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


def test_a_stage_pushes_out_none_whose_name_begins_like_its_own(tmp_path, compute):
    store = Store(tmp_path)
    for stage in ("shade-of-beds", "shade"):
        for number in range(cache.KEPT):
            store.reuse(stage, {"number": number}, compute)
    assert len(list(tmp_path.iterdir())) == 2 * cache.KEPT
    store.reuse("shade-of-beds", {"number": 0}, compute)
    assert compute.runs == 2 * cache.KEPT


def test_a_result_leaves_alone_what_another_thread_is_still_writing(tmp_path, compute):
    half = tmp_path / f"sun-0123.{os.getpid()}.part"
    half.write_text("half")
    Store(tmp_path).reuse("sun", {"day": 1}, compute)
    assert half.exists()


def test_every_file_of_code_counts_and_so_do_its_folders(tmp_path, monkeypatch):
    package = tmp_path / "package" / "inner"
    package.mkdir(parents=True)
    (package / "deep.py").write_text("one = 1")
    monkeypatch.setattr(cache.resources, "files", lambda name: tmp_path / "package")
    before = cache.code_hash.__wrapped__()
    (package / "deep.py").write_text("one = 2")
    assert cache.code_hash.__wrapped__() != before


def ones():
    return {"values": np.ones(3)}


def test_what_one_thread_computes_another_waits_for(tmp_path):
    store, begun, go_on = Store(tmp_path), threading.Event(), threading.Event()
    asked = []

    def slow():
        asked.append("computed")
        begun.set()
        go_on.wait(10)
        return ones()

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(store.reuse, "sun", {"day": 1}, slow)
        begun.wait(10)
        awaited = threading.Event()
        second = pool.submit(store.reuse, "sun", {"day": 1}, slow, awaited.set)
        assert awaited.wait(10)
        go_on.set()
    assert asked == ["computed"]
    assert first.result()["values"].tolist() == second.result()["values"].tolist()


def test_what_was_computed_ahead_is_handed_over_though_nothing_can_be_written(tmp_path):
    (tmp_path / "file").write_text("no folder can lie in a file")
    store = Store(tmp_path / "file" / "results")
    store.ahead().reuse("sun", {"day": 1}, ones)
    asked = []
    found = store.reuse("sun", {"day": 1}, lambda: asked.append(1) or ones())
    assert found["values"].tolist() == [1.0, 1.0, 1.0]
    assert not asked
    # It was held for one who asks in earnest, and is then computed anew.
    store.reuse("sun", {"day": 1}, lambda: asked.append(1) or ones())
    assert asked == [1]


def test_a_mistake_while_computing_ahead_is_made_again_where_it_is_seen(tmp_path):
    store = Store(tmp_path)

    def wrong():
        raise ValueError("no such day")

    for asking in (store.ahead(), store, store):
        with pytest.raises(ValueError, match="no such day"):
            asking.reuse("sun", {"day": 1}, wrong)


def test_pieces_are_drawn_once_and_kept_in_one_file(tmp_path):
    drawn = []

    def draw(name):
        return lambda: drawn.append(name) or name.encode()

    for _run in range(2):
        pieces = Pieces(Store(tmp_path), "drawn")
        for name in ("map", "sheet"):
            assert pieces.reuse({"name": name}, draw(name)) == name.encode()
        pieces.keep()
    assert drawn == ["map", "sheet"]
    assert [path.name for path in tmp_path.iterdir()] == ["drawn.npz"]


def test_pieces_unused_for_longest_go_when_there_are_too_many(tmp_path, monkeypatch):
    monkeypatch.setattr(cache, "MOST_BYTES_OF_PIECES", 8)

    def asked(*names):
        drawn = []
        pieces = Pieces(Store(tmp_path), "drawn")
        for name in names:
            pieces.reuse(
                {"name": name}, lambda name=name: drawn.append(name) or b"1234"
            )
        pieces.keep()
        return drawn

    assert asked("a", "b") == ["a", "b"]
    assert asked("a", "c") == ["c"]  # a is used again, b is not: b goes
    assert asked("a", "c") == []
    assert asked("b") == ["b"]


def test_pieces_of_other_libraries_are_drawn_anew(tmp_path, monkeypatch):
    pieces = Pieces(Store(tmp_path), "drawn")
    pieces.reuse({}, lambda: b"old")
    pieces.keep()
    monkeypatch.setattr(cache, "installed", lambda: ["pillow-99"])
    assert Pieces(Store(tmp_path), "drawn").reuse({}, lambda: b"new") == b"new"


def test_pieces_that_a_copy_of_the_process_drew_are_kept_here(tmp_path):
    here, there = (Pieces(Store(tmp_path), "drawn") for _ in range(2))
    here.reuse({"name": "sheet"}, lambda: b"sheet")
    there.reuse({"name": "map"}, lambda: b"map")
    here.add(there.used)
    here.keep()
    again = Pieces(Store(tmp_path), "drawn")
    assert again.reuse({"name": "map"}, lambda: b"anew") == b"map"
    assert again.reuse({"name": "sheet"}, lambda: b"anew") == b"sheet"


# ------------------------------------------------------------------ records
@dataclass(frozen=True)
class Tale:
    """A record that says when it is unpickled."""

    runs: int

    def __setstate__(self, state):
        READ.append(state["runs"])
        self.__dict__.update(state)


READ: list[int] = []


@pytest.fixture
def tell():
    READ.clear()
    written = []

    def written_anew():
        written.append(Tale(len(written) + 1))
        return written[-1]

    return written_anew


def test_a_record_of_the_same_is_made_once(tmp_path, tell):
    asked = [Store(tmp_path).recall("tale", "the same", tell) for _ in range(3)]
    assert asked == [Tale(1)] * 3
    assert Store(tmp_path).has("tale", "the same")
    assert not Store(tmp_path).has("tale", "another")
    assert Store(tmp_path).recall("tale", "another", tell) == Tale(2)


def test_a_record_of_other_libraries_is_made_anew(tmp_path, tell, monkeypatch):
    Store(tmp_path).recall("tale", "the same", tell)
    monkeypatch.setattr(cache, "installed", lambda: ["numpy-99.dist-info"])
    assert Store(tmp_path).recall("tale", "the same", tell) == Tale(2)


def test_a_damaged_record_is_made_anew_and_never_unpickled(tmp_path, tell):
    Store(tmp_path).recall("tale", "the same", tell)
    (stored,) = tmp_path.glob("*.npz")
    whole = stored.read_bytes()
    for runs, at in enumerate(range(0, len(whole), 61), start=2):
        spoiled = bytearray(whole)
        spoiled[at] ^= 1
        stored.write_bytes(spoiled)
        assert Store(tmp_path).recall("tale", "the same", tell) == Tale(runs)
    assert READ == []
    assert Store(tmp_path).recall("tale", "the same", tell) == Tale(runs)
    assert [runs] == READ


def test_a_record_from_another_user_is_made_anew_and_never_unpickled(
    tmp_path, tell, monkeypatch, own_state
):
    Store(tmp_path).recall("tale", "the same", tell)
    monkeypatch.setenv("XDG_STATE_HOME", str(own_state / "stranger"))
    assert Store(tmp_path).recall("tale", "the same", tell) == Tale(2)
    assert READ == []


def test_what_fails_to_be_made_leaves_nothing(tmp_path, tell):
    def fails():
        raise ValueError("not today")

    with pytest.raises(ValueError, match="not today"):
        Store(tmp_path).recall("tale", "the same", fails)
    assert not Store(tmp_path).has("tale", "the same")
    assert Store(tmp_path).recall("tale", "the same", tell) == Tale(1)


def test_a_very_large_file_is_known_by_its_size_and_time(tmp_path, monkeypatch):
    """It is not read: one of 20 GB takes a minute."""
    file = tmp_path / "elevation.tif"
    file.write_bytes(b"0123456789")
    by_bytes = cache.digest_of(file)
    assert by_bytes == hashlib.sha256(b"0123456789").hexdigest()
    monkeypatch.setattr(cache, "MOST_BYTES_HASHED", 9)
    first = cache.digest_of(file)
    os.utime(file, ns=(1, 1))
    assert len({by_bytes, first, cache.digest_of(file)}) == 3
