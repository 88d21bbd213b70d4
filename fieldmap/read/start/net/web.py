"""Files at an address: whole, or only the parts that are read, and kept on disk.

Servers may be slow, cut off, lie about what they send, or be absent; each of these is a
SiteError of one sentence. What has come stays in the cache, so that the next try goes on
where this one ended.
"""

import hashlib
import io
import ipaddress
import json
import re
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass, field
from http.client import HTTPException
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from fieldmap.errors import SiteError, site_error

BLOCK = 1 << 18  # bytes asked for at once; the header of a grid fits into one
MOST_BYTES = 400_000_000  # of one run, over all addresses
WAIT_S = 20.0  # without a byte
SLOWEST_BYTES_S = 4_000.0  # under it, on the whole, a server is given up
TRIES = 3
LONGEST_ADDRESS = 2000
_LOOPBACK = {"127.0.0.1", "localhost", "::1"}
_NEAR = {"localhost", "local", "internal", "lan", "home"}  # ends of names of neighbours
_PART = re.compile(r"bytes (\d+)-(\d+)/(\d+)")


@dataclass
class Web:
    """Asks servers and keeps what they sent.

    Attributes
    ----------
    cache
        Folder for what has come.
    wait_s
        How long a server may send nothing.
    asked
        Addresses that were asked, with how many bytes came from each.
    tell
        Is called with each host before it is asked for the first time.
    """

    cache: Path
    wait_s: float = WAIT_S
    clock: Callable[[], float] = time.monotonic
    tell: Callable[[str], None] = lambda _host: None
    asked: dict[str, int] = field(default_factory=dict)

    def whole(self, address: str, most_bytes: int) -> bytes:
        """All bytes of a file; those that came before are not asked for again.

        Raises
        ------
        SiteError
            When the server does not give them, or they are more than `most_bytes`.
        """
        check_address(address)
        opened = RangeFile(self, address, most_bytes)
        if opened.size > most_bytes:
            raise site_error(
                "{address} has {size:,} bytes, and fieldmap downloads at most {most:,}.",
                address=address[:300],
                size=opened.size,
                most=most_bytes,
            )
        return opened.bytes_at(0, opened.size)

    def parts(self, address: str) -> "RangeFile":
        """A file of which only what is read is asked for.

        Raises
        ------
        SiteError
            When the server does not answer, or serves no parts of files.
        """
        check_address(address)
        return RangeFile(self, address)

    def get(
        self, address: str, first: int, last: int, most_whole: int = BLOCK
    ) -> tuple[bytes, int, str]:
        """Bytes `first` to `last`, the size of the whole, and what marks its version.

        All of it from a server that sends no parts, if that is at most `most_whole`.

        Parameters
        ----------
        address
            Of the file.
        first, last
            Numbers of the first and the last byte, counted from 0.
        most_whole
            The largest file that may come whole where a server sends no parts [bytes].

        Raises
        ------
        SiteError
            When the server cannot be reached, refuses, is too slow or sends whole files
            alone, or when more has been fetched in all than may be.
        """
        for left in reversed(range(TRIES)):
            try:
                return self._once(address, first, last, most_whole)
            except (OSError, HTTPException) as error:
                if isinstance(error, urllib.error.HTTPError) or not left:
                    raise _unreachable(address, error) from error
        raise AssertionError  # the last try returns or raises

    def _once(
        self, address: str, first: int, last: int, most_whole: int
    ) -> tuple[bytes, int, str]:
        if sum(self.asked.values()) > MOST_BYTES:
            raise site_error(
                "more than {most:,} bytes would have to come from {address}; choose less"
                " detailed heights.",
                address=address[:300],
                most=MOST_BYTES,
            )
        self.about_to_ask(address)
        asked = urllib.request.Request(
            address,
            headers={"Range": f"bytes={first}-{last}", "User-Agent": "fieldmap"},
        )
        opener = urllib.request.build_opener(_SentOn(self))
        with opener.open(asked, timeout=self.wait_s) as answer:
            size, want = _promised(answer, first, last, most_whole, address)
            if size >= 0 and want > max(most_whole, last - first + 1):
                raise site_error(
                    "{address}: the server sends only whole files, and no parts of"
                    " them; download the file yourself and name it instead.",
                    address=address[:300],
                )
            came = self._all_of(answer, want, address, is_exact=size >= 0)
            size = len(came) if size < 0 else size  # too many are refused by `whole`
        mark = answer.headers.get("ETag") or answer.headers.get("Last-Modified") or ""
        self.asked[address] += len(came)
        return came, size, mark

    def about_to_ask(self, address: str) -> None:
        """Tell of a host before it is asked for the first time."""
        host = urlsplit(address).netloc
        if host not in {urlsplit(each).netloc for each in self.asked}:
            self.tell(host)
        self.asked.setdefault(address, 0)

    def _all_of(self, answer: Any, want: int, address: str, *, is_exact: bool) -> bytes:
        """What a server sends: the bytes it named, or at most `want` where it named none."""
        began, came = self.clock(), b""
        while len(came) < want:
            piece = answer.read1(min(65536, want - len(came)))
            if not piece and not is_exact:
                return came
            if not piece:
                raise ConnectionResetError(f"{len(came)} of {want} bytes came")
            came += piece
            took_s = self.clock() - began
            if took_s > self.wait_s and len(came) < SLOWEST_BYTES_S * took_s:
                raise site_error(
                    "{address}: the server is too slow ({come:,} bytes in {took:.0f} s); try"
                    " again later, because the part that arrived is kept.",
                    address=address[:300],
                    come=len(came),
                    took=took_s,
                )
        return came


