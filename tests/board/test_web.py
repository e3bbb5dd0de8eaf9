"""The page's server, really running: who is let in, who is refused, and what every answer says.

The attacks are those of OWASP's Cheat Sheets (cross-site request forgery, DNS rebinding, path traversal).
"""

from __future__ import annotations

import contextlib
import socket
import threading
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.board.web import BenchPageError, WebView, who_can_see
from dictate.localweb.guard import Guard, new_token
from tests.board.http import Answer, ask, cookie, link_path, port_of

FILES = {"/": "text/html", "/board.css": "text/css", "/board.js": "text/javascript"}


def is_refused(answer: Answer, status: int) -> None:
    assert answer.status == status
    assert b"Bench" not in answer.body
    assert "set-cookie" not in answer.headers
    is_locked_down(answer)


def is_locked_down(answer: Answer) -> None:
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "server" not in answer.headers
    assert "access-control-allow-origin" not in answer.headers


def test_the_link_opens_the_page_and_gives_a_cookie_that_scripts_and_other_sites_do_not_get(
    view: WebView,
) -> None:
    for path in (link_path(view), "/?" + link_path(view)[1:]):
        answer = ask(view, path)
        assert answer.status == 200
        assert b"<title>Bench</title>" in answer.body
        kept = answer.headers["set-cookie"]
        assert kept.startswith(f"bench_{port_of(view)}={link_path(view)[1:]};")
        assert "HttpOnly" in kept
        assert "SameSite=Strict" in kept
        is_locked_down(answer)


@pytest.mark.parametrize("path", FILES)
def test_with_the_cookie_the_files_come_and_without_it_none(view: WebView, path: str) -> None:
    answer = ask(view, path, cookie="other=1; " + cookie(view))
    assert answer.status == 200
    assert answer.headers["content-type"] == f"{FILES[path]}; charset=utf-8"
    is_locked_down(answer)
    is_refused(ask(view, path), 403)


def test_the_page_names_nothing_outside_and_runs_nothing_inline(view: WebView) -> None:
    kept = cookie(view)
    page, style, script = (ask(view, path, cookie=kept).body.decode() for path in FILES)
    for text in (page, style, script):
        assert "http:" not in text
        assert "https:" not in text
        assert 'src="//' not in text
    assert "style=" not in page
    assert " on" + "click" not in page
    assert page.count("<script") == 1
    assert "innerHTML" not in script
    assert "url(" not in style
    assert "@import" not in style


@pytest.mark.parametrize("path", ["/events", "/nothing", "/TOKEN", "/x" * 200, "/é", "/?t", "/%00"])
def test_without_the_token_every_path_is_refused_alike(view: WebView, path: str) -> None:
    path = path.encode().decode("latin-1") if path.isascii() else "/%C3%A9"
    is_refused(ask(view, path), 403)


def test_a_wrong_token_is_refused(view: WebView) -> None:
    right = link_path(view)
    for wrong in (right[:-1], right + "x", right.swapcase(), "/" + new_token(), right + "/"):
        is_refused(ask(view, wrong), 403)
    is_refused(ask(view, "/", cookie=f"bench_{port_of(view)}={new_token()}"), 403)
    is_refused(ask(view, "/", cookie=f"bench_1={right[1:]}"), 403)
    is_refused(ask(view, "/", cookie=f"bench_{port_of(view)}="), 403)


@pytest.mark.parametrize(
    "host", ["bench.example", "bench.example:{port}", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.example:{port}",
             "127.0.0.1:{port}:{port}", "", "0.0.0.0:{port}", "[::1]:{port}", "user@127.0.0.1:{port}"],
)  # fmt: skip
def test_a_foreign_host_is_refused_even_with_the_token(view: WebView, host: str) -> None:
    host = host.format(port=port_of(view))
    is_refused(ask(view, link_path(view), host=host), 421)
    is_refused(ask(view, "/", host=host, cookie=cookie(view)), 421)


def test_our_own_names_are_let_in(view: WebView) -> None:
    for host in (f"127.0.0.1:{port_of(view)}", f"localhost:{port_of(view)}", f"LOCALHOST:{port_of(view)}"):
        assert ask(view, link_path(view), host=host).status == 200


