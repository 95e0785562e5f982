"""Takes over the network: kept whole or refused in words, heard, shown, hidden and shown again; each to its owner."""

from __future__ import annotations

import hashlib
import io
import time
import wave
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient
from studio_clients import HOME, UNHURRIED, as_local
from studio_server import LESSON_ID, RATE_HZ, lesson_in, noise

from phrasewright.course.takes import TakeState, set_heard, take_by_id
from phrasewright.sound.voices import Voice, render_note
from phrasewright.web import take_upload
from phrasewright.web.application import create_application
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.guard.visit import Role, Who
from phrasewright.web.guard.who import somebody
from phrasewright.web.jobs import jobs
from phrasewright.web.jobs.told import JobKind
from phrasewright.web.studio import Studio, open_studio

TAKES = f"/api/lessons/{LESSON_ID}/takes"
WAV = {"content-type": "audio/wav"}
ANA, BEN = "a" * 12, "b" * 12


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    folder = tmp_path_factory.mktemp("school")
    lesson_in(folder)
    found = open_studio(folder)
    yield found
    found.engine.dispose()


@pytest.fixture(scope="module")
def open_client(studio: Studio) -> Iterator[TestClient]:
    """A studio at work."""
    with TestClient(create_application(studio, Sharing(rates=UNHURRIED)), base_url=HOME) as client:
        yield as_local(client)


@pytest.fixture
def client(open_client: TestClient) -> Iterator[TestClient]:
    yield open_client
    open_client.app.dependency_overrides.clear()  # type: ignore[attr-defined]
    for take in open_client.get(TAKES).json():
        if take["job"] is not None:
            open_client.delete(f"/api/jobs/{take['job']}")


def _as(client: TestClient, student_id: str) -> TestClient:
    client.app.dependency_overrides[somebody] = lambda: Who(role=Role.STUDENT, student_id=student_id)  # type: ignore[attr-defined]
    return client


def _melody() -> bytes:
    """Four notes of our own guitar."""
    audio = np.zeros(round(2.6 * RATE_HZ), dtype=np.float32)
    for number, midi in enumerate((64, 67, 69, 67)):
        note = render_note(Voice.GUITAR, midi, 0.4, 0.8)
        begin = int((0.25 + 0.5 * number) * RATE_HZ)
        audio[begin : begin + len(note)] += note[: len(audio) - begin]
    file = io.BytesIO()
    soundfile.write(file, audio, RATE_HZ, format="WAV", subtype="PCM_16")
    return file.getvalue()


def _ended(client: TestClient, job: str) -> dict[str, Any]:
    ends = time.monotonic() + 60.0
    while time.monotonic() < ends:
        told: dict[str, Any] = client.get(f"/api/jobs/{job}").json()
        if told["state"] not in ("queued", "running"):
            return told
        time.sleep(0.1)
    raise AssertionError("the job has not ended")


@pytest.fixture(scope="module")
def heard(open_client: TestClient) -> dict[str, Any]:
    """A take of the written line, heard."""
    address = f"{TAKES}?piece=study-1&tempo_bpm=120&offset_s=0.25&alone=true"
    begun = open_client.post(address, content=_melody(), headers=WAV)
    assert begun.status_code == 202, begun.text
    told = _ended(open_client, begun.json()["job"])
    assert told["state"] == "done", told
    assert told["result"]["notes"] == 4
    found: dict[str, Any] = open_client.get(f"/api/takes/{begun.json()['id']}").json()
    return found


def test_a_take_is_heard(heard: dict[str, Any]) -> None:
    """Every note with its name, time, place, bar and what it is against the written line; in words too."""
    assert heard["state"] == "heard"
    assert heard["words"]
    assert heard["job"] is None
    assert [note["name"] for note in heard["notes"]] == ["E4", "G4", "A4", "G4"]
    assert [note["at_s"] for note in heard["notes"]] == pytest.approx([0.25, 0.75, 1.25, 1.75], abs=0.01)
    assert all(note["verdict"] and note["string"] and note["bar"] for note in heard["notes"])
    assert heard["seconds"] == pytest.approx(2.6, abs=0.01)
    assert (heard["piece"], heard["tempo_bpm"], heard["student_id"]) == ("study-1", 120.0, "")


def test_its_files(client: TestClient, heard: dict[str, Any], studio: Studio) -> None:
    """The sound as it was sent, whole and in parts; a report that reaches nothing; a sheet."""
    sound = client.get(heard["sound"])
    assert sound.content == _melody()
    assert sound.headers["content-type"] == "audio/wav"
    assert client.get(heard["sound"], headers={"range": "bytes=0-3"}).content == b"RIFF"
    report = client.get(heard["report"])
    assert "sandbox" in report.headers["content-security-policy"]
    assert str(studio.folder) not in report.text
    assert heard["id"] not in report.text
    assert client.get(heard["sheet"]).content.startswith(b"%PDF")


