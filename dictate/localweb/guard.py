"""Who may see a page of ours: what is asked of a request before it reaches it. Pure, save for chance.

The pages show what a taster says. Other pages in the same browser are the likeliest to try: they can name
any host (DNS rebinding) and send requests, so Host, Origin and the fetch's own site are held to ours.
"""

from __future__ import annotations

import ipaddress
import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

Headers = Iterable[tuple[bytes, bytes]]

MAX_HEADERS: Final = 8192  # bytes of all headers of a request; a browser sends about 1,000
_LOCKED: Final = (
    ("cache-control", "no-store"),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=()"),
)


def security_headers(*allowed: str) -> tuple[tuple[str, str], ...]:
    """The headers of every answer. `allowed`: what of its own a page may use beside its script and style,
    as directives of the content security policy: "img-src", "media-src", "form-action"."""
    own = ("script-src", "style-src", "connect-src", *allowed)
    shut = (name for name in ("base-uri", "form-action", "frame-ancestors") if name not in allowed)
    policy = [
        "default-src 'none'",
        *(f"{name} 'self'" for name in own),
        *(f"{name} 'none'" for name in shut),
        "require-trusted-types-for 'script'",
        "trusted-types 'none'",
    ]
    # without a referrer a browser tells no origin of a form that is sent
    referrer = "same-origin" if "form-action" in allowed else "no-referrer"
    return (("content-security-policy", "; ".join(policy)), ("referrer-policy", referrer), *_LOCKED)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A status and a line that says what to do."""

    status: int
    text: str


def new_token() -> str:
    """A session's token: 128 bits, short enough to be typed on a tablet."""
    return secrets.token_urlsafe(16)


def _as_ip(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(text)
    except ValueError:
        return None


def who_can_see(address: str, page: str = "bench page") -> str:
    """One line: who can see the page when it is opened at this address."""
    ip = _as_ip(address)
    if address.lower() == "localhost" or (ip is not None and ip.is_loopback):
        return f"Only this computer can see the {page}."
    if ip is not None and ip.is_unspecified:
        return (
            f"Everybody on every network that this computer is on can see the {page} if they have the "
            "link. It is not encrypted: others on these networks could read along."
        )
    where = "the network of " + address if ip is None or not ip.is_global else "the internet"
    return (
        f"Everybody on {where} can see the {page} if they have the link. "
        "It is not encrypted: others on the way could read along."
    )


def in_url(address: str) -> str:
    """An address as a URL writes it: IPv6 in brackets."""
    ip = _as_ip(address)
    return f"[{address}]" if ip is not None and ip.version == 6 else address


class Guard:
    """Judges requests to one server. `address` as bound to, `name` another name that it may be called by;
    `page` begins the cookie's name. A page that `takes` changes hears POST too, from itself alone."""

    def __init__(
        self, *, token: str, address: str, port: int, name: str = "", page: str = "bench", takes: bool = False
    ) -> None:
        self._token = token.encode()
        self._port = port
        self.methods = ("GET", "POST") if takes else ("GET",)
        self.cookie_name = f"{page}_{port}"  # cookies know no ports: two sessions must not share one
        self._any_ip = bool((ip := _as_ip(address)) and ip.is_unspecified)
        local = self._any_ip or bool(ip and ip.is_loopback)
        self._names = {n.lower() for n in (in_url(address), name, "localhost" if local else "") if n}

    def refusal(
        self, method: str, path: str, *, headers: Headers, query: bytes = b"", first: bool = False
    ) -> Refusal | None:
        """Why the request is refused, or None. With `first` the token of the link counts too."""
        headers = [(name.lower(), value) for name, value in headers]
        if sum(len(name) + len(value) for name, value in headers) > MAX_HEADERS:
            return Refusal(431, "The request is too large.")
        if not self._is_ours(_all(headers, b"host")):
            return Refusal(421, "Open the link that dictate shows, as it is.")
        if method not in self.methods:
            what = "This page can only be looked at." if len(self.methods) == 1 else "Only GET and POST."
            return Refusal(405, what)
        if method == "POST" and not _all(headers, b"origin"):  # browsers always tell where a POST is from
            return Refusal(403, "A change must come from the page itself.")
        if not self._comes_from_us(headers, first=first):
            return Refusal(403, "Another page may not look at this one.")
        if first and self.has_token(path, query):
            return None
        if self._has_cookie(_all(headers, b"cookie")):
            return None
        return Refusal(403, "Open the link that dictate shows: it holds this session's key.")

    def has_token(self, path: str, query: bytes = b"") -> bool:
        """Whether the link is `/TOKEN` or `/?TOKEN`."""
        return self._same(path[1:].encode(errors="replace")) or (path == "/" and self._same(query))

    def set_cookie(self) -> str:
        """The header's value that keeps the token in the browser, unseen by scripts and other sites."""
        return f"{self.cookie_name}={self._token.decode()}; Path=/; HttpOnly; SameSite=Strict"

    def _same(self, given: bytes) -> bool:
        return secrets.compare_digest(given, self._token)

    def _has_cookie(self, values: Sequence[bytes]) -> bool:
        pairs = [pair.strip().partition(b"=") for value in values for pair in value.split(b";")]
        return any(name == self.cookie_name.encode() and self._same(value) for name, _, value in pairs)

    def _is_ours(self, hosts: Sequence[bytes]) -> bool:
        if len(hosts) != 1:
            return False
        host, colon, port = hosts[0].decode("latin-1").lower().rpartition(":")
        if not colon or "]" in port:  # no port given: HTTP's own
            host, port = hosts[0].decode("latin-1").lower(), "80"
        # a literal address cannot be rebound to another site; a name could
        known = host in self._names or (self._any_ip and _as_ip(host.strip("[]")) is not None)
        return known and port == str(self._port)

    def _comes_from_us(self, headers: Headers, *, first: bool) -> bool:
        origins = _all(headers, b"origin")
        if any(not o.startswith(b"http://") or not self._is_ours([o[7:]]) for o in origins):
            return False
        sites = _all(headers, b"sec-fetch-site")
        to_page = first and _all(headers, b"sec-fetch-mode") == [b"navigate"]  # a link that was followed
        return to_page or all(site in (b"same-origin", b"none") for site in sites)


def _all(headers: Headers, wanted: bytes) -> list[bytes]:
    return [value for name, value in headers if name.lower() == wanted]
