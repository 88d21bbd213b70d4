"""Only this machine, with the address of this run, from its own page, is answered.

What a browser sends of where a request comes from is that of the Fetch standard
(fetch.spec.whatwg.org: Origin; w3.org/TR/fetch-metadata: Sec-Fetch-Site).
"""

import pytest
from open_page import HERE, PORT, TOKEN
from starlette.testclient import TestClient

from fieldmap.serve import guard
from fieldmap.serve.app import FONTS, SCRIPTS, application
from fieldmap.serve.desk import Desk


@pytest.fixture
def client(folder):
    return TestClient(application(folder, TOKEN, PORT), base_url=HERE)


def test_the_page_of_this_run_is_answered(client):
    answer = client.get(f"/{TOKEN}/")
    assert answer.status_code == 200
    assert "Hill Farm" in answer.text


@pytest.mark.parametrize(
    "path", ["/", "/of-another-run/", f"/{TOKEN}x/", f"/{TOKEN[:-1]}/", f"//{TOKEN}/"]
)
def test_another_address_is_refused_and_nothing_is_said_of_the_site(client, path):
    answer = client.get(path)
    assert answer.status_code == 403
    assert "Hill Farm" not in answer.text


def test_a_stale_address_says_what_to_do(client):
    assert "Start fieldmap open again" in client.get("/of-an-earlier-run/").text


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",
        f"127.0.0.1:{PORT + 1}",
        f"127.0.0.1.evil.example:{PORT}",
    ],
)
def test_a_name_that_was_made_to_lead_here_is_refused(client, host):
    assert client.get(f"/{TOKEN}/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": f"http://127.0.0.1:{PORT + 1}"},
        {"origin": f"https://127.0.0.1:{PORT}"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {},
    ],
)
def test_what_comes_from_elsewhere_changes_nothing(client, folder, headers):
    before = (folder / "site.toml").read_bytes()
    for method, path in (("POST", "save"), ("PUT", "draft"), ("POST", "plan")):
        answer = client.request(method, f"/{TOKEN}/{path}", json={}, headers=headers)
        assert answer.status_code == 403
    assert (folder / "site.toml").read_bytes() == before
    assert not (folder / ".fieldmap").exists()