def test_it_is_heard_anew(client: TestClient, heard: dict[str, Any]) -> None:
    """Asked for again, it waits, and is heard as before."""
    begun = client.post(f"/api/takes/{heard['id']}/listen")
    assert begun.status_code == 202
    assert client.get(f"/api/takes/{heard['id']}").json()["state"] == "waiting"
    with client.stream("GET", f"/api/jobs/{begun.json()['job']}/events") as events:
        assert events.headers["content-type"].startswith("text/event-stream")
        lines = [line for line in events.iter_lines() if line.startswith(("data: ", "id: "))]
    assert '"state":"done"' in lines[-1]
    known = lines[-2].removeprefix("id: ")
    again = client.get(f"/api/jobs/{begun.json()['job']}/events", headers={"last-event-id": known})
    assert again.status_code == 204
    late = client.get(f"/api/jobs/{begun.json()['job']}/events")
    assert late.text.splitlines()[-2] == lines[-1]
    assert client.get(f"/api/takes/{heard['id']}").json() == heard


def test_a_hidden_take_comes_back(client: TestClient, heard: dict[str, Any]) -> None:
    """Deleted, it is in no list and cannot be opened; restored, it is as it was."""
    address = f"/api/takes/{heard['id']}"
    assert client.delete(address).status_code == 204
    assert client.get(address).status_code == 404
    assert client.get(heard["sound"]).status_code == 404
    assert heard["id"] not in {take["id"] for take in client.get(TAKES).json()}
    assert client.post(f"{address}/restore").json()["deleted"] is False
    assert client.get(address).json() == heard


def test_a_second_try_is_the_same_take(client: TestClient) -> None:
    """The same key and bytes: the same take; other bytes with that key are refused; keys are each student's own."""
    content, headers = noise(1), WAV | {"idempotency-key": "monday-1"}
    first = _as(client, ANA).post(TAKES, content=content, headers=headers)
    again = client.post(TAKES, content=content, headers=headers)
    assert (first.status_code, again.status_code) == (202, 202)
    assert again.json()["id"] == first.json()["id"]
    other = client.post(TAKES, content=noise(2), headers=headers)
    assert other.status_code == 409
    assert len(client.get(TAKES).json()) == 1
    bens = _as(client, BEN).post(TAKES, content=content, headers=headers)
    assert bens.json()["id"] != first.json()["id"]


def test_takes_are_their_owners(client: TestClient) -> None:
    """A student sees, hears, deletes and follows only takes of their own; the teacher all."""
    mine = _as(client, ANA).post(TAKES, content=noise(3), headers=WAV).json()
    for method, address in (
        ("GET", ""),
        ("GET", "/sound"),
        ("GET", "/report"),
        ("GET", "/sheet.pdf"),
        ("POST", "/listen"),
        ("POST", "/restore"),
        ("DELETE", ""),
    ):
        assert _as(client, BEN).request(method, f"/api/takes/{mine['id']}{address}").status_code == 404
    assert client.get(f"/api/jobs/{mine['job']}").status_code == 404
    assert mine["id"] not in {take["id"] for take in client.get(TAKES).json()}
    assert mine["id"] in {take["id"] for take in _as(client, ANA).get(TAKES).json()}
    assert client.get(f"/api/jobs/{mine['job']}").status_code == 200
    client.app.dependency_overrides.clear()  # type: ignore[attr-defined]
    assert client.get(f"/api/takes/{mine['id']}").json()["student_id"] == ANA


def _hour() -> bytes:
    """An hour of silence, small."""
    file = io.BytesIO()
    with soundfile.SoundFile(file, "w", samplerate=8000, channels=1, format="FLAC", subtype="PCM_16") as writer:
        for _ in range(60):
            writer.write(np.zeros(8000 * 60, dtype=np.int16))
    return file.getvalue()


def _no_numbers() -> bytes:
    file = io.BytesIO()
    soundfile.write(file, np.full(RATE_HZ, np.nan, dtype=np.float32), RATE_HZ, format="WAV", subtype="FLOAT")
    return file.getvalue()


