"""Who comes: the session or guest secret of each request, looked up once."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from phrasewright.course.sessions import session_of
from phrasewright.course.tokens import is_secret, new_secret
from phrasewright.web.guard import cookies
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.guard.visit import LOCAL, NOBODY, Role, Visit, Who, put_visit
from phrasewright.web.studio import Studio


class Visits:
    """Notes with each request who sends it, and gives the browser its guest secret when a page needs one."""

    def __init__(self, app: ASGIApp, *, sharing: Sharing, studio: Studio) -> None:
        self.app = app
        self.sharing = sharing
        self.studio = studio

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, knowing who asks."""
        visit = await self._visit(scope)
        put_visit(scope, visit)

        async def send_secret(message: Message) -> None:
            if message["type"] == "http.response.start" and visit.is_new and visit.told and not visit.session:
                header = cookies.guest_header(visit.guest, is_secure=scope["scheme"] == "https")
                MutableHeaders(scope=message).append("set-cookie", header)
            await send(message)

        await self.app(scope, receive, send_secret)

    async def _visit(self, scope: Scope) -> Visit:
        held = HTTPConnection(scope).cookies
        guest = held.get(cookies.GUEST, "")
        is_new = not is_secret(guest)
        visit = Visit(who=NOBODY, guest=new_secret() if is_new else guest, is_new=is_new)
        if not self.sharing.is_shared:
            visit.who = LOCAL
            return visit
        secret = held.get(cookies.SESSION, "")
        if is_secret(secret) and not scope["path"].startswith("/static/"):
            session = await run_in_threadpool(session_of, self.studio.engine, secret, now=self.sharing.now())
            if session is not None:
                role = Role.STUDENT if session.student_id else Role.TEACHER
                visit.who = Who(role=role, student_id=session.student_id, name=session.name)
                visit.session = secret
        return visit
