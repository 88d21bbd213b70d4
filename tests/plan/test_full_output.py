"""An output that takes nothing more is one sentence, in a command of its own."""

import subprocess
import sys
from pathlib import Path

import pytest

FULL = Path("/dev/full")
DEMO = Path(__file__).parents[2] / "demo_site"


@pytest.mark.skipif(not FULL.exists(), reason="needs a full device")
def test_a_full_output_is_one_sentence():
    call = [sys.executable, "-c", "from fieldmap.cli import main; main()", "check", "."]
    with FULL.open("w") as full:
        done = subprocess.run(
            call, cwd=DEMO, stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(not FULL.exists(), reason="needs a full device")
def test_help_that_a_full_disk_does_not_take_is_one_sentence():
    call = [sys.executable, "-c", "from fieldmap.cli import main; main()", "--help"]
    with FULL.open("w") as full:
        done = subprocess.run(
            call, stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert done.returncode == 1
    assert done.stderr.startswith("fieldmap: the computer refused")
    assert done.stderr.count("\n") == 1
