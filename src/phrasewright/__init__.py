"""Phrasewright: from one small lesson file to a whole improvisation lesson for guitar."""

from importlib.metadata import version

__version__ = version("phrasewright")
