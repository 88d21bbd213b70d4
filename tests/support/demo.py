"""The demo site, planned by the command as README shows it."""

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
MADE = shutil.ignore_patterns("plan", ".fieldmap", "pictures", "*.py", "__pycache__")


def run_alone(*words, cwd=None):
    """The command in a process of its own, as people run it."""
    return subprocess.run(
        [Path(sys.executable).with_name("fieldmap"), *map(str, words)],
        cwd=cwd,
        check=False,
        capture_output=True,
        text=True,
    )


def plan_demo(folder):
    """A copy of the demo site in a folder, with its plan and what is kept for the next."""
    shutil.copytree(ROOT / "demo_site", folder / "demo_site", ignore=MADE)
    result = run_alone("plan", "demo_site", "--today", "2026-01-01", cwd=folder)
    assert result.returncode == 0, result.stderr
