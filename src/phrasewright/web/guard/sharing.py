"""How the studio is reached: from this computer alone, or by a class on a network."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Annotated

from argon2 import PasswordHasher
from fastapi import Depends, Request

from phrasewright.course.password import strong_hasher
from phrasewright.errors import PhrasewrightError
from phrasewright.web.guard.addresses import addresses, names
from phrasewright.web.guard.rates import Rates
from phrasewright.web.guard.sizes import Sizes

LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
EVERYWHERE = "0.0.0.0"
_PUBLIC = re.compile(r"https://(?P<host>[a-z0-9.-]{1,253})(?::[0-9]{1,5})?/?", re.IGNORECASE)


class AddressError(PhrasewrightError):
    """An address under which no studio can be reached."""

    exit_code = 2


def clock() -> datetime:
    """The moment it is."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharing:
    """Who may reach the studio, and by which names.

    is_shared: people sign in; otherwise everybody is the teacher on this computer. hosts: names and addresses the
    studio answers to. origins: where people open it, ``http://192.168.1.20:8642``, the best one first; one that begins
    with https is a proxy's in front. hasher: of the password. now, clock_s: the moment, and a clock that never steps.
    """

    is_shared: bool = False
    hosts: frozenset[str] = LOCAL_HOSTS
    origins: tuple[str, ...] = ()
    hasher: PasswordHasher = field(default_factory=strong_hasher)
    now: Callable[[], datetime] = clock
    clock_s: Callable[[], float] = time.monotonic
    rates: Rates = field(default_factory=Rates)
    sizes: Sizes = field(default_factory=Sizes)


async def sharing_of(request: Request) -> Sharing:
    """How the studio that answers a request is shared."""
    sharing: Sharing = request.app.state.sharing
    return sharing


TheSharing = Annotated[Sharing, Depends(sharing_of)]


def shared_at(*, address: str, port: int, public: str, is_secure: bool) -> Sharing:
    """Sharing on an address of this computer, ``0.0.0.0`` for all of them.

    public: the https origin of a proxy in front, empty without one. is_secure: the studio itself speaks https.
    Raises AddressError when public is not such an origin.
    """
    scheme = "https" if is_secure else "http"
    reached = addresses() if address == EVERYWHERE else (address,)
    origins = tuple(f"{scheme}://{one}:{port}" for one in reached) or (f"{scheme}://127.0.0.1:{port}",)
    hosts = LOCAL_HOSTS | set(names()) | set(reached)
    if public:
        found = _PUBLIC.fullmatch(public)
        if found is None:
            raise AddressError(
                f"{public} is not the address of an https proxy.", hint="It looks like https://lessons.example.org."
            )
        origins, hosts = (public.lower().removesuffix("/"),), hosts | {found["host"].lower()}
    return Sharing(is_shared=True, hosts=frozenset(hosts), origins=origins)
