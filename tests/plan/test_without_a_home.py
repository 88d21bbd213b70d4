"""A user without a home, on an install that cannot be written, waits but is not refused."""

import os
import subprocess
import sys
from pathlib import Path

import fieldmap

PRINTS_ITS_PLACE = """
import fieldmap
from pathlib import Path
fieldmap._places_of_compiled_code = lambda: [Path({blocked!r})]
fieldmap._give_compiled_code_a_place()
import os
import layers.cover
print(os.environ["NUMBA_CACHE_DIR"])
"""


def test_compiled_code_has_a_place_for_the_run_alone(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    done = subprocess.run(
        [sys.executable, "-c", PRINTS_ITS_PLACE.format(blocked=str(blocked))],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    lent = Path(done.stdout.strip())
    assert lent.parent == tmp_path
    assert not lent.exists()


def test_a_folder_that_can_be_written_is_left_as_it_was(tmp_path):
    assert fieldmap._can_be_written(tmp_path / "new")
    assert not list((tmp_path / "new").iterdir())


def test_a_folder_behind_a_file_cannot_be_written(tmp_path):
    (tmp_path / "file").write_text("no folder")
    assert not fieldmap._can_be_written(tmp_path / "file" / "below")
