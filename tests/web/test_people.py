"""Students and links in the database."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, text

from phrasewright.course.people import (
    INVITATION,
    SESSION,
    StudentNameError,
    find_student,
    invite,
    invited,
    make_student,
    remove_student,
    removed_students,
    rename_student,
    restore_student,
    revoke,
    students,
)
from phrasewright.course.sessions import open_session, session_of
from phrasewright.course.tokens import hash_of
from phrasewright.web.studio import open_studio

NOW = datetime(2026, 9, 1, 15, tzinfo=UTC)


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return open_studio(tmp_path).engine


def test_students_are_kept_by_name(engine: Engine) -> None:
    """Names are spelled plainly and listed in order, whatever the letters' size."""
    for name in ("zoé", "  Maya   Lind ", "Ben"):
        make_student(engine, name, now=NOW)
    assert [student.name for student in students(engine)] == ["Ben", "Maya Lind", "zoé"]
    assert students(engine)[0].made_at == NOW


@pytest.mark.parametrize("name", ["", "   ", "a\x00b", "a\x1b[31m", "\ud800", "\u202eyam", "x" * 61, "\U000f0000"])
def test_a_name_must_be_one(engine: Engine, name: str) -> None:
    """Empty, unprintable, direction-turning, half and over-long names are refused, and nothing is kept."""
    with pytest.raises(StudentNameError):
        make_student(engine, name, now=NOW)
    assert students(engine) == ()


def test_no_two_students_have_one_name(engine: Engine) -> None:
    """Names are compared without regard to size and spelling of letters; a removed student's name is free."""
    maya = make_student(engine, "Maya", now=NOW)
    ben = make_student(engine, "Ben", now=NOW)
    with pytest.raises(StudentNameError, match="already"):
        make_student(engine, "MAYA", now=NOW)
    with pytest.raises(StudentNameError, match="already"):
        rename_student(engine, ben.id, "maya")
    assert rename_student(engine, maya.id, "maya")
    assert remove_student(engine, maya.id, now=NOW)
    make_student(engine, "Maya", now=NOW)
    with pytest.raises(StudentNameError, match="already"):
        restore_student(engine, maya.id)


def test_a_removal_is_undone_with_its_link(engine: Engine) -> None:
    """Who is removed has no session and a link that opens nothing; taken back, the link opens again."""
    maya = make_student(engine, "Maya", now=NOW)
    secret = invite(engine, maya.id, now=NOW)
    assert secret is not None
    session = open_session(engine, student_id=maya.id, now=NOW)
    assert remove_student(engine, maya.id, now=NOW)
    assert not remove_student(engine, maya.id, now=NOW)
    assert (find_student(engine, maya.id), invited(engine, secret)) == (None, None)
    assert session_of(engine, session, now=NOW) is None
    assert [student.id for student in removed_students(engine)] == [maya.id]
    late = open_session(engine, student_id=maya.id, now=NOW)  # the button was pressed in that very moment
    assert session_of(engine, late, now=NOW) is None
    assert restore_student(engine, maya.id)
    assert not restore_student(engine, maya.id)
    there = invited(engine, secret)
    assert there is not None
    assert (there.name, there.invited_at) == ("Maya", NOW)
    assert session_of(engine, session, now=NOW) is None


def test_a_new_link_ends_the_old_one_and_its_sessions(engine: Engine) -> None:
    """One link is good at a time; ending it signs the student out, and nobody else."""
    maya, ben = make_student(engine, "Maya", now=NOW), make_student(engine, "Ben", now=NOW)
    first = invite(engine, maya.id, now=NOW)
    session, other = (open_session(engine, student_id=one.id, now=NOW) for one in (maya, ben))
    second = invite(engine, maya.id, now=NOW + timedelta(days=1))
    assert first is not None
    assert second is not None
    assert invited(engine, first) is None
    assert invited(engine, second) is not None
    assert session_of(engine, session, now=NOW) is None
    assert session_of(engine, other, now=NOW) is not None
    assert revoke(engine, maya.id)
    assert invited(engine, second) is None
    assert not revoke(engine, "0" * 12)
    assert invite(engine, "0" * 12, now=NOW) is None


def test_only_hashes_are_kept(engine: Engine, tmp_path: Path) -> None:
    """Neither a link's secret nor a session's stands anywhere in the database's files."""
    maya = make_student(engine, "Maya", now=NOW)
    link = invite(engine, maya.id, now=NOW)
    assert link is not None
    session = open_session(engine, student_id=maya.id, now=NOW)
    with engine.connect() as connection:
        assert connection.execute(select(INVITATION.c.token_hash)).scalar() == hash_of(link)
        assert connection.execute(select(SESSION.c.token_hash)).scalar() == hash_of(session)
        connection.execute(text("PRAGMA wal_checkpoint(TRUNCATE)"))
    assert (tmp_path / ".studio").stat().st_mode & 0o077 == 0
    kept = b"".join(file.read_bytes() for file in (tmp_path / ".studio").iterdir())
    assert b"Maya" in kept
    assert link.encode() not in kept
    assert session.encode() not in kept


def test_a_moment_needs_its_zone(engine: Engine) -> None:
    """A time that could be anywhere is a mistake of the program."""
    with pytest.raises(Exception, match="zone"):
        make_student(engine, "Maya", now=datetime(2026, 9, 1))
