"""The demo site, planned by the command as README shows it."""

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
MADE = shutil.ignore_patterns("plan", ".fieldmap", "pictures", "*.py", "__pycache__")


def plan_demo(folder):
    """A copy of the demo site in a folder, with its plan and what is kept for the next."""
    shutil.copytree(ROOT / "demo_site", folder / "demo_site", ignore=MADE)
    command = Path(sys.executable).with_name("fieldmap")
    result = subprocess.run(
        [command, "plan", "demo_site", "--today", "2026-01-01"],
        cwd=folder,
        check=False,
        capture_output=True,
        text=True,
    )
    assert result.returncode == 0, result.stderr
