"""Run the command line with ``python -m phrasewright``."""

from phrasewright.cli.main import run

run()