@pytest.mark.parametrize(
    "origin", ["http://bench.example", "https://127.0.0.1:{port}", "null", "http://127.0.0.1:1", "file://"]
)
def test_a_foreign_origin_is_refused_even_with_the_cookie(view: WebView, origin: str) -> None:
    origin = origin.format(port=port_of(view))
    is_refused(ask(view, "/events", cookie=cookie(view), origin=origin), 403)
    is_refused(ask(view, link_path(view), origin=origin), 403)


def test_our_own_origin_is_let_in(view: WebView) -> None:
    own = f"http://127.0.0.1:{port_of(view)}"
    assert ask(view, "/board.js", cookie=cookie(view), origin=own, sec_fetch_site="same-origin").status == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_page_may_lead_here_but_not_fetch(view: WebView, site: str) -> None:
    is_refused(ask(view, "/board.js", cookie=cookie(view), sec_fetch_site=site), 403)
    is_refused(ask(view, link_path(view), sec_fetch_site=site, sec_fetch_mode="no-cors"), 403)
    assert ask(view, link_path(view), sec_fetch_site=site, sec_fetch_mode="navigate").status == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "PATCH", "HEAD", "TRACE", "BREW"])
def test_nothing_but_get(view: WebView, method: str) -> None:
    for path in ("/", "/events", link_path(view)):
        answer = ask(view, path, method=method, cookie=cookie(view), content_length="0")
        assert answer.status == 405
        assert answer.headers["allow"] == "GET"


@pytest.mark.parametrize(
    "path",
    ["/../web.py", "/page/../../board.py", "/%2e%2e/web.py", "/..%2fweb.py", "//etc/passwd", "/board.js/../x",
     "/board.css%00.html", "/.", "/index.html", "/board.js/"],
)  # fmt: skip
def test_no_other_file_is_served(view: WebView, path: str) -> None:
    answer = ask(view, path, cookie=cookie(view))
    assert answer.status in (404, 307)
    assert b"import" not in answer.body
    assert b"root:" not in answer.body
    is_locked_down(answer)


@pytest.mark.parametrize("size", [9_000, 100_000, 3_000_000])
def test_a_giant_header_is_refused_and_the_page_goes_on(view: WebView, size: int) -> None:
    try:
        answer = ask(view, link_path(view), x_big="a" * size)
        assert answer.status in (400, 431)
    except OSError:
        pass  # hung up on while it was still sending
    assert ask(view, link_path(view)).status == 200


@pytest.mark.parametrize("raw", [b"\x00\xff\xfe\r\n\r\n", b"GET / HTTP/1.1\r\n\r\n", b"GET /\r\n\r\n"])
def test_nonsense_is_refused(view: WebView, raw: bytes) -> None:
    with socket.create_connection(("127.0.0.1", port_of(view)), timeout=5) as made:
        made.sendall(raw)
        answer = made.recv(4096)
    assert answer.split()[1] in (b"400", b"421")


def test_two_hosts_in_one_request_are_refused(view: WebView) -> None:
    with socket.create_connection(("127.0.0.1", port_of(view)), timeout=5) as made:
        own = f"Host: 127.0.0.1:{port_of(view)}\r\n"
        made.sendall(f"GET {link_path(view)} HTTP/1.1\r\n{own}Host: bench.example\r\n\r\n".encode())
        assert made.recv(4096).split()[1] in (b"400", b"421")


