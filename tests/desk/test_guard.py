"""Who may ask: other hosts, other origins, no token, bodies without end, names that lead elsewhere."""

import socket
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest

from geometry.core.errors import InputError
from sheets.desk.guard import BODY
from sheets.desk.state import Desk
from tests.desk.conftest import Client, served


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    """Return a client of a desk that nothing here changes."""
    with served(tmp_path_factory.mktemp("guard") / "frames") as one:
        yield one


def test_the_opening_address_gives_a_cookie_that_no_script_and_no_other_site_gets(client: Client) -> None:
    answer = client.get(client.desk.address.removeprefix(client.desk.origin), cookie=None)
    assert (answer.status, answer.headers["location"]) == (303, "/")
    said = answer.headers["set-cookie"].split("; ")
    assert said[0] == f"{client.desk.cookie}={client.desk.session}"
    assert {each.lower() for each in said[1:]} == {"httponly", "path=/", "samesite=strict"}
    assert client.get("/").status == 200


def _key(address: str) -> str:
    return address.partition("=")[2]


def test_the_key_that_a_browser_is_started_with_opens_once_and_the_printed_one_always(tmp_path: Path) -> None:
    with served(tmp_path / "frames") as client:
        desk = client.desk
        assert _key(desk.opening) not in (desk.token, desk.session, _key(desk.address))
        path = desk.opening.removeprefix(desk.origin)
        # Its cookie is worth nothing before somebody came in by it.
        ours = f"{desk.cookie}={desk.door.session}"
        assert client.get("/", cookie=ours).status == 401
        assert client.ask("POST", path, b"{}", cookie=None).status == 401
        first = client.get(path, cookie=None)
        assert (first.status, first.headers["location"]) == (303, "/")
        assert first.headers["set-cookie"].startswith(ours)
        assert client.get("/", cookie=ours).status == 200
        # A second use right after it: two have read the key, and nobody stays in by it.
        again = client.get(path, cookie=None)
        assert again.status == 401 and "set-cookie" not in again.headers
        assert "used already" in again.text and "printed" in again.text
        assert client.get("/", cookie=ours).status == 401
        for _ in range(2):
            assert client.get(desk.address.removeprefix(desk.origin), cookie=None).status == 303
        assert client.get("/").status == 200


def test_who_reads_the_used_key_much_later_shuts_nobody_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk(tmp_path, 1)
    assert desk.door.enter()
    now = time.monotonic()
    monkeypatch.setattr(time, "monotonic", lambda: now + 3600.0)
    assert not desk.door.enter()
    assert desk.door.sessions == (desk.door.session,)


@pytest.mark.parametrize("path", ["/", "/static/desk.css", "/nothing", "/?token=", "/?token=wrong"])
def test_without_the_cookie_nothing_is_shown(client: Client, path: str) -> None:
    for cookie in (None, f"{client.desk.cookie}=wrong", f"{client.desk.cookie}=", "\x01=;;"):
        assert client.get(path, cookie=cookie).status == 401
    # The token is for the opening address alone, and is no cookie.
    assert client.get(path, cookie=f"{client.desk.cookie}={client.desk.token}").status == 401
    assert client.post("/new", cookie=None).status == 401


@pytest.mark.parametrize("other", ['x={"a": 1}', "a b=c", 'y="open', "z=a,b", "alone", "=", "{}=1; [x]=2"])
def test_what_other_programs_keep_in_the_browsers_jar_locks_nobody_out(client: Client, other: str) -> None:
    own = f"{client.desk.cookie}={client.desk.session}"
    assert client.get("/", cookie=f"{other}; {own}").status == 200
    assert client.get("/", cookie=f"{own}; {other}").status == 200
    assert client.get("/", cookie=other).status == 401


def test_each_start_has_its_own_token(tmp_path: Path) -> None:
    one, other = Desk(tmp_path, 1), Desk(tmp_path, 1)
    assert len({one.token, one.session, other.token, other.session}) == 4
    assert min(len(one.token), len(one.session)) >= 40
    assert one.token not in repr(one) and one.session not in repr(one)


@pytest.mark.parametrize("host", ["example.org", "localhost", "127.0.0.1", "", None, "127.0.0.1:1"])
def test_another_host_is_refused_whatever_it_brings(client: Client, host: str | None) -> None:
    # A name of somebody else's that leads to this machine: DNS rebinding.
    assert client.get("/", host=host).status in (400, 403)
    assert client.post("/new", host=host).status in (400, 403)


@pytest.mark.parametrize("origin", ["http://example.org", "null", "http://127.0.0.1:1", "https://127.0.0.1"])
def test_another_origin_is_refused_and_so_is_none_where_something_changes(
    client: Client, origin: str
) -> None:
    assert client.post("/new", origin=origin).status == 403
    assert client.get("/", origin=origin).status == 403
    assert client.post("/new", origin=None).status == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_may_show_or_load_nothing_of_the_desk(client: Client, site: str) -> None:
    assert client.get("/static/desk.js", sec_fetch_site=site, sec_fetch_mode="no-cors").status == 403
    assert client.get("/", sec_fetch_site="none", sec_fetch_mode="navigate").status == 200


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", None])
def test_a_form_of_another_page_cannot_be_sent(client: Client, kind: str | None) -> None:
    assert client.post("/new", content_type=kind).status == 415


