"""Only by a name that is ours: a foreign page that points its own name at this computer gets nothing.

This is what stops DNS rebinding: the browser still sends the foreign page's name. A bare address cannot be pointed
anywhere, so a shared studio, whose addresses change with the network, answers to every one of them.
"""

from __future__ import annotations

import ipaddress
import re

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from phrasewright.web.answers import Refusal, refusal_for
from phrasewright.web.guard.sharing import Sharing

_HOST = re.compile(r"(?P<name>\[[0-9a-f:.]{2,45}\]|[a-z0-9_.-]{1,253})(?::[0-9]{1,5})?", re.IGNORECASE)


class Hosts:
    """Refuses requests for a host that is not the studio (421, RFC 9110 section 15.5.20)."""

    def __init__(self, app: ASGIApp, *, sharing: Sharing) -> None:
        self.app = app
        self.sharing = sharing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on when its one Host header is known."""
        named = Headers(scope=scope).getlist("host")
        if len(named) == 1 and is_ours(named[0], self.sharing):
            await self.app(scope, receive, send)
            return
        refusal = Refusal(
            message="The studio does not go by this name.",
            hint="Open the address that `phrasewright serve` printed when it started.",
        )
        await refusal_for(scope, refusal, status=421)(scope, receive, send)


def is_ours(host: str, sharing: Sharing) -> bool:
    """Whether a Host header names this studio; the port is not looked at."""
    found = _HOST.fullmatch(host)
    if found is None:
        return False
    name = found["name"].lower().removesuffix(".")
    return name in sharing.hosts or (sharing.is_shared and _is_address(name.strip("[]")))


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