def test_crowds_of_idle_connections_do_not_shut_others_out_for_long(
    view: WebView, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dictate.localweb.serving.FIRST_S", 0.5)
    idle = [socket.create_connection(("127.0.0.1", port_of(view)), timeout=5) for _ in range(80)]
    time.sleep(1.5)
    try:
        assert ask(view, link_path(view)).status == 200
        assert all(made.recv(1) == b"" for made in idle[:3])
    except ConnectionResetError:
        assert ask(view, link_path(view)).status == 200
    finally:
        for made in idle:
            made.close()


def test_connections_beyond_the_limit_are_closed_at_once(
    view: WebView, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dictate.localweb.serving.MAX_CONNECTIONS", 3)
    made = [socket.create_connection(("127.0.0.1", port_of(view)), timeout=5) for _ in range(5)]
    with contextlib.suppress(ConnectionResetError):
        assert made[4].recv(1) == b""
    made[0].settimeout(0.2)
    with pytest.raises(TimeoutError):
        made[0].recv(1)
    for each in made:
        each.close()


def test_each_session_has_a_token_of_its_own() -> None:
    tokens = {WebView().url.rpartition("/")[2] for _ in range(20)}
    assert len(tokens) == 20
    assert min(len(token) for token in tokens) >= 22  # 128 bits


def test_it_binds_to_this_computer_alone_by_default(view: WebView) -> None:
    assert view.url.startswith("http://127.0.0.1:")
    with pytest.raises(OSError), socket.create_connection(("127.0.0.2", port_of(view)), timeout=2):
        pass


def test_stop_frees_the_port_and_ends_the_thread_and_may_come_twice() -> None:
    made = WebView()
    made.stop()  # before it was begun
    made.start()
    port = port_of(made)
    made.stop()
    made.stop()
    assert not [t for t in threading.enumerate() if t.name == "board-web"]
    again = WebView(port=port)
    again.start()
    assert port_of(again) == port
    again.stop()


@pytest.mark.parametrize("address", ["203.0.113.7", "no such host.invalid", "300.1.1.1"])
def test_an_address_that_is_not_ours_is_told_in_one_line(address: str) -> None:
    with pytest.raises(BenchPageError, match="give an address of this computer") as caught:
        WebView(address=address).start()
    assert "\n" not in str(caught.value)


def test_a_port_that_is_taken_is_told(view: WebView) -> None:
    with pytest.raises(BenchPageError, match="a free port"):
        WebView(port=port_of(view)).start()


def hosts_let_in(address: str, *hosts: str, name: str = "") -> list[str]:
    guard = Guard(token="t", address=address, port=80, name=name)
    return [h for h in hosts if not guard.refusal("GET", "/t", headers=[(b"Host", h.encode())], first=True)]


def test_at_an_address_given_only_it_and_the_name_given_are_let_in() -> None:
    many = (
        "192.168.1.5",
        "192.168.1.5:80",
        "localhost",
        "127.0.0.1",
        "bench.local",
        "192.168.1.6",
        "a.example",
    )
    assert hosts_let_in("192.168.1.5", *many) == ["192.168.1.5", "192.168.1.5:80"]
    assert hosts_let_in("192.168.1.5", *many, name="Bench.local") == [*many[:2], "bench.local"]


def test_at_all_addresses_a_literal_address_is_let_in_and_no_foreign_name() -> None:
    many = ("192.168.1.5", "[::1]", "localhost", "bench.example", "1.example", "")
    assert hosts_let_in("0.0.0.0", *many) == ["192.168.1.5", "[::1]", "localhost"]


def test_at_an_ipv6_address_it_stands_in_brackets() -> None:
    assert hosts_let_in("::1", "[::1]", "[::1]:80", "::1", "localhost") == ["[::1]", "[::1]:80", "localhost"]
    assert WebView(address="fe80::5").url.startswith("http://[fe80::5]:0/")


@given(st.binary(max_size=40), st.binary(max_size=40), st.text(max_size=40))
def test_no_bytes_open_the_door(host: bytes, kept: bytes, path: str) -> None:
    guard = Guard(token=new_token(), address="127.0.0.1", port=8000)
    own = [(b"host", b"127.0.0.1:8000"), (b"cookie", kept)]
    assert guard.refusal("GET", "/" + path, headers=own, query=kept, first=True) is not None
    assert guard.refusal("GET", "/", headers=[(b"host", host)]) is not None


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("127.0.0.1", "Only this computer"),
        ("localhost", "Only this computer"),
        ("::1", "Only this computer"),
        ("192.168.1.5", "Everybody on the network of 192.168.1.5"),
        ("bench.local", "Everybody on the network of bench.local"),
        ("0.0.0.0", "Everybody on every network"),
        ("::", "Everybody on every network"),
        ("8.8.8.8", "Everybody on the internet"),
    ],
)
def test_who_can_see(address: str, said: str) -> None:
    line = who_can_see(address)
    assert line.startswith(said)
    assert "\n" not in line
    assert ("not encrypted" in line and "link" in line) != line.startswith("Only")
