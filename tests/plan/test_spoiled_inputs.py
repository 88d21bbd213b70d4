"""A short campaign, the same each time: spoiled inputs are refused in clean sentences."""

import shutil
import sys

import pytest
from campaign import begun, fuzz, inputs
from campaign.attempt import Watch, attempt, read_all

from fieldmap.read import read_site
from fieldmap.show.text.language import codes

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="asks the system")
KINDS = 55
DRAWN = 12  # cases; thousands are drawn by `make fuzz`
# Of the files that are kept, all that were once found and as many others.
OTHERS = 12
SLOW = {"typical year tm2", "typical year csv", "weather tm2", "weather csv tmy3"}


@pytest.fixture(scope="module")
def watch(tmp_path_factory):
    """What may not be read or asked, once the loops that a reader needs are compiled.

    On a fresh and busy machine that takes longer than any case may.
    """
    whole = tmp_path_factory.mktemp("whole") / "site"
    inputs.lay_out(dict(inputs.kinds()["beds"].files), whole)
    read_all(whole)
    return Watch(tmp_path_factory.mktemp("outside") / "secrets")


def test_every_kind_of_input_is_read_as_long_as_it_is_not_spoiled(tmp_path):
    """Or what is spoiled in it would lie behind what is refused in any case."""
    kinds = inputs.kinds()
    assert len(kinds) == KINDS
    sites = {frozenset(kinds[name].files.items()) for name in kinds.keys() - SLOW}
    for number, files in enumerate(sites):
        inputs.lay_out(dict(files), tmp_path / str(number))
        if (tmp_path / str(number) / begun.GIVEN).is_dir():
            begun.begin(tmp_path / str(number))
            read_site(tmp_path / str(number) / begun.MADE, codes())
        else:
            read_site(tmp_path / str(number), codes())


def faults(cases, watch, folder):
    """What is wrong with how each case is read."""
    found = {}
    for name, kind, spoiled in cases:
        fuzz.lay_out(kind, spoiled, folder, watch)
        if fault := attempt(folder, watch):
            found[name] = fault
        shutil.rmtree(folder)
    return found


def test_spoiled_inputs_are_refused_and_nothing_else(watch, tmp_path):
    cases = [(number, *fuzz.drawn(2026, number)) for number in range(DRAWN)]
    assert faults(cases, watch, tmp_path / "site") == {}


def test_what_was_found_once_is_refused(watch, tmp_path):
    kinds = inputs.kinds()
    kept = [
        (f"{name}/{file}", kinds[name], content)
        for name, files in inputs.kept().items()
        for file, content in files
    ]
    found = [case for case in kept if "/found-" in case[0]]
    others = [case for case in kept if "/found-" not in case[0]]
    some = others[:: max(len(others) // OTHERS, 1)]
    assert found
    assert faults([*found, *some], watch, tmp_path / "site") == {}


def test_what_is_kept_is_small():
    sizes = [len(each) for files in inputs.kept().values() for _name, each in files]
    assert sum(sizes) < 1_000_000


def test_the_same_seed_draws_the_same_cases():
    assert fuzz.drawn(7, 12) == fuzz.drawn(7, 12)


def test_the_watch_sees_a_read_and_a_request(watch, tmp_path):
    import socket

    (watch.outside / "secret.csv").read_bytes()
    assert watch.reads()
    with socket.create_connection(("127.0.0.1", watch.port)) as asked:
        assert asked.recv(1) == b""
    assert watch.asked == 1
