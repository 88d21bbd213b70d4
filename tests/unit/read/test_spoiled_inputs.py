"""A short campaign, the same each time: spoiled inputs are refused in clean sentences."""

import shutil
import sys

import pytest
from campaign import fuzz, inputs
from campaign.attempt import Watch, attempt

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="asks the system")
KINDS = 42
CASES = KINDS


@pytest.fixture(scope="module")
def watch(tmp_path_factory):
    return Watch(tmp_path_factory.mktemp("outside") / "secrets")


def test_every_kind_of_input_is_there_and_read_as_it_is(watch, tmp_path):
    kinds = inputs.kinds()
    assert len(kinds) == KINDS
    for name in ("choices", "geopackage", "zip of shp"):
        inputs.lay_out(kinds[name].files, tmp_path / name)
        assert attempt(tmp_path / name, watch) is None


@pytest.mark.parametrize("first", range(0, CASES, KINDS // 2))
def test_spoiled_inputs_are_refused_and_nothing_else(watch, tmp_path, first):
    found = {}
    for number in range(first, first + KINDS // 2):
        kind, spoiled = fuzz.drawn(2026, number)
        fuzz.lay_out(kind, spoiled, tmp_path / "site", watch)
        if fault := attempt(tmp_path / "site", watch):
            found[number] = fault
        shutil.rmtree(tmp_path / "site")
    assert found == {}


def test_the_same_seed_draws_the_same_cases():
    assert fuzz.drawn(7, 12) == fuzz.drawn(7, 12)


def test_the_watch_sees_a_read_and_a_request(watch, tmp_path):
    import socket

    (watch.outside / "secret.csv").read_bytes()
    assert watch.reads()
    with socket.create_connection(("127.0.0.1", watch.port)) as asked:
        assert asked.recv(1) == b""
    assert watch.asked == 1