def test_every_answer_forbids_inline_code_framing_and_guessing(client: Client) -> None:
    for answer in (client.get("/"), client.get("/none"), client.get("/", cookie=None), client.post("/none")):
        policy = dict(each.split(" ", 1) for each in answer.headers["content-security-policy"].split("; "))
        assert policy["default-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
        assert policy["script-src"] == policy["style-src"] == "'self'"
        assert "unsafe" not in str(policy) and "http" not in str(policy)
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-store"


def test_a_body_of_100_mb_is_refused_before_it_is_read(client: Client) -> None:
    answer = client.ask("POST", "/new", b"", content_length=str(100_000_000))
    assert answer.status == 413
    for length in ("-1", "1e3", "9" * 40):
        assert client.ask("POST", "/new", b"", content_length=length).status in (400, 413)
    assert client.get("/").status == 200


def test_a_body_that_says_no_length_is_read_no_further_than_is_taken(client: Client) -> None:
    lines = "".join(f"{name}: {value}\r\n" for name, value in client.own.items())
    head = f"POST /new HTTP/1.1\r\n{lines}Transfer-Encoding: chunked\r\n\r\n"
    piece = b"x" * 100_000
    sent = 0
    with socket.create_connection(("127.0.0.1", client.desk.port), timeout=20) as line:
        line.sendall(head.encode())
        try:
            for _ in range(1000):
                line.sendall(b"%x\r\n%s\r\n" % (len(piece), piece))
                sent += len(piece)
        except OSError:
            # The desk has answered and gone.
            pass
        else:
            pytest.fail("100 MB were taken")
    # What the system's own buffers hold comes on top.
    assert BODY <= sent < 20_000_000
    assert client.get("/").status == 200


BAD = (
    "..",
    "../x",
    "a/b",
    "a\\b",
    "/etc/passwd",
    "",
    ".hidden",
    "x\x00y",
    "a\nb",
    "..\\..\\x",
    "x/../../y",
)


@pytest.mark.parametrize("name", BAD)
def test_a_name_that_is_no_files_name_leads_nowhere(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match=r"desk\.elsewhere"):
        Desk(tmp_path, 1).job_path(name)


@pytest.mark.parametrize("name", ["a" * 300, "\u00e9" * 130])
def test_a_name_too_long_for_a_file_is_told_and_no_fault(client: Client, name: str) -> None:
    # 255 bytes: NAME_MAX of limits.h in POSIX, as common file systems have it.
    for answer in (client.get(f"/file/{quote(name)}"), client.get(f"/frame/{quote(name)}"),
                   client.post("/new", {"name": name, "way": "blank"})):  # fmt: skip
        assert answer.status == 400
        assert "255" in answer.text and len(answer.text) < 2_500
    assert Desk(client.desk.folder, 1).path("a" * 255).name == "a" * 255


def test_a_link_out_of_the_folder_is_not_followed_and_one_within_is(tmp_path: Path) -> None:
    folder, out = tmp_path / "frames", tmp_path / "out"
    folder.mkdir()
    out.mkdir()
    (out / "secret.toml").write_text("x = 1", encoding="utf-8")
    (folder / "plain.toml").write_text("x = 1", encoding="utf-8")
    (folder / "away.toml").symlink_to(out / "secret.toml")
    (folder / "gone.toml").symlink_to(out / "not-there.toml")
    (folder / "near.toml").symlink_to(folder / "plain.toml")
    desk = Desk(folder, 1)
    for name in ("away", "gone"):
        with pytest.raises(InputError, match=r"desk\.elsewhere"):
            desk.job_path(name)
    assert desk.job_path("near").read_text(encoding="utf-8") == "x = 1"


@pytest.mark.parametrize(
    "path",
    ["/static/..%2fguard.py", "/static/../guard.py", "/static/%2e%2e/guard.py", "/static/..%5cguard.py",
     "/static/%00", "/static/desk.css%00.js", "/static//etc/passwd", "/static/.", "/static/"],
)  # fmt: skip
def test_no_path_leads_out_of_the_desks_own_files(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status in (400, 404)
    assert "import" not in answer.text


def test_the_desk_listens_on_this_machine_alone(client: Client) -> None:
    own = {each[4][0] for each in socket.getaddrinfo(socket.gethostname(), client.desk.port, socket.AF_INET)}
    for address in {"127.0.0.2", *own} - {"127.0.0.1"}:
        with pytest.raises(OSError), socket.create_connection((address, client.desk.port), timeout=2):
            pass
