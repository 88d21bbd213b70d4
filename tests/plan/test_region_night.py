"""The night of a region, spell by spell over several tiles, stopped and gone on with."""

import shutil

import made_region
import pytest

from fieldmap.analyse.cold_air import of_tile
from fieldmap.read.region import read_region
from fieldmap.region import run
from fieldmap.region.tiles import LAYERS

SPELLS, TILES = 8, 4  # half an hour in spells of 225 s, on four tiles of 320 m


class Stopped(Exception):
    """The machine's power is cut."""


@pytest.fixture(scope="module", autouse=True)
def less_around():
    """Half as much ground around each tile, and longer spells: a test's worth."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(of_tile, "FINE_CELLS", 24)
        patch.setattr(of_tile, "SPELL_S_PER_M", 45.0)
        yield


class Night:
    """The night of a region; it stops before the `ends`th spell of a tile."""

    def __init__(self, folder, ends=None):
        self.region, self.heights = read_region(folder)
        self.ends, self.spells = ends, 0

    def work(self, stage, rounds):
        """Stages on which cold air hangs; the offsets need all of it."""
        for task in (task for each in rounds for task in each):
            if stage in ("light", "offsets"):
                continue
            if task.place.air in task.files[0].parents:
                if self.spells == self.ends:
                    raise Stopped
                self.spells += 1
            task.do()

    def run(self):
        return run.make_layers(self.region, self.heights, self.work)


def ran(place):
    """Bytes of what the night is, tile by tile."""
    folder = place.file(LAYERS["night"], place.tiles(LAYERS["night"])[0]).parent
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """A region before its night, and what the night is when nobody stops it."""
    folder = tmp_path_factory.mktemp("night") / "whole"
    made_region.write_region(folder, side_m=640.0, cell_m=2.5, night_hours=0.5)
    begun = folder.with_name("begun")
    with pytest.raises(Stopped):
        Night(folder, ends=0).run()
    shutil.copytree(folder, begun)
    night = Night(folder)
    place = night.run()
    return begun, night, ran(place)


def test_a_night_has_its_spells_and_leaves_nothing_of_them(whole):
    _, night, found = whole
    assert len(found) == TILES
    assert night.spells == SPELLS * TILES
    assert not list((night.region.folder / "region").glob("air/*"))


@pytest.mark.parametrize("ends", [1, 13, SPELLS * TILES - 1])
def test_a_night_that_was_stopped_goes_on_where_it_was_to_the_same_bytes(
    whole, tmp_path, ends
):
    begun, _, found = whole
    folder = shutil.copytree(begun, tmp_path / "r")
    with pytest.raises(Stopped):
        Night(folder, ends).run()
    numbers = {int(path.name) for path in (folder / "region/air").iterdir()}
    kept = [len(list((folder / f"region/air/{n}").iterdir())) for n in numbers]
    assert sum(kept) <= 3 * TILES  # no more than the last spells lie there
    again = Night(folder)
    assert ran(again.run()) == found
    assert again.spells == SPELLS * TILES - ends
