"""A studio of the tests' own: a lesson's page as the student's room, its scripts, and the answers they ask for.

It speaks the studio's contract (takes, jobs, events) and keeps what was sent to it. Nothing here listens to a take.
"""

from __future__ import annotations

import http.server
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

LESSON = "three-notes"
TOKEN = "a-token-of-the-test"
HEAD = (
    '<link rel="stylesheet" href="/static/room/room.css"><script type="module" src="/static/room/room.js"></script>'
    f'<meta name="phrasewright-room" content="{LESSON}"><meta name="phrasewright-token" content="{TOKEN}"></head>'
)
KINDS = {".js": "text/javascript", ".css": "text/css", ".html": "text/html", ".wav": "audio/wav"}


@dataclass
class Upload:
    """A take as it was sent."""

    asked: dict[str, str]
    headers: dict[str, str]
    wav: bytes


@dataclass
class Studio:
    """folder: the pack's page; refuses: uploads are met with 503; findings, notes: of every take heard."""

    folder: Path
    refuses: bool = False
    uploads: list[Upload] = field(default_factory=list)
    takes: dict[str, dict[str, object]] = field(default_factory=dict)
    deleted: set[str] = field(default_factory=set)
    findings: list[dict[str, object]] = field(default_factory=list)
    notes: list[dict[str, object]] = field(default_factory=list)
    unsigned: list[str] = field(default_factory=list)
    news: list[dict[str, object]] = field(
        default_factory=lambda: [
            {"state": "running", "share": 0.5, "words": "Listening to the take"},
            {"state": "done", "share": 1.0, "words": "Heard"},
        ]
    )
    sound: bytes = b""
    address: str = ""

    def heard(self, name: str, *, piece: str = "ex-2", seconds: float = 8.0, state: str = "heard") -> None:
        """Have a take that was sent and listened to before."""
        self.takes[name] = {
            "id": name,
            "lesson_id": LESSON,
            "piece": piece,
            "title": "In another order",
            "tempo_bpm": 120.0,
            "recorded_at": "2026-11-26T16:20:00Z",
            "seconds": seconds,
            "state": state,
            "words": "You played 14 notes in 4 phrases.",
            "findings": self.findings,
            "notes": self.notes,
            "sound": f"/api/takes/{name}/sound",
            "report": f"/api/takes/{name}/report",
        }


class _Answers(http.server.BaseHTTPRequestHandler):
    studio: Studio
    protocol_version = "HTTP/1.1"

    def log_message(self, *_args: object) -> None:
        return

    def do_GET(self) -> None:
        path = urlsplit(self.path).path
        match path.strip("/").split("/"):
            case ["room", _, *rest]:
                self._file(self.studio.folder.joinpath(*(rest or ["index.html"])))
            case ["static", *rest]:
                self._file(Path(str(resources.files("phrasewright.web"))).joinpath("static", *rest))
            case ["api", "lessons", _, "takes"]:
                self._json([take for name, take in self.studio.takes.items() if name not in self.studio.deleted])
            case ["api", "takes", name]:
                self._json(self.studio.takes[name])
            case ["api", "takes", _, "sound"]:
                self._bytes(self.studio.sound, "audio/wav")
            case ["api", "jobs", _, "events"]:
                lines = "".join(f"data: {json.dumps(one)}\n\n" for one in self.studio.news)
                self._bytes(lines.encode(), "text/event-stream")
            case _:
                self._json({"message": "There is nothing here."}, 404)

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self._check_signature()
        match urlsplit(self.path).path.strip("/").split("/"):
            case ["api", "lessons", _, "takes"]:
                self._take(body)
            case ["api", "takes", name, "restore"]:
                self.studio.deleted.discard(name)
                self._json({})
            case _:
                self._json({"message": "There is nothing here."}, 404)

    def do_DELETE(self) -> None:
        self._check_signature()
        match urlsplit(self.path).path.strip("/").split("/"):
            case ["api", "takes", name]:
                self.studio.deleted.add(name)
                self.send_response(204)  # as the studio does: without a body
                self.end_headers()
            case _:
                self._json({})

    def _take(self, body: bytes) -> None:
        if self.studio.refuses:
            self._json({"message": "The studio is full.", "hint": "Send it later."}, 503)
            return
        asked = {name: values[0] for name, values in parse_qs(urlsplit(self.path).query).items()}
        self.studio.uploads.append(Upload(asked, dict(self.headers), body))
        name = f"take-{len(self.studio.uploads)}"
        self.studio.heard(name, piece=asked["piece"])
        self._json({"id": name, "job": "j1"}, 202)

    def _check_signature(self) -> None:
        if self.headers.get("X-Phrasewright-Token") != TOKEN:
            self.studio.unsigned.append(self.path)

    def _file(self, path: Path) -> None:
        if not path.is_file():
            self._json({"message": "There is nothing here."}, 404)
            return
        data = path.read_bytes()
        if path.name == "index.html":
            data = data.replace(b"</head>", HEAD.encode(), 1)
        self._bytes(data, KINDS.get(path.suffix, "application/octet-stream"))

    def _json(self, value: object, status: int = 200) -> None:
        self._bytes(json.dumps(value).encode(), "application/json", status)

    def _bytes(self, data: bytes, kind: str, status: int = 200) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)


@contextmanager
def studio_on(folder: Path) -> Iterator[Studio]:
    """A studio for a page's folder, on a free port until the end."""
    studio = Studio(folder)
    handler = type("Answers", (_Answers,), {"studio": studio})
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        studio.address = f"http://127.0.0.1:{server.server_address[1]}/room/{LESSON}/"
        yield studio
        server.shutdown()
        thread.join()
