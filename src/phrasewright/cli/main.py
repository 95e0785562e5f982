"""The ``phrasewright`` command: one file for each subcommand, errors shown once, here.

Exit codes: 0 done; 1 the program failed; 2 the lesson or the command is wrong; 3 a file could not be read or
written; 130 interrupted.
"""

from __future__ import annotations

import sys

import typer

from phrasewright import __version__
from phrasewright.cli import beats, build, check, demo, finger, listen, new, schema, serve, track
from phrasewright.errors import PhrasewrightError

EPILOG = "Exit codes: 0 done, 1 the program failed, 2 the lesson is wrong, 3 a file cannot be read or written."

app = typer.Typer(
    name="phrasewright",
    help="From one small lesson file to a whole improvisation lesson: handout, page, band, exchange files.",
    epilog=EPILOG,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode="markdown",
)
app.command()(new.new)
app.command()(check.check)
app.command()(build.build)
app.command()(demo.demo)
app.command()(finger.finger)
app.command()(schema.schema)
app.command()(track.track)
app.command()(beats.beats)
app.command()(listen.listen)
app.command()(serve.serve)


@app.callback(invoke_without_command=True)
def root(version: bool = typer.Option(False, "--version", help="Show the version and leave.")) -> None:
    """Show the version when asked."""
    if version:
        print(f"phrasewright {__version__}")
        raise typer.Exit


def run() -> None:
    """Entry point of the console script."""
    try:
        app()
    except PhrasewrightError as error:
        print(f"phrasewright: {error}", file=sys.stderr)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        print("phrasewright: stopped; the pack is as it was.", file=sys.stderr)
        sys.exit(130)


if __name__ == "__main__":
    run()
