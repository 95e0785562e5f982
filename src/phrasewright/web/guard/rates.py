"""How often: token buckets for each address and for each session, so that nobody can wear the studio down.

A bucket holds some requests and fills again steadily. Memory is bounded: the buckets used longest ago are forgotten,
and those are full again.
"""

from __future__ import annotations

import ipaddress
import math
import re
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from starlette.types import ASGIApp, Receive, Scope, Send

from phrasewright.web.answers import Refusal, refusal_for
from phrasewright.web.guard.visit import Role, visit_of

MOST_BUCKETS = 10_000  # about 2 MB
_UPLOAD = re.compile(r"/api/(.+/)?takes")


class Deed(StrEnum):
    """What a request is for, as far as its rate goes."""

    SIGN_IN = "sign in"
    COME = "come by a link"
    UPLOAD = "upload"
    ANYTHING = "anything"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """burst: requests at once; per_s: how many come back each second."""

    burst: int
    per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """The rate of each deed. A class of thirty often has one address on the network, so addresses are given more."""

    sign_in: Rate = Rate(burst=5, per_s=1 / 20)
    come: Rate = Rate(burst=60, per_s=1)
    upload: Rate = Rate(burst=12, per_s=1 / 5)
    session: Rate = Rate(burst=600, per_s=30)
    address: Rate = Rate(burst=6000, per_s=600)  # a whole class may come from one address


WORDS = {
    Deed.SIGN_IN: "Those were too many tries at signing in.",
    Deed.COME: "This link was opened too often at once.",
    Deed.UPLOAD: "These were many takes at once.",
    Deed.ANYTHING: "These were too many requests at once.",
}


class Buckets:
    """Token buckets by key."""

    def __init__(self, clock_s: Callable[[], float], most: int = MOST_BUCKETS) -> None:
        self._clock_s = clock_s
        self._most = most
        self._levels: OrderedDict[str, tuple[float, float]] = OrderedDict()  # key -> left, at_s

    def __len__(self) -> int:
        return len(self._levels)

    def wait_s(self, key: str, rate: Rate) -> float:
        """Take one request out. 0 when it was there, otherwise the seconds until one is."""
        now_s = self._clock_s()
        left, at_s = self._levels.pop(key, (float(rate.burst), now_s))
        left = min(float(rate.burst), left + (now_s - at_s) * rate.per_s)
        is_there = left >= 1
        self._levels[key] = (left - 1 if is_there else left, now_s)
        while len(self._levels) > self._most:
            self._levels.popitem(last=False)
        return 0.0 if is_there else (1 - left) / rate.per_s


class AddressRates:
    """Limits by the address a request comes from; stands before anything that costs work."""

    def __init__(self, app: ASGIApp, *, rates: Rates, clock_s: Callable[[], float]) -> None:
        self.app = app
        self.rates = rates
        self.buckets = Buckets(clock_s)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or ask for patience."""
        deed = deed_of(scope["method"], scope["path"])
        address = address_of(scope)
        wait_s = self.buckets.wait_s(address, self.rates.address)
        if deed is Deed.SIGN_IN:
            wait_s = max(wait_s, self.buckets.wait_s(f"{deed} {address}", self.rates.sign_in))
        elif deed is Deed.COME:
            wait_s = max(wait_s, self.buckets.wait_s(f"{deed} {address}", self.rates.come))
        await _pass_or_wait(self.app, wait_s, deed, scope, receive, send)


class SessionRates:
    """Limits by session; by address where nobody has signed in; none but for takes on the teacher's own computer."""

    def __init__(self, app: ASGIApp, *, rates: Rates, clock_s: Callable[[], float]) -> None:
        self.app = app
        self.rates = rates
        self.buckets = Buckets(clock_s)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or ask for patience."""
        deed = deed_of(scope["method"], scope["path"])
        visit = visit_of(scope)
        key = visit.session or address_of(scope)
        wait_s = 0.0 if visit.who.role is Role.LOCAL else self.buckets.wait_s(key, self.rates.session)
        if deed is Deed.UPLOAD:
            wait_s = max(wait_s, self.buckets.wait_s(f"{deed} {key}", self.rates.upload))
        await _pass_or_wait(self.app, wait_s, deed, scope, receive, send)


def deed_of(method: str, path: str) -> Deed:
    """What a request is for."""
    if method == "POST" and path == "/sign-in":
        return Deed.SIGN_IN
    if path.startswith("/come/"):
        return Deed.COME
    if is_upload(method, path):
        return Deed.UPLOAD
    return Deed.ANYTHING


def is_upload(method: str, path: str) -> bool:
    """Whether a request brings a take."""
    return method in ("POST", "PUT") and _UPLOAD.fullmatch(path) is not None


def address_of(scope: Scope) -> str:
    """Whom a request comes from: an IPv4 address, or the /64 network of an IPv6 one, which one house has."""
    host = str((scope.get("client") or ("unknown", 0))[0])
    try:
        address = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return host
    if isinstance(address, ipaddress.IPv6Address):
        return str(address.ipv4_mapped or ipaddress.ip_network((address, 64), strict=False))
    return str(address)


async def _pass_or_wait(app: ASGIApp, wait_s: float, deed: Deed, scope: Scope, receive: Receive, send: Send) -> None:
    if not wait_s:
        await app(scope, receive, send)
        return
    seconds = math.ceil(wait_s)
    hint = "Try again in a second." if seconds == 1 else f"Try again in {seconds} seconds."
    answer = refusal_for(
        scope, Refusal(message=WORDS[deed], hint=hint), status=429, headers={"Retry-After": str(seconds)}
    )
    await answer(scope, receive, send)
