"""Headers that every answer carries: what a page may load, who may frame it, what may be kept.

A page loads from the studio alone. Style attributes are allowed, as figures are placed with them; scripts in a page
are not. Sound made in the page needs ``blob:``. The microphone is the studio's own; nothing else is asked for.
"""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self'",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "worker-src 'self' blob:",
        "object-src 'none'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "form-action 'self'",
    )
)
SAFE_HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "microphone=(self), camera=(), geolocation=(), display-capture=(), payment=(), usb=()",
}
ASK_ANEW = "no-cache"  # kept by the browser, and asked about each time: a new version shows at once
KEEP_NOTHING = "no-store"  # what belongs to a person, on a computer that others use


class Headers:
    """Puts the headers on every answer, except those that a route has set itself."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the headers added."""

        async def send_safe(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SAFE_HEADERS.items():
                    headers.setdefault(name, value)
                is_shared = scope["path"].startswith("/static/")
                headers.setdefault("Cache-Control", ASK_ANEW if is_shared else KEEP_NOTHING)
            await send(message)

        await self.app(scope, receive, send_safe)
