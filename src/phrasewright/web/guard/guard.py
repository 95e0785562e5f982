"""The guard: everything a request passes before it reaches a route, in one order, wired here and nowhere else."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.types import ASGIApp, Receive, Scope, Send

from phrasewright.web.guard.doors import Doors
from phrasewright.web.guard.headers import Headers
from phrasewright.web.guard.hosts import Hosts
from phrasewright.web.guard.rates import AddressRates, SessionRates
from phrasewright.web.guard.same_site import SameSite
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.guard.sizes import Bodies
from phrasewright.web.guard.visits import Visits
from phrasewright.web.studio import Studio


class Guard:
    """The chain of checks, the cheap and the strict first: name, rate, size, person, door, own site."""

    def __init__(self, app: ASGIApp, *, sharing: Sharing, studio: Studio) -> None:
        self.app = app
        chain: ASGIApp = SameSite(app, origins=sharing.origins)
        chain = Doors(chain)
        chain = SessionRates(chain, rates=sharing.rates, clock_s=sharing.clock_s)
        chain = Visits(chain, sharing=sharing, studio=studio)
        chain = Bodies(chain, sizes=sharing.sizes)
        chain = AddressRates(chain, rates=sharing.rates, clock_s=sharing.clock_s)
        chain = Hosts(chain, sharing=sharing)
        self.chain = Headers(chain)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request that passes; there are no other kinds of connection."""
        if scope["type"] == "http":
            await self.chain(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await self.app(scope, receive, send)


def guard(application: FastAPI, sharing: Sharing) -> None:
    """Set the guard before every route of an application, its static files and its answers to errors."""
    application.state.sharing = sharing
    application.add_middleware(Guard, sharing=sharing, studio=application.state.studio)
