"""Sites planned by the command, in a process of its own as people run it."""

import pickle
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
MADE = shutil.ignore_patterns("plan", ".fieldmap", "pictures", "*.py", "__pycache__")


def run_alone(*words, cwd=None):
    """The command in a process of its own."""
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


def plan_plain(folder):
    """A plain site in a folder with its plan, what is kept, and what the command said."""
    from site_folder import SiteFolder

    (folder / "site").mkdir()
    site = SiteFolder(folder / "site").plain()
    result = run_alone("plan", site.path)
    assert result.returncode == 0, result.stderr
    (folder / "result.pickle").write_bytes(pickle.dumps(result))
