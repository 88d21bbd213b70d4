"""Who may ask: this machine, with the address that the command printed, from its own page.

A page of another site can make a browser send requests to loopback, and a name of its own
can be made to lead there. So every request must bear the secret of this run in its path,
name loopback as the host, and, where the browser says from where it comes, come from here.
"""

import secrets
from typing import Any

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fieldmap.errors import problem
from fieldmap.show.text.language import problem_in_words

SAFE = ("GET", "HEAD")
MOST_BYTES = 20_000_000  # of what the page may send: as of a file of outlines
_PICTURES = "img-src 'self' data: blob:"
# Nothing from elsewhere, nothing written into the page as script, shown in no other page.
POLICY = (
    f"default-src 'none'; script-src 'self'; style-src 'self'; {_PICTURES};"
    " font-src 'self'; connect-src 'self'; frame-src 'self'; base-uri 'none';"
    " form-action 'none'; frame-ancestors 'none'"
)
# A finished map runs its scripts as of no place at all, so that it can ask nothing here.
POLICY_OF_MAP = "sandbox allow-scripts allow-popups allow-downloads allow-modals"
HEADERS = {
    "cache-control": "no-store",
    "content-security-policy": POLICY,
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
}
OLD_ADDRESS = problem(
    "This address is old. Start fieldmap open again, and use the address that it"
    " prints. What you drew is kept."
)
FOREIGN = problem("Only this page, on this computer, gets an answer.")
TOO_MUCH = problem("That is more than a file of outlines may hold.")


def policy(background_host: str | None) -> str:
    """The rules for the page, with the one host whose pictures the site names, if any."""
    if background_host is None:
        return POLICY
    return POLICY.replace(_PICTURES, f"{_PICTURES} {background_host}")


def new_token() -> str:
    """A secret for the address of one run."""
    return secrets.token_urlsafe(32)


class Guard:
    """Lets through what bears the token and comes from here; the token is taken off.

    Parameters
    ----------
    port
        On which it is served: part of what a browser calls host and origin.
    """

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self.app = app
        self.token = token
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        rest = scope["path"].removeprefix(f"/{self.token}")
        inner = {**scope, "path": rest, "raw_path": rest.encode(), "root_path": ""}
        await self.app(inner, _limited(receive), _with_headers(send))

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        """What to answer to whom may not ask."""
        if scope["type"] != "http":
            return _refused(403, FOREIGN)
        headers = {
            key.decode("latin-1").lower(): value.decode("latin-1")
            for key, value in scope["headers"]
        }
        host = headers.get("host", "")
        if host not in self.hosts or not _from_here(headers, host, scope["method"]):
            return _refused(403, FOREIGN)
        given = scope["path"].removeprefix("/").split("/")[0].encode()
        if not secrets.compare_digest(given, self.token.encode()):
            return _refused(403, OLD_ADDRESS)
        size = headers.get("content-length", "0")
        if not size.isdecimal() or int(size) > MOST_BYTES:
            return _refused(413, TOO_MUCH)
        return None


def _from_here(headers: dict[str, str], host: str, method: str) -> bool:
    """Whether a browser sends it for the page itself; what changes things must say so."""
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if origin is not None:
        return origin == f"http://{host}"
    # A browser names the origin of whatever may change something; without it, one may read.
    return method in SAFE and site in (None, "same-origin", "none")


def _refused(code: int, why: Any) -> PlainTextResponse:
    return PlainTextResponse(problem_in_words(why), code, HEADERS)


def _limited(receive: Receive) -> Receive:
    """Nothing of a body beyond what may be sent, whatever was said of its length."""
    read = 0

    async def inner() -> Message:
        nonlocal read
        message = await receive()
        read += len(message.get("body", b""))
        if read > MOST_BYTES:  # as if the browser had gone: nobody reads on
            return {"type": "http.disconnect"}
        return message

    return inner


def _with_headers(send: Send) -> Send:
    """Every answer with the rules for the browser, where it brings none of its own."""

    async def inner(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {key.lower() for key, _value in message["headers"]}
            more = [
                (key.encode(), value.encode())
                for key, value in HEADERS.items()
                if key.encode() not in own
            ]
            message = {**message, "headers": [*message["headers"], *more]}
        await send(message)

    return inner