def _bomb() -> bytes:
    """A header that promises four gigabytes."""
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setparams((2, 2, RATE_HZ, 0, "NONE", ""))
        writer.writeframes(b"")
    return file.getvalue()[:-4] + b"\xf0\xff\xff\xff"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "This is no recording."),
        (b"PK\x03\x04" + b"\0" * 100_000, "This is no recording."),
        (b'<?xml version="1.0"?><score-partwise/>', "This is no recording."),
        (b"only words, nothing more", "This is no recording."),
        (noise(4)[:30], "This recording is broken: it begins like audio, but cannot be decoded."),
        (noise(4)[:44], "This recording is broken: nothing in it can be decoded."),
        (_bomb(), "This recording is broken: nothing in it can be decoded."),
        (noise(4, 0.2), "This recording lasts 0.2 s, too short for a take."),
        (_no_numbers(), "This recording has samples that are no numbers, near 0.0 s."),
        (_hour(), "This recording lasts 60 minutes, and 20 minutes is the limit for a take."),
    ],
    ids=["empty", "zip", "xml", "text", "half a header", "a header", "a bomb", "short", "no numbers", "an hour"],
)
def test_what_is_no_take_is_refused(client: TestClient, studio: Studio, content: bytes, words: str) -> None:
    """In plain words, without the places of this computer, and nothing is left on the disk."""
    before = len(client.get(TAKES).json())
    answer = client.post(TAKES, content=content, headers=WAV)
    assert (answer.status_code, answer.json()["message"]) == (422, words)
    assert answer.json()["hint"]
    assert str(studio.folder) not in answer.text
    assert len(client.get(TAKES).json()) == before
    assert not list((studio.home / "takes").glob(".*.part"))


@pytest.mark.parametrize(
    ("address", "headers", "status"),
    [
        (f"/api/lessons/{'0' * 12}/takes", WAV, 404),
        ("/api/lessons/..%2f..%2fetc/takes", WAV, 404),
        ("/api/lessons/UPPER0000000/takes", WAV, 404),
        (TAKES, {"content-type": "text/html"}, 415),
        (f"{TAKES}?piece=../study-1", WAV, 422),
        (f"{TAKES}?tempo_bpm=nan", WAV, 422),
        (f"{TAKES}?tempo_bpm=5", WAV, 422),
        (f"{TAKES}?offset_s=inf", WAV, 422),
        (TAKES, WAV | {"idempotency-key": "k" * 101}, 422),
        (TAKES, WAV | {"content-length": "99999999999"}, 413),
    ],
)
def test_wishes_that_make_no_sense(client: TestClient, address: str, headers: dict[str, str], status: int) -> None:
    """Refused before anything is kept."""
    answer = client.post(address, content=noise(5), headers=headers)
    assert answer.status_code == status
    assert answer.json()["message"]


def test_too_large_a_take(client: TestClient, studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the length was not told: it is counted as it comes."""
    monkeypatch.setattr(take_upload, "MOST_BYTES", 100_000)

    def pieces() -> Iterator[bytes]:
        content = noise(6, 3.0)
        for at in range(0, len(content), 10_000):
            yield content[at : at + 10_000]

    answer = client.post(TAKES, content=pieces(), headers=WAV)
    assert answer.status_code == 413
    assert not list((studio.home / "takes").glob(".*.part"))


def test_a_full_disk_and_a_long_line(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both are told before the upload is kept: 507, 503."""
    monkeypatch.setattr(take_upload, "LEAST_FREE_BYTES", 1 << 62)
    assert client.post(TAKES, content=noise(7), headers=WAV).status_code == 507
    monkeypatch.undo()
    monkeypatch.setitem(jobs.MOST_WAITING, JobKind.LISTEN, 0)
    answer = client.post(TAKES, content=noise(7), headers=WAV)
    assert (answer.status_code, answer.json()["message"]) == (503, "Too much work is waiting.")


def test_what_cannot_be_heard_says_why(client: TestClient) -> None:
    """A piece that the lesson does not have: the take is kept, its words say what there is."""
    begun = client.post(f"{TAKES}?piece=study-9", content=noise(8), headers=WAV).json()
    assert _ended(client, begun["job"])["state"] == "failed"
    found = client.get(f"/api/takes/{begun['id']}").json()
    assert found["state"] == "failed"
    assert found["words"] == "This lesson has no exercise 'study-9'. It has exercise-1, study-1."
    assert client.get(found["sound"]).content == noise(8)


def test_takes_whose_listening_is_missing_are_listened_to(studio: Studio, client: TestClient) -> None:
    """After a start, also where nobody remembers that it was asked for; a listening that is not wanted is ended."""
    begun = client.post(TAKES, content=noise(9), headers=WAV).json()
    assert client.delete(f"/api/jobs/{begun['job']}").json()["state"] in ("cancelled", "running")
    assert _ended(client, begun["job"])["state"] == "cancelled"
    assert client.get(f"/api/takes/{begun['id']}").json()["words"] == "Nobody has listened to this take yet."
    set_heard(studio.engine, begun["id"], TakeState.WAITING, "")
    waiting = client.app.state.errands.after_a_start()  # type: ignore[attr-defined]
    assert [one.subject for one in waiting] == [begun["id"]]
    found = take_by_id(studio.engine, begun["id"])
    assert found is not None
    assert found.sha256 == hashlib.sha256(noise(9)).hexdigest()
