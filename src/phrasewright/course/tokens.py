"""Secrets that open a door: made here, handed out once, and kept as hashes alone."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

SHAPE = re.compile(r"[A-Za-z0-9_-]{43}")


def new_secret() -> str:
    """A secret that cannot be guessed: 256 bits in 43 characters that are safe in an address."""
    return secrets.token_urlsafe(32)


def is_secret(text: str) -> bool:
    """Whether a text has the shape of a secret."""
    return SHAPE.fullmatch(text) is not None


def hash_of(secret: str) -> str:
    """What is kept of a secret: SHA-256 in hexadecimal. Fast is safe here, as a secret is 256 random bits."""
    return hashlib.sha256(_bytes(secret)).hexdigest()


def token_of(secret: str) -> str:
    """The token that pages carry for the browser that holds a secret (HMAC-SHA256, hexadecimal)."""
    return hmac.new(_bytes(secret), b"phrasewright token", hashlib.sha256).hexdigest()


def same(first: str, second: str) -> bool:
    """Whether two secrets are equal, in a time that does not tell where they differ; any text may be compared."""
    return hmac.compare_digest(_bytes(first), _bytes(second))


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")
