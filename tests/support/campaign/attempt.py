"""One spoiled site is read, and whatever should not be is reported.

Watched are: exceptions that are not ours, sentences that are not clean, hangs, reads of a
folder outside the site (by any library: the system is asked), and requests to a server.
"""

import contextlib
import ctypes
import os
import re
import signal
import socket
import struct
import threading
import traceback
from collections.abc import Iterator
from pathlib import Path

from campaign import begun
from fieldmap.errors import FieldmapError
from fieldmap.read import field_log, language_and_units, read_site, thermometers
from fieldmap.show.text.language import codes, of_site, problem_in_words, spoken
from fieldmap.show.text.site.site_check import describe

SECRET = "canary-7d1f"
MOST_SECONDS = 10
WAITS = 6  # times as long, where a machine is busy with others
LONGEST_SENTENCE = 3000
_UNCLEAN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)


class Hang(BaseException):
    """Reading took too long."""


class Watch:
    """A folder that nobody may read and a server that nobody may ask."""

    def __init__(self, outside: Path) -> None:
        outside.mkdir(parents=True, exist_ok=True)
        for name in ("secret.csv", "secret.tif", "secret.geojson", "secret.toml"):
            (outside / name).write_text(f"{SECRET},words\n1,2\n")
        self.outside = outside
        self._libc = ctypes.CDLL(None, use_errno=True)
        self._notes = self._libc.inotify_init1(os.O_NONBLOCK)
        self._libc.inotify_add_watch(self._notes, os.fsencode(outside), 0x20 | 0x1)
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = self._server.getsockname()[1]
        self.asked = 0
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        while True:
            connection, _address = self._server.accept()
            self.asked += 1
            connection.close()

    def reads(self) -> list[str]:
        """Names in the folder that were opened or read since it was last asked."""
        found = []
        with contextlib.suppress(BlockingIOError):
            notes = os.read(self._notes, 65536)
            while notes:
                *_head, size = struct.unpack_from("iIII", notes)
                found.append(notes[16 : 16 + size].rstrip(b"\0").decode())
                notes = notes[16 + size :]
        return found

    def placed(self, content: bytes) -> bytes:
        """A spoiled file with the folder and the server filled in."""
        return content.replace(b"@PORT@", str(self.port).encode()).replace(
            b"@OUTSIDE@", os.fsencode(self.outside)
        )


@contextlib.contextmanager
def at_most(seconds: int) -> Iterator[None]:
    """Raise Hang after so much work of the process, or some times as long a wait."""

    def stop(_number: int, _frame: object) -> None:
        raise Hang

    before = [signal.signal(each, stop) for each in (signal.SIGALRM, signal.SIGPROF)]
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.alarm(WAITS * seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.setitimer(signal.ITIMER_PROF, 0)
        for each, handler in zip((signal.SIGALRM, signal.SIGPROF), before, strict=True):
            signal.signal(each, handler)


def read_all(folder: Path) -> list[str]:
    """All that is read of a site; what is said of it, be it wrong or right."""
    if (folder / begun.GIVEN).exists():
        return begun.begin(folder)
    with spoken(of_site(*language_and_units(folder))):
        said: list[str] = []
        try:
            site = read_site(folder, codes())
            said += describe(site)
        except FieldmapError as error:
            said += map(problem_in_words, error.problems)
            assert said, "refused without a word"
        for read in read_fields:
            try:
                read(folder)
            except FieldmapError as error:
                said += map(problem_in_words, error.problems)
    return said


def _thermometers(folder: Path) -> None:
    thermometers.read_thermometers(folder, "thermometers.csv")


def _field_log(folder: Path) -> None:
    field_log.read_happened(folder, "happened.csv", ["A1", "A2"], ["kale", "tomato"])


read_fields = (_thermometers, _field_log)  # what is no part of a site


def attempt(folder: Path, watch: Watch) -> str | None:
    """What is wrong with how a site is read, None where nothing is."""
    watch.reads()
    asked = watch.asked
    try:
        with at_most(MOST_SECONDS):
            said = read_all(folder)
    except Hang:
        return f"hang: over {MOST_SECONDS} s\n{traceback.format_exc()}"
    except Exception:
        return f"traceback: {traceback.format_exc()}"
    if opened := watch.reads():
        return f"read outside: {opened}"
    if watch.asked > asked:
        return "request: the network was asked"
    for sentence in said:
        if SECRET in sentence:
            return f"secret shown: {sentence!r}"
        if _UNCLEAN.search(sentence):
            return f"unclean: {sentence!r}"
        if len(sentence) > LONGEST_SENTENCE:
            return f"long: {len(sentence)} characters: {sentence[:300]!r}"
    return None