def test_a_page_of_another_site_cannot_even_read(client):
    answer = client.get(f"/{TOKEN}/plan", headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403


def test_every_answer_forbids_what_is_not_its_own(client):
    for path in ("/", "/file/page.css", "/plan", "/no-such-place"):
        headers = client.get(f"/{TOKEN}{path}").headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["referrer-policy"] == "no-referrer"  # the secret stays here
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
        assert "access-control-allow-origin" not in headers


HOST = "https://tiles.example.org:8443"
CREDIT = "</bdi><script>alert(1)</script>"
NAMED = f"""name = "Hill Farm"
[map]
background_tiles = "{HOST}/{{z}}/{{x}}/{{y}}.png"
background_credit = "{CREDIT}"
"""


def images(client):
    """What the page may show as pictures: the directive of its policy (w3.org/TR/CSP3)."""
    policy = client.get(f"/{TOKEN}/").headers["content-security-policy"]
    directives = dict(each.split(maxsplit=1) for each in policy.split(";"))
    others = [value for name, value in directives.items() if name != "img-src"]
    assert "example" not in " ".join(others)
    return directives["img-src"].split()


def test_pictures_of_one_host_may_be_shown_and_only_where_the_site_names_it(
    client, folder
):
    assert images(client) == ["'self'", "data:", "blob:"]
    (folder / "site.toml").write_text(NAMED, "utf-8")
    assert images(client) == ["'self'", "data:", "blob:", HOST]
    for path in ("/file/page.js", "/plan"):
        headers = client.get(f"/{TOKEN}{path}").headers
        assert HOST not in headers["content-security-policy"]
    for wrong in (f"{HOST}; script-src *", f"{HOST} https://other.example"):
        (folder / "site.toml").write_text(NAMED.replace(HOST, wrong), "utf-8")
        assert images(client) == ["'self'", "data:", "blob:"]


def test_only_files_of_the_page_have_an_address(client):
    for name in (*SCRIPTS, *FONTS, "page.css"):
        assert client.get(f"/{TOKEN}/file/{name}").status_code == 200, name
    for name in ("app.py", "../app.py", "..%2Fapp.py", "page.html"):
        assert client.get(f"/{TOKEN}/file/{name}").status_code == 404, name


def test_too_much_is_refused_before_it_is_read(client):
    answer = client.post(
        f"/{TOKEN}/save",
        content=b"x",
        headers={"origin": HERE, "content-length": str(guard.MOST_BYTES + 1)},
    )
    assert answer.status_code == 413


DRAFT = '{"tab": "x", "draft": {"number": 1, "surroundings": [], "base": {}, "plots": [%s]}}'


@pytest.mark.parametrize(
    "body",
    [
        *("", "[]", "{", "[" * 100_000, '{"tab": "x", "draft": {"number": -1}}'),
        *('{"tab": ["x"], "draft": {}}', '{"tab": "x"}', '{"draft": null, "tab": "x"}'),
        DRAFT % '{"type": "Feature", "geometry": null}',
        DRAFT % '{"type": "Feature", "geometry": 3, "properties": {}}',
        DRAFT
        % '{"type": "Feature", "geometry": null, "properties": {"height_m": NaN}}',
        DRAFT % '{"type": "Feature", "geometry": {"a": [1e999]}, "properties": {}}',
        DRAFT % '"\\ud800"',
    ],
)
def test_what_the_page_would_not_send_is_refused(client, folder, body):
    answer = client.put(f"/{TOKEN}/draft", content=body, headers={"origin": HERE})
    assert answer.status_code == 400
    assert not (folder / ".fieldmap").exists()


@pytest.mark.parametrize(
    "change",
    [
        *(None, {}, {"name": "x", "gaps": [{"of": "Hedge"}]}, {"name": "x", "more": 1}),
        {
            "name": "x",
            "gaps": [{"of": "H", "width_m": 3, "longitude": 181, "latitude": 0}],
        },
        {"name": "x", "additions": [{"kind": "dragon"}]},
        {"name": "x", "take_away": "Hedge"},
    ],
)
@pytest.mark.parametrize("path", ["try", "try/range", "try/keep"])
def test_a_change_that_is_none_is_refused(client, path, change):
    body = {"change": change} | ({"tab": "x"} if path == "try/keep" else {})
    answer = client.post(f"/{TOKEN}/{path}", json=body, headers={"origin": HERE})
    assert answer.status_code == 400


@pytest.mark.parametrize("mistake", [KeyError("ours"), TypeError("ours"), ValueError()])
def test_a_mistake_of_ours_is_none_of_the_page(folder, monkeypatch, mistake):
    def fails(*_given):
        raise mistake

    monkeypatch.setattr(Desk, "still_open", fails)
    client = TestClient(
        application(folder, TOKEN, PORT),
        base_url=HERE,
        raise_server_exceptions=False,
    )
    answer = client.post(f"/{TOKEN}/open", json={}, headers={"origin": HERE})
    assert answer.status_code == 500
    assert "ours" not in answer.text
    (said,) = answer.json()["problems"]
    assert "fieldmap itself" in said
    assert "Nothing is lost" in said


def test_two_runs_have_two_secrets():
    one, other = guard.new_token(), guard.new_token()
    assert one != other
    assert len(one) >= 43  # 32 bytes in base64 without padding (RFC 4648)


def test_a_request_for_the_server_as_a_whole_is_refused(client):
    """As OPTIONS may ask (RFC 9110, 9.3.7): its target is a star, and no path."""
    scope = {"type": "http", "method": "OPTIONS", "path": "*", "headers": []}
    scope["headers"] = [
        (b"host", f"127.0.0.1:{PORT}".encode()),
        (b"origin", HERE.encode()),
    ]
    assert client.app._refusal(scope).status_code == 403
