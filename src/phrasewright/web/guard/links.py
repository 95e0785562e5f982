"""The address that a link to the studio begins with, for people at other computers."""

from __future__ import annotations

from fastapi import Request

from phrasewright.web.guard.sharing import LOCAL_HOSTS


def link_to(request: Request, path: str, origins: tuple[str, ...]) -> str:
    """A whole address for a path of the studio: the one the teacher uses, unless only this computer knows it.

    origins: where others open the studio, the best one first.
    """
    host = request.headers.get("host", "")
    here = f"{request.url.scheme}://{host}"
    is_local = host.rsplit(":", 1)[0].lower() in LOCAL_HOSTS or host.lower() in LOCAL_HOSTS
    return (origins[0] if origins and is_local else here) + path
