"""A plan made beside the page: the command itself, its steps as it names them, and Stop.

It runs as a process of its own: so it can be stopped at any moment, and what a stopped run
leaves is swept by the next, as after any other.
"""

import contextlib
import signal
import subprocess
import sys
import time
from pathlib import Path
from threading import Lock, Thread
from typing import Any

_COMMAND = "from fieldmap.cli import main; main()"
_PREFIX = "fieldmap: "
MOST_LINES = 400
# What asks a run to end; one that a shell began in its background hears no SIGINT.
_SIGNS = (
    (signal.SIGTERM,) if sys.platform == "win32" else (signal.SIGINT, signal.SIGTERM)
)
PATIENCE_S = 2.0


class Planning:
    """The one run there may be at a time, or the last."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = Lock()
        self._process: subprocess.Popen[str] | None = None
        self._steps: list[str] = []
        self._ended: str | None = None
        self._began = 0.0
        self._took_s: int | None = None

    @property
    def map_file(self) -> Path:
        """Where the map of the plan lies, if there is one."""
        return self.folder / "plan" / "map.html"

    def start(self) -> None:
        """Begin a run; where one is going on it goes on."""
        with self._lock:
            if self._process is not None and self._ended is None:
                return
            if self._process is not None:
                # One that was stopped and still ends holds the place of the plan.
                self._process.kill()
                self._process.wait()
            self._steps, self._ended = [], None
            self._began = time.monotonic()
            self._process = subprocess.Popen(  # the interpreter and code that serve
                [sys.executable, "-P", "-c", _COMMAND, "plan", "--", str(self.folder)],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                text=True,
                encoding="utf-8",
                errors="replace",
                start_new_session=True,
            )
            followed = (self._process, self._steps)
            Thread(target=self._follow, args=followed, daemon=True).start()

    def _follow(self, process: subprocess.Popen[str], steps: list[str]) -> None:
        for line in process.stderr or ():
            said = line.rstrip("\n")
            if said.startswith(_PREFIX) and len(steps) < MOST_LINES:
                steps.append(said.removeprefix(_PREFIX))
        code = process.wait()
        if process.stderr is not None:
            process.stderr.close()
        with self._lock:
            # A run that was stopped may end when the next has begun.
            if self._process is process and self._ended is None:
                self._ended = "made" if code == 0 else "failed"
                if code == 0:
                    self._took_s = round(time.monotonic() - self._began)

    def stop(self) -> None:
        """End the run; the plan that was there stays, unless the run was quicker."""
        with self._lock:
            process = self._process
            if process is None or self._ended is not None:
                return
            self._ended = "stopped"
        for sign in _SIGNS:
            with contextlib.suppress(OSError):
                process.send_signal(sign)
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(PATIENCE_S)
                break
        else:
            process.kill()
            process.wait()
        if process.returncode == 0:
            with self._lock:
                if self._process is process:
                    self._ended = "made"
                    self._took_s = round(time.monotonic() - self._began)

    def state(self) -> dict[str, Any]:
        """What is said of it: steps so far, and how it ended, if it has."""
        return {
            "running": self._process is not None and self._ended is None,
            "steps": list(self._steps),
            "ended": self._ended,
            "took_s": self._took_s,
            "has_map": self.map_file.is_file(),
        }
