"""A page that asks no network for anything: every script and picture is inside."""

import base64
import hashlib
import mimetypes
import re
from functools import cache
from html.parser import HTMLParser
from importlib import resources

ASSET = "asset:"
POLICY = "content-security-policy-goes-here"
_LINKED = re.compile(
    r'<script src="(?P<script>[^"]*)"></script>'
    r'|<link rel="stylesheet" href="(?P<style>[^"]*)" ?/?>'
)
# What a style may not hold: an address that is not inside the page.
_STYLE_REACHES_OUT = re.compile(r"""@import|url\(\s*["']?(?!data:|["'#])""")
# Quoted addresses may hold brackets.
_CSS_URL = re.compile(r"""url\(\s*("[^"]*"|'[^']*'|[^)'"]*)\s*\)""")
_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)


def inlined(html: str) -> str:
    """Put the text of every linked script and style sheet into the page.

    Raises
    ------
    ValueError
        When something else is linked, so that a plugin added later cannot silently
        make the page ask the network.
    """
    page = _LINKED.sub(_with_text, html)
    _Watch().feed(page)
    return page


class _Watch(HTMLParser):
    """Refuses a page that would fetch anything on opening."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            fetched = name in ("src", "srcset") or (tag == "link" and name == "href")
            if fetched and not (value or "").startswith("data:"):
                self._refuse(value)
            if name == "style":
                self._check_style(value or "")

    def handle_data(self, data: str) -> None:
        if self.cdata_elem == "style":
            self._check_style(data)

    def _check_style(self, text: str) -> None:
        found = _STYLE_REACHES_OUT.search(text)
        if found:
            self._refuse(text[found.start() : found.end() + 60])

    def _refuse(self, address: str | None) -> None:
        raise ValueError(f"the map would ask the network for {address!r}")


def sealed(html: str, pictures_from: str | None = None) -> str:
    """Let only the scripts run that are in the page now, and nothing be fetched.

    Fills the place of the content security policy with the hash of each script.

    Parameters
    ----------
    pictures_from
        The one host that pictures may be asked of, such as https://tiles.example.org;
        None: no host.
    """
    hashes = {
        base64.b64encode(hashlib.sha256(text.encode()).digest()).decode(): None
        for text in _SCRIPT.findall(html)
    }
    pictures = ["data:", "blob:", *([pictures_from] if pictures_from else [])]
    allowed = " ".join(f"'sha256-{digest}'" for digest in hashes)
    policy = (
        f"default-src 'none'; script-src {allowed}; style-src 'unsafe-inline'; "
        f"img-src {' '.join(pictures)}; font-src data:; base-uri 'none'; form-action 'none'"
    )
    return html.replace(POLICY, policy, 1)


def _with_text(link: re.Match[str]) -> str:
    address = link["script"] or link["style"]
    if not address.startswith(ASSET):
        raise ValueError(f"the map would ask the network for {address!r}")
    name = address.removeprefix(ASSET)
    if link["script"]:
        return f"<script>{_script_text(name)}</script>"
    return f"<style>{_style_text(name)}</style>"


def _read(name: str) -> bytes:
    folder = resources.files("js_lib_leaflet") / "static" / "js_lib_leaflet"
    return (folder / name).read_bytes()


@cache
def _script_text(name: str) -> str:
    text = _read(name).decode().replace("\r\n", "\n")
    text = re.sub(r"\n//# sourceMappingURL=.*", "", text)
    return text.replace("</script", r"<\/script")


@cache
def _style_text(name: str) -> str:
    return _CSS_URL.sub(_data_url, _read(name).decode().replace("\r\n", "\n"))


def _data_url(match: re.Match[str]) -> str:
    address = match[1].strip("'\"")
    if address.startswith(("data:", "#")):
        return match[0]
    return f'url("{data_uri(_read(address), mimetypes.guess_type(address)[0] or "")}")'


def data_uri(content: bytes, kind: str) -> str:
    """Bytes as an address that holds them."""
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"