class RangeFile:
    """A file at an address, read in blocks that stay on disk.

    Attributes
    ----------
    size
        Bytes of the whole file.
    failed
        Why nothing more can be read of it; None while it can.
    """

    def __init__(self, web: Web, address: str, most_whole: int = BLOCK) -> None:
        self.web, self.address = web, address
        self.failed: SiteError | None = None
        key = hashlib.sha256(address.encode()).hexdigest()[:32]
        self.folder = web.cache / key
        first, self.size, self.mark = web.get(address, 0, BLOCK - 1, most_whole)
        self._check_version()
        self.blocks: dict[int, bytes] = {}
        for at in range(0, len(first), BLOCK):
            self.blocks[at // BLOCK] = first[at : at + BLOCK]
            self._keep(at // BLOCK, first[at : at + BLOCK])

    @property
    def name(self) -> str:
        """A name of its own, that no other address has."""
        return f"{self.folder.name}.tif"

    def _check_version(self) -> None:
        """What was kept of another version of the file goes."""
        about = {"address": self.address, "size": self.size, "mark": self.mark}
        said = self.folder / "about.json"
        try:
            if json.loads(said.read_text("utf-8")) == about:
                return
        except (OSError, ValueError):
            pass
        self.folder.mkdir(parents=True, exist_ok=True)
        for old in self.folder.iterdir():
            old.unlink()
        said.write_text(json.dumps(about), "utf-8")

    def _keep(self, number: int, block: bytes) -> None:
        new = self.folder / f"{number}.new"
        new.write_bytes(hashlib.sha256(block).digest() + block)
        new.replace(self.folder / str(number))

    def _block(self, number: int) -> bytes:
        if number not in self.blocks:
            self.blocks[number] = self._kept(number) or self._fetched(number)
        return self.blocks[number]

    def _kept(self, number: int) -> bytes | None:
        try:
            kept = (self.folder / str(number)).read_bytes()
        except OSError:
            return None
        digest, block = kept[:32], kept[32:]
        return block if hashlib.sha256(block).digest() == digest else None

    def _fetched(self, number: int) -> bytes:
        first = number * BLOCK
        last = min(first + BLOCK, self.size) - 1
        block, size, mark = self.web.get(self.address, first, last)
        if size != self.size or mark != self.mark or len(block) != last - first + 1:
            raise _lies(self.address)
        self._keep(number, block)
        return block

    def bytes_at(self, first: int, count: int) -> bytes:
        """`count` bytes from a place on, fewer at the end.

        Raises
        ------
        SiteError
            When the server does not give them.
        """
        parts, at, end = [], first, min(self.size, first + count)
        while at < end:
            number, begins = divmod(at, BLOCK)
            part = self._block(number)[begins : begins + end - at]
            parts.append(part)
            at += len(part)
        return b"".join(parts)


class Reader(io.RawIOBase):
    """A place in such a file, for a library through which no exception may pass."""

    def __init__(self, file: RangeFile) -> None:
        super().__init__()
        self.file, self.at = file, 0

    def readable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is."""
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go to a place of the file."""
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self.at, io.SEEK_END: self.file.size}
        self.at = max(0, base[whence] + offset)
        return self.at

    def tell(self) -> int:
        """The place in the file."""
        return self.at

    def read(self, size: int = -1) -> bytes:
        """Bytes from here on; none where the server fails, and `file.failed` says why."""
        if self.file.failed is not None:
            return b""
        try:
            came = self.file.bytes_at(self.at, self.file.size if size < 0 else size)
        except SiteError as error:
            self.file.failed = error
            return b""
        self.at += len(came)
        return came


def _promised(
    answer: Any, first: int, last: int, most_whole: int, address: str
) -> tuple[int, int]:
    """Bytes of the whole file, and of what the server is about to send.

    Of an answer that is made while it is sent nobody knows them: -1, and one more than
    is taken.
    """
    if answer.status == 206:
        said = _PART.fullmatch(answer.headers.get("Content-Range", ""))
        if said is None or int(said[1]) != first or not first <= int(said[2]) <= last:
            raise _lies(address)
        return int(said[3]), int(said[2]) - first + 1
    length = answer.headers.get("Content-Length", "")
    if not first and not length:
        return -1, most_whole + 1
    if first or not length.isdecimal():
        raise _lies(address)
    return int(length), int(length)


def check_address(address: str, sent_by: str | None = None) -> None:
    """Raise SiteError unless this is an address that is asked for.

    Only https, or plain http on this very machine. What a server sends elsewhere to must
    be a server of the open net as well: nobody out there may have this machine, or its
    neighbours, asked.

    Parameters
    ----------
    sent_by
        The address of the server that names this one; None where the user does.
    """
    try:
        parts, by = urlsplit(address), urlsplit(sent_by or address).hostname
        host, port = parts.hostname or "", parts.port
    except ValueError:  # of brackets, or a port that is no number
        host, port = "", None
    is_plain = address.isascii() and address.isprintable() and " " not in address
    if (
        not host
        or port == 0
        or not (parts.scheme == "https" or (parts.scheme == "http" and _is_here(host)))
        or parts.username is not None
        or not is_plain
        or len(address) > LONGEST_ADDRESS
        or (sent_by is not None and not _is_here(by) and not _is_in_open_net(host))
    ):
        raise site_error(
            "{address} is not an address that is fetched; it must begin with https://"
            " and name one file of one server, without a password.",
            address=address[:300],
        )


def _is_here(host: str | None) -> bool:
    return host in _LOOPBACK


def _is_in_open_net(host: str) -> bool:
    """Whether a host is one that anybody could ask; names are not looked up.

    >>> [_is_in_open_net(host) for host in ("example.org", "10.0.0.1", "0x7f.1", "nas")]
    [True, False, False, False]
    """
    try:
        return ipaddress.ip_address(host).is_global
    except ValueError:
        name = host.rstrip(".").split(".")
        return len(name) > 1 and name[-1][0:1].isalpha() and name[-1] not in _NEAR


class _SentOn(urllib.request.HTTPRedirectHandler):
    """Goes along with a server that sends elsewhere, if that too may be asked."""

    def __init__(self, web: Web) -> None:
        self.web = web

    def redirect_request(
        self, req: Any, fp: Any, code: int, msg: str, headers: Any, newurl: str
    ) -> Any:
        check_address(newurl, sent_by=req.full_url)
        self.web.about_to_ask(newurl)
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def _lies(address: str) -> SiteError:
    return site_error(
        "{address}: the server sent the wrong part of the file, or the file has"
        " changed; try again, or download the file yourself.",
        address=address[:300],
    )


def _unreachable(address: str, error: Exception) -> SiteError:
    if isinstance(error, urllib.error.HTTPError):
        return site_error(
            "{address}: the server answers {code} ({why}); check the address, or choose"
            " another source.",
            address=address[:300],
            code=error.code,
            why=str(error.reason)[:100],
        )
    why = getattr(error, "reason", None) or error
    return site_error(
        "{address} could not be downloaded ({why}); try again, because the part"
        " that arrived is kept.",
        address=address[:300],
        why=str(why)[:200] or type(error).__name__,
    )
