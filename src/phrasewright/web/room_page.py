"""A lesson's page as the student's room: the page of the pack with a few lines of the studio in its head.

The page is large and the same for everybody but for these lines; so all that follows them is squeezed once, and each
answer squeezes its head alone. Both parts together are one gzip member (RFC 1952): the first ends with a full flush,
so that the second needs nothing of it.
"""

from __future__ import annotations

import hashlib
import html
import struct
import zlib
from dataclasses import dataclass

HEAD_ENDS = b"</head>"
_GZIP_HEAD = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff"  # deflate, no name, no time, any system
_RAW = -15  # deflate without a wrapper, largest window
_LEVEL = 6

NOT_YET = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Not handed out yet</title>
<style>:root{color-scheme:light dark}body{font:17px/1.5 Georgia,serif;max-width:34rem;margin:15vh auto;padding:0 1rem}
</style></head><body><main><h1>Not handed out yet</h1>
<p>Your teacher has not handed out this lesson yet. Come back after your next lesson.</p></main></body></html>
"""


def room_lines(lesson_id: str, token: str) -> bytes:
    """What the studio adds to the head. token: of pages that change something, empty = none."""
    lines = [
        '<link rel="stylesheet" href="/static/room/room.css">',
        '<script type="module" src="/static/room/room.js"></script>',
        f'<meta name="phrasewright-room" content="{html.escape(lesson_id)}">',
    ]
    if token:
        lines.append(f'<meta name="phrasewright-token" content="{html.escape(token)}">')
    return ("\n".join(lines) + "\n").encode()


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPage:
    """A page taken apart. head: up to ``</head>``; rest: from there on; squeezed: the rest as raw deflate."""

    sha256: str
    head: bytes
    rest: bytes
    squeezed: bytes

    @classmethod
    def of(cls, content: bytes, sha256: str) -> RoomPage:
        """A page. sha256: of its content."""
        at = content.find(HEAD_ENDS)
        at = max(0, at)
        squeezing = zlib.compressobj(_LEVEL, zlib.DEFLATED, _RAW)
        rest = content[at:]
        return cls(sha256=sha256, head=content[:at], rest=rest, squeezed=squeezing.compress(rest) + squeezing.flush())

    def plain(self, lines: bytes) -> bytes:
        """The page with lines in its head."""
        return self.head + lines + self.rest

    def gzipped(self, lines: bytes) -> bytes:
        """The same as gzip."""
        head = self.head + lines
        squeezing = zlib.compressobj(_LEVEL, zlib.DEFLATED, _RAW)
        first = squeezing.compress(head) + squeezing.flush(zlib.Z_FULL_FLUSH)
        check = zlib.crc32(self.rest, zlib.crc32(head))
        length = (len(head) + len(self.rest)) & 0xFFFFFFFF
        return b"".join((_GZIP_HEAD, first, self.squeezed, struct.pack("<LL", check, length)))

    def etag(self, lines: bytes) -> str:
        """Strong: changes with the page and with the lines."""
        return f'"{hashlib.sha256(self.sha256.encode() + lines).hexdigest()[:40]}"'
